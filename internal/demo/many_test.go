package demo

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/ledger"
)

// TestVeryManyCases makes a large clinic, small, and holds it to what is said of it.
func TestVeryManyCases(t *testing.T) {
	t.Parallel()
	const cases = 300
	var heard []int
	made, err := MakeMany(t.TempDir(), time.Date(2027, time.March, 9, 10, 0, 0, 0, time.UTC), 1, secret, cases, func(done int) { heard = append(heard, done) })
	if err != nil {
		t.Fatal(err)
	}
	o := open(t, made)
	if found, err := o.file.Integrity(); err != nil || len(found) > 0 {
		t.Errorf("the ledger: %v, %v", found, err)
	}
	states := map[ledger.State]int{}
	for _, v := range o.visits {
		states[v.State]++
		if past := v.Day.Before(made.Today); past != (v.State == ledger.Attended) {
			t.Errorf("%s %s on %s is %s", v.Case, v.Milestone, v.Day, v.State)
		}
	}
	if n := states[ledger.Booked]; n < cases*27/100 || n > cases*36/100 {
		t.Errorf("%d visits are booked of %d cases", n, cases)
	}
	if len(heard) != 2 || heard[1] != cases || len(o.all) != cases {
		t.Errorf("heard %v of %d cases", heard, len(o.all))
	}
	for _, live := range o.all {
		if !live.Settled() {
			t.Errorf("%s is not settled: %v %v", live.Kept.Case, live.Misfits, live.Gone)
		}
	}
	noneTwiceAtOnce(t, o.visits)
}

// noneTwiceAtOnce wants no room, person or patient at two visits at once.
func noneTwiceAtOnce(t *testing.T, visits []ledger.Visit) {
	t.Helper()
	byDay := map[day.Day][]ledger.Visit{}
	for _, v := range visits {
		for _, o := range byDay[v.Day] {
			if v.Overlaps(o.Slot) && (v.Room == o.Room || v.Person == o.Person || v.Case == o.Case) {
				t.Errorf("%s %s and %s %s at once", v.Case, v.Slot, o.Case, o.Slot)
			}
		}
		byDay[v.Day] = append(byDay[v.Day], v)
	}
}

// TestManyWritesWhatTheDeskWould plays some cases by the desk's own methods, act for
// act, and compares every row.
func TestManyWritesWhatTheDeskWould(t *testing.T) {
	t.Parallel()
	made, err := MakeMany(t.TempDir(), time.Date(2027, time.March, 9, 10, 0, 0, 0, time.UTC), 4, secret, 12, nil)
	if err != nil {
		t.Fatal(err)
	}
	o := open(t, made)
	err = inOneAct(filepath.Join(t.TempDir(), "again.ledger"), func(store desk.Store) error {
		k := keeper(o.keeper.Clinic, store)
		for _, live := range o.all {
			if err := again(k, live); err != nil {
				t.Fatalf("%s: %v", live.Kept.Case, err)
			}
			twin, err := k.Live(live.Kept.Case, made.Today)
			if err != nil {
				t.Fatal(err)
			}
			compare(t, o.keeper, k, live, twin)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// again does to a desk what was done to a case.
func again(k *desk.Keeper, live desk.Live) error {
	as := func(name string, at time.Time) desk.Actor {
		p, _ := k.Person(name)
		return desk.Actor{Person: p, At: at, On: day.Of(at)}
	}
	first := live.Revision
	if did := k.Admit(as(first.By, first.At), first.Record, live.Case, ""); did.Err != nil {
		return did.Err
	}
	if a := live.Approval; a != nil {
		if _, err := k.Approve(as(a.By, a.At), a.Case); err != nil {
			return err
		}
	}
	for _, v := range live.Visits {
		step, whom, which := v.Milestone.Parts()
		c := desk.Choice{Step: step, For: whom, Which: which}
		if v.Minutes > 0 {
			if _, _, err := k.Book(as(v.By, v.Booked), v.Case, c, v.Slot, ""); err != nil {
				return fmt.Errorf("book %s: %w", v.Milestone, err)
			}
		}
		if v.State == ledger.Attended {
			if _, _, err := k.Attended(as(v.By, v.At), v.Case, c, v.Day, ""); err != nil {
				return fmt.Errorf("attended %s: %w", v.Milestone, err)
			}
		}
	}
	for _, c := range live.Contacts {
		step, whom, which := c.Milestone.Parts()
		if _, err := k.Contact(as(c.By, c.At), c.Case, desk.Choice{Step: step, For: whom, Which: which}, c.Outcome, ""); err != nil {
			return err
		}
	}
	return nil
}

// compare holds the rows of a case against those that the desk wrote. The numbers that
// a ledger gives are its own.
func compare(t *testing.T, one, other *desk.Keeper, live, twin desk.Live) {
	t.Helper()
	days := cmp.Comparer(func(a, b day.Day) bool { return a == b })
	id := live.Kept.Case
	if diff := cmp.Diff(twin.Revision, live.Revision, days, cmpopts.IgnoreFields(ledger.Revision{}, "Timeline")); diff != "" {
		t.Errorf("%s: the revision:\n%s", id, diff)
	}
	if diff := cmp.Diff(string(twin.Revision.Timeline), string(live.Revision.Timeline)); diff != "" {
		t.Errorf("%s: the timeline:\n%s", id, diff)
	}
	if diff := cmp.Diff(twin.Approval, live.Approval); diff != "" {
		t.Errorf("%s: the approval:\n%s", id, diff)
	}
	if diff := cmp.Diff(twin.Visits, live.Visits, days, cmpopts.IgnoreFields(ledger.Visit{}, "ID")); diff != "" {
		t.Errorf("%s: the visits:\n%s", id, diff)
	}
	if diff := cmp.Diff(twin.Contacts, live.Contacts, cmpopts.IgnoreFields(ledger.Contact{}, "Visit")); diff != "" {
		t.Errorf("%s: the contacts:\n%s", id, diff)
	}
	want, err := other.History(id)
	got, failed := one.History(id)
	if err != nil || failed != nil {
		t.Fatal(err, failed)
	}
	if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(ledger.Entry{}, "Seq")); diff != "" {
		t.Errorf("%s: the history:\n%s", id, diff)
	}
}
