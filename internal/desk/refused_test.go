package desk_test

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/table"
)

// refusing is an act that a clinic refuses: by whom, and what the history calls it.
type refusing struct {
	who, what string
	about     bool // a case that is kept
	do        func(*desk.Keeper, desk.Actor, graft.CaseID) error
}

func theStep(s graft.Step) desk.Choice { return desk.Choice{Step: s} }

// refusals are one or more of every act that is refused, on the case fenwick as it was
// taken in on 2027-01-18.
var refusals = []refusing{
	{"Ida Marlow", "set", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.Set(a, id, []string{"patient.print=large", "surgery.sutures=resorbable"}, "")
		return err
	}},
	{"Dr Alba Quill", "set", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.Set(a, id, []string{"patient.name=Nora Fenwick"}, "")
		return err
	}},
	{"Ida Marlow", "note", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.AddFinding(a, id, map[string]string{"what": "infection"}, "")
		return err
	}},
	{"Ida Marlow", "override", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.Override(a, id, theStep(graft.Uncovering), on("2027-09-06"), "because")
		return err
	}},
	{"Dr Alba Quill", "override", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.Override(a, id, theStep(graft.Uncovering), on("2027-09-06"), "")
		return err
	}},
	{"Dr Alba Quill", "override", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.Override(a, id, theStep(graft.Uncovering), day.Day{}, "none to take back")
		return err
	}},
	{"Ida Marlow", "approve", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.Approve(a, id)
		return err
	}},
	{"Ida Marlow", "approve", false, func(k *desk.Keeper, a desk.Actor, _ graft.CaseID) error {
		_, err := k.Approve(a, "HR-9999")
		return err
	}},
	{"Dr Alba Quill", "approve", false, func(k *desk.Keeper, a desk.Actor, _ graft.CaseID) error {
		_, err := k.Approve(a, "HR-9999")
		return err
	}},
	{"Ida Marlow", "book", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, _, err := k.Book(a, id, wound(), at("2027-01-24", "09:00"), "")
		return err
	}},
	{"Ida Marlow", "move", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, _, err := k.Move(a, id, wound(), at("2027-01-25", "09:00"), "")
		return err
	}},
	{"Ida Marlow", "hold", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, _, err := k.Hold(a, id, theStep("no-such-step"), "")
		return err
	}},
	{"Ida Marlow", "cancel", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, _, err := k.Cancel(a, id, wound(), "")
		return err
	}},
	{"Ida Marlow", "missed", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, _, err := k.Missed(a, id, wound(), "")
		return err
	}},
	{"Ida Marlow", "attended", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, _, err := k.Attended(a, id, wound(), on("2027-01-25"), "")
		return err
	}},
	{"Ida Marlow", "contact", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.Contact(a, id, wound(), ledger.Confirmed, "")
		return err
	}},
	{"Ida Marlow", "settle", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, _, err := k.Settle(a, id, "")
		return err
	}},
	{"Ida Marlow", "invite", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.Invite(a, id, desk.InviteOptions{})
		return err
	}},
	{"Ida Marlow", "revoke feed", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		_, err := k.RevokeFeed(a, id)
		return err
	}},
	{"Ida Marlow", "feed", false, func(k *desk.Keeper, a desk.Actor, _ graft.CaseID) error {
		_, err := k.OpenFeed(a, "HR-9999", "", "token")
		return err
	}},
	{"Ida Marlow", "feed", false, func(k *desk.Keeper, a desk.Actor, _ graft.CaseID) error {
		_, err := k.OpenDeskFeed(a, "Nobody Known", "token")
		return err
	}},
	{"Ida Marlow", "revoke feed", false, func(k *desk.Keeper, a desk.Actor, _ graft.CaseID) error {
		_, err := k.RevokeDeskFeed(a, "")
		return err
	}},
	{"Ida Marlow", "book", true, func(k *desk.Keeper, a desk.Actor, id graft.CaseID) error {
		a.Seen = 9999
		_, _, err := k.Book(a, id, wound(), at("2027-01-25", "09:00"), "")
		return err
	}},
}

// TestEveryRefusedActStandsInTheHistory does what is refused, and wants one entry of
// each that changes nothing and outdates no page.
func TestEveryRefusedActStandsInTheHistory(t *testing.T) {
	k, store := keeping(t)
	id := admit(t, k, acting(t, k, "Ida Marlow", "2027-01-18"), "fenwick")
	head := headOf(t, k, id)
	for n, r := range refusals {
		a := acting(t, k, r.who, "2027-01-18")
		err := r.do(k, a, id)
		var refusal *graft.Refusal
		if !errors.As(err, &refusal) || err.Error() != refusal.Message {
			t.Errorf("%d, %s: %v; want a refusal and no more", n, r.what, err)
			continue
		}
		entries := entriesOf(t, store)
		e := entries[len(entries)-1]
		want := ledger.Entry{Seq: int64(n + 2), At: a.At, By: a.Person, What: ledger.Refused, Now: r.what + ": " + refusal.Message}
		if r.about {
			want.Case = id
		}
		if e != want {
			t.Errorf("%d: the entry is %+v, want %+v", n, e, want)
		}
		if now := headOf(t, k, id); now != head {
			t.Errorf("%d, %s: the head of the case went from %d to %d", n, r.what, head, now)
		}
	}
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	ida.Seen = head
	if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Errorf("on a page from before all refusals: %v", err)
	}
	if now := headOf(t, k, id); now <= head {
		t.Errorf("the head after a change is %d, was %d", now, head)
	}
}

func headOf(t *testing.T, k *desk.Keeper, id graft.CaseID) int64 {
	t.Helper()
	live, err := k.Live(id, on("2027-01-18"))
	if err != nil {
		t.Fatal(err)
	}
	return live.Kept.Head
}

// TestARefusedAdmissionStandsInTheHistory takes in a record that would undo what was
// recorded since.
func TestARefusedAdmissionStandsInTheHistory(t *testing.T) {
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, quill, "fenwick")
	first, err := k.Record(id, 1)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := k.Set(quill, id, []string{"surgery.sutures=resorbable"}, ""); err != nil {
		t.Fatal(err)
	}
	live, err := k.Live(id, quill.On)
	if err != nil {
		t.Fatal(err)
	}
	record := []byte(strings.Replace(string(first.Record), "Nora Fenwick", "Nora Fenwick-Lindt", 1))
	did := k.Admit(quill, record, live.Case, "")
	refusalOf(t, did.Err, graft.Conflict, "would undo that")
	if got := lastEntry(t, store); !strings.HasPrefix(got, "refused|Dr Alba Quill|surgeon|"+string(id)+"||admit: case "+string(id)+" was changed") {
		t.Errorf("history: %s", got)
	}
}

// TestFaultsAreNoRefusals sets what the record format does not know.
func TestFaultsAreNoRefusals(t *testing.T) {
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, quill, "fenwick")
	_, err := k.Set(quill, id, []string{"surgery.day=2127-13-01"}, "")
	var faults table.Faults
	if !errors.As(err, &faults) {
		t.Fatalf("%v is no fault of the record", err)
	}
	_, err = k.AddFinding(quill, id, map[string]string{"what": "infection", "day": "2027-01-18", "side": "up"}, "")
	if !errors.As(err, &faults) {
		t.Fatalf("%v is no fault of the record", err)
	}
	if entries := entriesOf(t, store); len(entries) != 1 {
		t.Errorf("left: %v", entries)
	}
}

// grudging is a store that takes so many acts and then says something of its own.
type grudging struct {
	desk.Store
	takes int
	says  error
	asked int
}

func (g *grudging) Act(do func(desk.Writing) error) error {
	if g.asked++; g.asked > g.takes {
		return g.says
	}
	return g.Store.Act(do)
}

// TestWhatTheStoreRefusesIsNoRefusedAct has a store that is busy: to write that down it
// would have to be asked again.
func TestWhatTheStoreRefusesIsNoRefusedAct(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	busy := &grudging{Store: store, says: &graft.Refusal{Kind: graft.Conflict, Message: "the ledger is busy"}}
	_, _, err := desk.NewKeeper(k.Desk, busy).Book(ida, id, wound(), at("2027-01-25", "09:00"), "")
	refusalOf(t, err, graft.Conflict, "the ledger is busy")
	if busy.asked != 1 {
		t.Errorf("the store was asked %d times", busy.asked)
	}
}

// understanding is a store that fails in the middle of an act and says so in words of
// its own.
type understanding struct {
	desk.Store
	says error
}

func (u understanding) Act(do func(desk.Writing) error) error {
	if u.Store.Act(func(w desk.Writing) error { return do(blind{w}) }) != nil {
		return u.says
	}
	return nil
}

// blind is a ledger that finds no case, for its disk does not answer.
type blind struct{ desk.Writing }

func (blind) Case(graft.CaseID) (ledger.Kept, error) {
	return ledger.Kept{}, errors.New("input or output")
}

// TestAFailureInAnActKeepsTheStoresWords has a store that makes a refusal of a disk that
// does not answer.
func TestAFailureInAnActKeepsTheStoresWords(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	says := &graft.Refusal{Kind: graft.Invalid, Message: "the ledger is damaged"}
	_, _, err := desk.NewKeeper(k.Desk, understanding{store, says}).Cancel(ida, id, wound(), "")
	refusalOf(t, err, graft.Invalid, "the ledger is damaged")
	if entries := entriesOf(t, store); len(entries) != 1 {
		t.Errorf("left: %v", entries)
	}
}

// TestARefusalThatCannotBeKeptIsToldWithWhy has a disk that fails between the refusal
// and its entry.
func TestARefusalThatCannotBeKeptIsToldWithWhy(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	failure := errors.New("the disk is gone")
	_, _, err := desk.NewKeeper(k.Desk, &grudging{Store: store, takes: 1, says: failure}).Cancel(ida, id, wound(), "")
	refusalOf(t, err, graft.Conflict, "")
	if !errors.Is(err, failure) || !strings.Contains(err.Error(), "the refusal is not in the history") {
		t.Errorf("%v", err)
	}
}

// TestWhoChangedTheCaseMeanwhileIsNotWhoWasRefused is told of changes alone.
func TestWhoChangedTheCaseMeanwhileIsNotWhoWasRefused(t *testing.T) {
	k, _ := keeping(t)
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	seen := headOf(t, k, id)
	if _, err := k.Approve(acting(t, k, "Nurse Wyn Tate", "2027-01-18"), id); err == nil {
		t.Fatal("a nurse approves")
	}
	if _, err := k.Set(quill, id, []string{"surgery.sutures=resorbable"}, ""); err != nil {
		t.Fatal(err)
	}
	ida.Seen = seen
	_, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), "")
	refusalOf(t, err, graft.Conflict, "meanwhile (Dr Alba Quill: set")
	if err != nil && strings.Contains(err.Error(), "Tate") {
		t.Errorf("%v", err)
	}
}

// TestEveryActOfAPersonIsWrittenDownWhenItIsRefused asks for every act there is, of a
// case that is not kept and by nobody of the clinic. Acts that are not refused even so
// have their refusals above.
func TestEveryActOfAPersonIsWrittenDownWhenItIsRefused(t *testing.T) {
	k, store := keeping(t)
	nobody := desk.Actor{Person: ledger.Person{Name: "Nobody Known"}, On: on("2027-01-18"), At: evening}
	looks := map[string]bool{"Untold": true, "Draft": true} // these change nothing, whoever asks
	keeper, tried := reflect.ValueOf(k), 0
	for n := range keeper.NumMethod() {
		name, method := keeper.Type().Method(n).Name, keeper.Method(n)
		if in := method.Type(); in.NumIn() == 0 || in.In(0) != reflect.TypeFor[desk.Actor]() || looks[name] {
			continue
		}
		before := len(entriesOf(t, store))
		err := actedBy(method, nobody)
		if !isRefusal(err) {
			t.Logf("%s is not refused: %v", name, err)
			continue
		}
		tried++
		if after := entriesOf(t, store); len(after) != before+1 || after[before].What != ledger.Refused || after[before].By != nobody.Person {
			t.Errorf("%s: %v; written down: %v", name, err, after[before:])
		}
	}
	if tried < 20 {
		t.Errorf("%d acts were refused", tried)
	}
}

// actedBy calls a method for an actor, with little else.
func actedBy(method reflect.Value, a desk.Actor) (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("it panics: %v", fault)
		}
	}()
	arguments := []reflect.Value{reflect.ValueOf(a)}
	for n := 1; n < method.Type().NumIn(); n++ {
		argument := reflect.New(method.Type().In(n)).Elem()
		if argument.Kind() == reflect.String {
			argument.SetString("HR-9999")
		}
		arguments = append(arguments, argument)
	}
	for _, result := range method.Call(arguments) {
		if admitted, ok := result.Interface().(desk.Admitted); ok {
			return admitted.Err
		}
		if e, ok := result.Interface().(error); ok {
			err = e
		}
	}
	return err
}

func isRefusal(err error) bool {
	var refusal *graft.Refusal
	return errors.As(err, &refusal)
}
