package desk_test

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
	"graftclock/internal/sqlite"
)

// keeping returns a desk with an empty ledger, and its store.
func keeping(t *testing.T) (*desk.Keeper, desk.Store) {
	t.Helper()
	store, err := sqlite.Open(filepath.Join(t.TempDir(), "clinic.ledger"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	kept := desk.Keep(store)
	return desk.NewKeeper(desk.New(demoClinic(t), protocol.Default()), kept), kept
}

// acting is a person of the demo clinic on a day, at eight in the morning.
func acting(t *testing.T, k *desk.Keeper, name, onDay string) desk.Actor {
	t.Helper()
	p, err := k.Person(name)
	if err != nil {
		t.Fatal(err)
	}
	return desk.Actor{Person: p, On: on(onDay), At: on(onDay).Time().Add(8 * time.Hour)}
}

// admit takes a demo record in, changed.
func admit(t *testing.T, k *desk.Keeper, a desk.Actor, name string, changes ...string) graft.CaseID {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	canonical, _, faults := casefile.Canonical(name, data)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	record, c, faults, err := casefile.Change(name, canonical, changes)
	if err != nil || len(faults) > 0 {
		t.Fatal(err, faults)
	}
	if did := k.Admit(a, record, c, ""); did.Err != nil {
		t.Fatal(did.Err)
	}
	return c.ID
}

func wound() desk.Choice { return desk.Choice{Step: graft.WoundCheck} }

func at(dayText, clock string) graft.Slot {
	start, _ := day.ParseClock(clock)
	return graft.Slot{Day: on(dayText), Start: start}
}

// refusalOf wants an error to be a refusal of a kind that says something.
func refusalOf(t *testing.T, err error, kind graft.RefusalKind, says string) {
	t.Helper()
	var refusal *graft.Refusal
	if !errors.As(err, &refusal) || refusal.Kind != kind || !strings.Contains(refusal.Message+" "+refusal.Hint, says) {
		t.Errorf("got %v, want a refusal of kind %s that says %q", err, kind, says)
	}
}

func TestADecisionOnWhatIsNoLongerSoIsRefused(t *testing.T) {
	k, _ := keeping(t)
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	live, err := k.Live(id, on("2027-01-18"))
	if err != nil {
		t.Fatal(err)
	}
	ida.Seen = live.Kept.Head
	if _, err := k.Set(quill, id, []string{"surgery.sutures=resorbable"}, ""); err != nil {
		t.Fatal(err)
	}
	_, _, err = k.Book(ida, id, wound(), at("2027-01-25", "09:00"), "")
	refusalOf(t, err, graft.Conflict, "Dr Alba Quill: set")
	if live, err = k.Live(id, on("2027-01-18")); err != nil {
		t.Fatal(err)
	}
	ida.Seen = live.Kept.Head
	if _, _, err = k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Error(err)
	}
}

// TestARefusedActLeavesNothing wants of an act that was refused half way no visit and
// no entry but the one that it was refused: an early booking writes its override before
// it looks for the slot.
func TestARefusedActLeavesNothing(t *testing.T) {
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, quill, "fenwick")
	_, _, err := k.Book(quill, id, desk.Choice{Step: graft.Uncovering}, at("2027-07-28", "09:00"), "the torque was high")
	refusalOf(t, err, graft.Conflict, "no surgeon in on Wednesdays")
	if err := store.View(func(l desk.Ledger) error {
		entries, err := l.History(id)
		overrides, err2 := l.Overrides(id)
		if len(entries) != 2 || entries[1].Changes() || len(overrides) != 0 {
			t.Errorf("left: %v and %d overrides", entries, len(overrides))
		}
		return errors.Join(err, err2)
	}); err != nil {
		t.Fatal(err)
	}
}

// TestSettlingFollowsTheClinicFile closes a day on which two cases are booked: both
// are hit, and settling one leaves the other where it is.
func TestSettlingFollowsTheClinicFile(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	other := admit(t, k, ida, "fenwick", "case=HR-3001", "patient.name=Ansel Birch")
	for n, c := range []graft.CaseID{id, other} {
		if _, _, err := k.Book(ida, c, wound(), at("2027-01-25", []string{"09:00", "09:30"}[n]), ""); err != nil {
			t.Fatal(err)
		}
	}
	closed := demoClinic(t)
	closed.Closures = append(slices.Clone(closed.Closures), clinic.Closure{From: on("2027-01-25"), To: on("2027-01-25"), Name: "burst pipe"})
	k = desk.NewKeeper(desk.New(closed, protocol.Default()), store)
	hits, err := k.Hits(on("2027-01-18"))
	if err != nil || len(hits) != 2 {
		t.Fatalf("%d hits, %v", len(hits), err)
	}
	for _, h := range hits {
		if h.Why != "closed: burst pipe" || h.Proposal.Day.IsZero() || len(h.Others) == 0 {
			t.Errorf("%+v", h)
		}
		live, did, err := k.Settle(ida, h.Case, "")
		if err != nil || len(did) != 1 {
			t.Fatalf("%v, %v", did, err)
		}
		moved := live.Visits[0]
		if v, _ := live.Latest(h.ID); moved.State != ledger.Moved || v.State != ledger.Booked || v.Day == on("2027-01-25") {
			t.Errorf("%s: %s %s, then %s %s", h.Case, moved.State, moved.Slot, v.State, v.Slot)
		}
	}
	if hits, err = k.Hits(on("2027-01-18")); err != nil || len(hits) != 0 {
		t.Errorf("still %d hits, %v", len(hits), err)
	}
}

// TestOtherRulesAskForANewRevision adopts a value of the clinic's own after the
// plan was approved: the approval no longer counts and settling plans anew.
func TestOtherRulesAskForANewRevision(t *testing.T) {
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, quill, "fenwick")
	if live, err := k.Approve(quill, id); err != nil || live.Draft() {
		t.Fatal(err)
	}
	own := "rules: 1\nadopted_by: Dr Alba Quill\nadopted_on: 2027-01-18\nchanges: [{id: share-to-hold, value: 0.9, reason: dense bone here}]\n"
	rules, faults := protocol.Default().Adopt("own.yaml", []byte(own))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	k = desk.NewKeeper(desk.New(demoClinic(t), rules), store)
	live, err := k.Live(id, on("2027-01-18"))
	if err != nil || !live.OtherRules || !live.Draft() || live.Settled() {
		t.Fatalf("other rules %v, draft %v, settled %v, %v", live.OtherRules, live.Draft(), live.Settled(), err)
	}
	_, err = k.Approve(quill, id)
	refusalOf(t, err, graft.Conflict, "graftclock settle "+string(id))
	if live, _, err = k.Settle(quill, id, ""); err != nil || live.Kept.Revision != 2 || live.OtherRules {
		t.Fatalf("revision %d, %v", live.Kept.Revision, err)
	}
	if live, err = k.Approve(quill, id); err != nil || live.Draft() {
		t.Error(err)
	}
}

// TestAMissedVisitIsCorrectedWhereItsTimeWasGivenAway ticks a visit as missed,
// gives its time to another patient, and then finds that the first did come.
func TestAMissedVisitIsCorrectedWhereItsTimeWasGivenAway(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-25")
	id := admit(t, k, ida, "fenwick")
	other := admit(t, k, ida, "fenwick", "case=HR-3001", "patient.name=Ansel Birch")
	if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	if _, _, err := k.Missed(ida, id, wound(), "no call"); err != nil {
		t.Fatal(err)
	}
	if _, _, err := k.Book(ida, other, wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	live, v, err := k.Attended(ida, id, wound(), day.Day{}, "came at five")
	if err != nil || v.State != ledger.Attended || v.Day != on("2027-01-25") || live.State(v.Milestone) != ledger.Attended {
		t.Errorf("%+v, %v", v, err)
	}
}

func TestWhatIsMeantByAStep(t *testing.T) {
	k, _ := keeping(t)
	id := admit(t, k, acting(t, k, "Ida Marlow", "2027-04-20"), "petrov")
	live, err := k.Live(id, on("2027-04-20"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = live.Pick(desk.Choice{Step: graft.Uncovering})
	refusalOf(t, err, graft.Invalid, "uncovering, left molar")
	_, err = live.Pick(desk.Choice{Step: graft.ReEntry})
	refusalOf(t, err, graft.NotFound, "it has: ")
	_, err = live.Pick(desk.Choice{Step: graft.Recall, For: "left molar", Which: "5 months"})
	refusalOf(t, err, graft.NotFound, "recall 3 months, left molar")
	m, err := live.Pick(desk.Choice{Step: graft.Recall, For: "left molar"})
	if err != nil || m.Which != "14 days" {
		t.Errorf("%s, %v", m.Title(), err)
	}
}

// TestAClosureListNamesNoVisitThatThePatientCannotComeTo keeps what is the
// patient's out of what the clinic cannot hold; the case itself tells it.
func TestAClosureListNamesNoVisitThatThePatientCannotComeTo(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	live, err := k.Set(ida, id, []string{"patient.unavailable+=2027-01-25"}, "")
	if err != nil || len(live.Unsettled()) != 1 {
		t.Fatalf("%v, %v", live.Unsettled(), err)
	}
	if hits, err := k.Hits(on("2027-01-18")); err != nil || len(hits) != 0 {
		t.Errorf("%v, %v", hits, err)
	}
}

// TestARecordThatCannotBeReadIsAnErrorOfEveryList writes a revision that no reader
// takes, as a later version of the format might: each list says which it is.
func TestARecordThatCannotBeReadIsAnErrorOfEveryList(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	admit(t, k, ida, "okafor")
	if err := store.Act(func(w desk.Writing) error {
		return w.AddRevision(ledger.Revision{Case: id, Number: 2, Record: []byte("record: 9\n"), On: ida.On, At: ida.At, By: ida.Name}, ledger.Entry{Case: id, At: ida.At, By: ida.Person, What: "set"})
	}); err != nil {
		t.Fatal(err)
	}
	for name, list := range map[string]func() error{
		"today":       func() error { _, err := k.Today(ida.On); return err },
		"due":         func() error { _, err := k.Due(ida.On, 2); return err },
		"overdue":     func() error { _, err := k.Overdue(ida.On); return err },
		"unconfirmed": func() error { _, err := k.Unconfirmed(ida.On); return err },
		"closures":    func() error { _, err := k.HitSheet(ida.On); return err },
	} {
		if err := list(); err == nil || !strings.Contains(err.Error(), string(id)) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
