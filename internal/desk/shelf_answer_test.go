package desk_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/reference/radicale"
)

// step is what somebody does between two runs.
type step func(*sharing, graft.CaseID)

func move(day, clock string) step {
	return func(s *sharing, id graft.CaseID) {
		s.Helper()
		if _, _, err := s.keeper.Move(s.ida, id, wound(), at(day, clock), ""); err != nil {
			s.Fatal(err)
		}
	}
}

func book(day, clock string) step {
	return func(s *sharing, id graft.CaseID) {
		s.Helper()
		s.book(id, graft.WoundCheck, day, clock)
	}
}

func callOff(s *sharing, id graft.CaseID) {
	s.Helper()
	if _, _, err := s.keeper.Cancel(s.ida, id, wound(), ""); err != nil {
		s.Fatal(err)
	}
}

// somebody makes an edit in the calendar.
func somebody(edit func(string) string) step {
	return func(s *sharing, id graft.CaseID) {
		s.Helper()
		s.edit(id, graft.WoundCheck, edit)
	}
}

func somebodyDeletes(s *sharing, id graft.CaseID) {
	s.Helper()
	s.remove(id, graft.WoundCheck)
}

// then does one thing after the other.
func then(steps ...step) step {
	return func(s *sharing, id graft.CaseID) {
		s.Helper()
		for _, do := range steps {
			do(s, id)
		}
	}
}

func nothing(*sharing, graft.CaseID) {}

const (
	woundChanged = "HR-2041 wound-check: change"
	woundRemoved = "HR-2041 wound-check: remove"
	woundEdited  = "HR-2041 wound-check: keep: changed in the calendar: graftclock pull"
	woundDeleted = "HR-2041 wound-check: keep: deleted in the calendar: graftclock pull"
)

// Whether what was sent in a run that was cut off has arrived.
const (
	eitherWay = iota
	arrived
	neverLeft
)

// decision is what pull says that somebody has to decide.
type decision struct{ move, why string }

// answers are what happens round a run that is cut off. The wound check is booked for
// Tuesday 26 January at 10:00 and, where something comes before the run, published.
var answers = []struct {
	name         string
	before, then step      // before: nil, the visit is new
	only         int       // where the row makes sense one way alone
	want         string    // what the next run tells
	ended        bool      // a look of pull leaves nothing for it to do
	open         *decision // nil: nobody has anything to decide
	remaining    int       // entries in the calendar
}{
	{name: "a new visit", then: nothing, want: woundAdded, remaining: 1},
	{name: "a new visit, which is then moved", then: move("2027-01-28", "09:00"), want: woundAdded, remaining: 1},
	{name: "a new visit, which is then called off", then: callOff, want: woundRemoved},
	{name: "a new visit, which is then called off and booked again", then: then(callOff, book("2027-01-28", "09:00")), want: woundAdded, remaining: 1},
	{name: "a new visit, which somebody then drags", only: arrived, then: somebody(dragged), want: woundEdited, open: &decision{move: toDragged}, remaining: 1},
	{name: "a new visit, which somebody then deletes", only: arrived, then: somebodyDeletes, want: woundAdded, remaining: 1},

	{name: "a change", before: move("2027-01-27", "09:00"), then: nothing, want: woundChanged, remaining: 1},
	{name: "a change, then back", before: move("2027-01-27", "09:00"), then: move("2027-01-26", "10:00"), want: woundChanged, remaining: 1},
	{name: "a change, then another", before: move("2027-01-27", "09:00"), then: move("2027-01-28", "09:00"), want: woundChanged, remaining: 1},
	{name: "a change, then off", before: move("2027-01-27", "09:00"), then: callOff, want: woundRemoved},
	{name: "a change, then off and booked again", before: move("2027-01-27", "09:00"), then: then(callOff, book("2027-01-28", "09:00")), want: woundChanged, remaining: 1},
	{name: "a change, which somebody then drags", before: move("2027-01-28", "09:00"), then: somebody(dragged), want: woundEdited, open: &decision{move: toDragged}, remaining: 1},
	{name: "a change, which somebody then drags while it is moved on", before: move("2027-01-28", "09:00"), then: then(somebody(dragged), move("2027-01-28", "14:00")), want: woundEdited, open: &decision{move: toDragged}, remaining: 1},
	{name: "a change, which somebody then drags while it is called off", before: move("2027-01-28", "09:00"), then: then(somebody(dragged), callOff), want: woundEdited, open: &decision{why: "the ledger has it cancelled"}, remaining: 1},
	{
		name: "a change, which somebody then drags to where it was", before: move("2027-01-28", "09:00"), only: arrived,
		then: somebody(timesTo("20270126T100000", "20270126T102000")), want: woundEdited, open: &decision{move: "Tue 2027-01-26 10:00-10:20, Surgery 1, Nurse Wyn Tate"}, remaining: 1,
	},
	{
		name: "a change, in which somebody then writes while it is moved on", before: move("2027-01-27", "09:00"),
		then: then(somebody(all(text("SUMMARY:HR-2041", "SUMMARY:rang: HR-2041"), text("DESCRIPTION:Booked", "DESCRIPTION:rang\\nBooked"))), move("2027-01-28", "09:00")),
		want: woundEdited, open: &decision{why: "its words were changed, not its time"}, remaining: 1,
	},
	{name: "a change, which somebody then deletes", before: move("2027-01-27", "09:00"), then: somebodyDeletes, want: woundDeleted, open: &decision{why: "deleted in the calendar"}},
	{name: "a change, which somebody then deletes while it is called off", before: move("2027-01-27", "09:00"), then: then(somebodyDeletes, callOff), want: woundRemoved, ended: true},

	{name: "a removal", before: callOff, then: nothing, want: woundRemoved},
	{name: "a removal, then booked again", before: callOff, then: book("2027-01-27", "09:00"), want: woundChanged, remaining: 1},
	{name: "a removal, then booked again for the same time", before: callOff, then: book("2027-01-26", "10:00"), want: woundChanged, remaining: 1},
	{name: "a removal, then booked again and called off", before: callOff, then: then(book("2027-01-27", "09:00"), callOff), want: woundRemoved},
	{name: "a removal, which somebody drags", before: callOff, only: neverLeft, then: somebody(dragged), want: woundEdited, open: &decision{why: "the ledger has it cancelled"}, remaining: 1},
	{name: "a removal, which somebody deletes", before: callOff, only: neverLeft, then: somebodyDeletes, want: woundRemoved},
	{
		name: "a removal, which somebody drags while it is booked again", before: callOff, only: neverLeft, then: then(somebody(dragged), book("2027-01-28", "09:00")),
		want: woundEdited, open: &decision{move: toDragged}, remaining: 1,
	},
}

var dragged = timesTo("20270127T110000", "20270127T112000")

const toDragged = "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate"

// TestAnAnswerIsLost cuts a run off, after the server has done what it was asked and
// before anything has left, with and without a look of pull between; then something
// happens, and the next run has to know its own from what somebody did.
func TestAnAnswerIsLost(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for n, c := range answers {
		for m, how := range []int{arrived, neverLeft, arrived, neverLeft} {
			if c.only != eitherWay && c.only != how || (underRace || testing.Short()) && n%4 != m {
				continue
			}
			pulls := m > 1
			t.Run(fmt.Sprintf("%s/arrived %t, pulled %t", c.name, how == arrived, pulls), func(t *testing.T) {
				s := share(t, server)
				id := admit(t, s.keeper, s.ida, "fenwick")
				s.book(id, graft.WoundCheck, "2027-01-26", "10:00")
				if c.before != nil {
					s.publish()
					c.before(s, id)
				}
				if !s.cutAt(1, how == arrived) {
					t.Fatal("the run was not cut")
				}
				if pulls {
					s.wantNothingPulled()
				}
				c.then(s, id)
				want := c.want
				switch {
				case pulls && c.open == nil:
					s.wantNothingPulled()
					if c.ended {
						want = ""
					}
				case pulls:
					s.wantPulled(id, graft.WoundCheck, c.open.move, c.open.why)
				}
				s.wantFinished(id, want, c.open, c.remaining)
			})
		}
	}
}

// wantNothingPulled wants nobody to have changed anything, however often it is asked.
func (s *sharing) wantNothingPulled() {
	s.Helper()
	for range 2 {
		for _, p := range s.pull() {
			s.Errorf("pulled %s %s: %s", p.Case, p.Milestone, p.Why)
		}
	}
}

// wantFinished wants the next run to end what was cut off, or to keep what somebody did
// until it is put back; either way all is at rest after that.
func (s *sharing) wantFinished(id graft.CaseID, want string, open *decision, remaining int) {
	s.Helper()
	if open == nil {
		s.wantDry(want)
	}
	before := s.calendar()
	s.wantTold(s.publish(), want)
	if got := len(s.calendar()); got != remaining {
		s.Errorf("%d entries, want %d", got, remaining)
	}
	if open != nil {
		if diff := cmp.Diff(before, s.calendar()); diff != "" {
			s.Errorf("written over (-before +after):\n%s", diff)
		}
		s.putBack(s.wantPulled(id, graft.WoundCheck, open.move, open.why))
	}
	s.wantWhole(s.booked(id))
}

// wantDry wants a dry run to say what the next one does, and to write nothing.
func (s *sharing) wantDry(want string) {
	s.Helper()
	rows, calendar := s.rows(), s.calendar()
	did, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At, true)
	if err != nil {
		s.Fatal(err)
	}
	s.wantTold(did, want)
	if diff := cmp.Diff(rows, s.rows()) + cmp.Diff(calendar, s.calendar()); diff != "" {
		s.Errorf("the dry run wrote (-before +after):\n%s", diff)
	}
}

// booked is 1 where the ledger has the wound check booked, else 0.
func (s *sharing) booked(id graft.CaseID) int {
	s.Helper()
	live, err := s.keeper.Live(id, s.ida.On)
	if err != nil {
		s.Fatal(err)
	}
	for _, m := range live.Timeline.Milestones {
		if m.Booked {
			return 1
		}
	}
	return 0
}

// TestATimeThatWasLeftIsNotProposed loses the answer to a change and moves the visit
// on: the calendar shows a time between, which nobody there has asked for, so that the
// next run ends the change and pull has nothing to say. Who drags the visit to that
// very time asks for it.
func TestATimeThatWasLeftIsNotProposed(t *testing.T) {
	t.Parallel()
	s := share(t, radicale.Start(t))
	id := published(s)
	move("2027-01-27", "09:00")(s, id)
	if !s.cutAt(1, true) {
		t.Fatal("the run was not cut")
	}
	move("2027-01-28", "09:00")(s, id)
	s.wantNothingPulled()
	s.wantTold(s.publish(), woundChanged)
	s.wantWhole(2)
	s.edit(id, graft.WoundCheck, timesTo("20270127T090000", "20270127T092000"))
	s.wantPulled(id, graft.WoundCheck, "Wed 2027-01-27 09:00-09:20, Surgery 1, Nurse Wyn Tate", "")
}

// TestALedgerFromBeforeRowsWereUnderWay has a new visit in the ledger as put without a
// tag, which once said what under way says now.
func TestALedgerFromBeforeRowsWereUnderWay(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for _, c := range []struct {
		name    string
		arrives bool
		then    step
		want    string
		left    int
	}{
		{"it has arrived", true, nothing, woundAdded, 1},
		{"it has arrived and was moved", true, move("2027-01-28", "09:00"), woundAdded, 1},
		{"it has arrived and was called off", true, callOff, woundRemoved, 0},
		{"it has not arrived", false, nothing, woundAdded, 1},
		{"it has not arrived and was called off", false, callOff, woundRemoved, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := share(t, server)
			id := admit(t, s.keeper, s.ida, "fenwick")
			s.book(id, graft.WoundCheck, "2027-01-26", "10:00")
			s.cutAt(1, c.arrives)
			old := s.rows()[0]
			old.State = ledger.AsPut
			if err := s.store.Act(func(w desk.Writing) error { return w.AddShelved(old) }); err != nil {
				t.Fatal(err)
			}
			c.then(s, id)
			s.wantFinished(id, c.want, nil, c.left)
		})
	}
}
