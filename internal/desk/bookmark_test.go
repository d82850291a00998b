package desk_test

import (
	"errors"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// TestABookIsReadAnewAfterEveryAct looks at the same offers on one desk while another
// books the best of them, gives it back, and tries without doing: what is offered is
// always what is free.
func TestABookIsReadAnewAfterEveryAct(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	one := admit(t, k, ida, "fenwick")
	other := admit(t, k, ida, "fenwick", "case=HR-5555")
	elsewhere := desk.NewKeeper(k.Desk, store)
	best := func(k *desk.Keeper) graft.Slot {
		live, err := k.Live(other, ida.On)
		if err != nil {
			t.Fatal(err)
		}
		m, err := live.Pick(wound())
		if err != nil {
			t.Fatal(err)
		}
		offers, err := live.Offers(m, day.Span{}, 1)
		if err != nil || len(offers) == 0 {
			t.Fatal(err)
		}
		return offers[0].Slot
	}
	wanted := best(k)
	if _, _, err := elsewhere.Book(ida, one, wound(), wanted, ""); err != nil {
		t.Fatal(err)
	}
	if got := best(k); got.Overlaps(wanted) && got.Person == wanted.Person {
		t.Errorf("booked elsewhere, and still offered: %v", got)
	}
	if _, _, err := elsewhere.Cancel(ida, one, wound(), ""); err != nil {
		t.Fatal(err)
	}
	if got := best(k); got != wanted {
		t.Errorf("given back, and %v is offered, not %v", got, wanted)
	}
	broken := errors.New("tried")
	err := store.Act(func(w desk.Writing) error {
		trying := desk.NewKeeper(k.Desk, onTrialOf{w})
		if _, _, err := trying.Book(ida, one, wound(), wanted, ""); err != nil {
			return err
		}
		if got := best(trying); got == wanted {
			t.Error("offered to another case of the same act")
		}
		return broken
	})
	if !errors.Is(err, broken) {
		t.Fatal(err)
	}
	if _, err := k.Contact(ida, one, wound(), "no answer", ""); err != nil { // the entry that the trial had is given to another act
		t.Fatal(err)
	}
	if got := best(k); got != wanted {
		t.Errorf("only tried, and %v is offered, not %v", got, wanted)
	}
}

// onTrialOf is the ledger in the hands of a desk inside an act of another.
type onTrialOf struct{ w desk.Writing }

func (o onTrialOf) View(look func(desk.Ledger) error) error { return look(o.w) }
func (o onTrialOf) Act(do func(desk.Writing) error) error   { return do(o.w) }
