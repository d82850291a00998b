package desk_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/reference/radicale"
	"graftclock/internal/sqlite"
)

// another opens a second desk on the same ledger and the same calendar.
func (s *sharing) another(server *radicale.Server) *sharing {
	s.Helper()
	store, err := sqlite.Open(s.file)
	if err != nil {
		s.Fatal(err)
	}
	s.Cleanup(func() { store.Close() })
	o := *s
	o.store, o.wire = desk.Keep(store), newWire(s.T)
	o.keeper = desk.NewKeeper(desk.New(s.keeper.Clinic, protocol.Default()), o.store)
	o.shelf.Server = caller(s.T, server, o.wire)
	return &o
}

// TestTwoDesksPublishAtOnce has two desks publish into one calendar at the same time,
// over and over, while a third moves visits and calls some off. When all is done,
// one more run finds calendar and ledger at one.
func TestTwoDesksPublishAtOnce(t *testing.T) {
	t.Parallel()
	visits, rounds := 36, 6
	if testing.Short() || underRace {
		visits, rounds = 24, 3
	}
	const seed = 20270119
	server := radicale.Start(t)
	first := share(t, server, crowded)
	ids := first.fill(visits)
	desks := []*sharing{first, first.another(server)}
	third := first.another(server)
	random := rand.New(rand.NewPCG(seed, 1))
	var off atomic.Int64
	for range rounds {
		var group sync.WaitGroup
		for _, d := range desks {
			group.Go(func() {
				if _, err := d.keeper.Publish(t.Context(), d.shelf, d.ida.On, d.ida.At, false); err != nil {
					t.Error(err)
				}
				if _, err := d.keeper.Pull(t.Context(), d.shelf, d.ida.On, d.ida.At); err != nil {
					t.Error(err)
				}
			})
		}
		group.Go(func() {
			for range 8 {
				if third.stir(ids[random.IntN(len(ids))], random) {
					off.Add(1)
				}
			}
		})
		group.Wait()
	}
	told := first.publish()
	for _, d := range told {
		if d.Did == desk.Keeps {
			t.Errorf("%s of %s: %s", d.Milestone, d.Case, d.Why)
		}
	}
	first.wantWhole(visits - int(off.Load()))
	t.Logf("seed %d: %d called off, %v and %v, %d at the end", seed, off.Load(), desks[0].wire.sent, desks[1].wire.sent, len(told))
}

// stir moves the wound check of a case to another hour, or calls it off; it reports
// whether it did the latter.
func (s *sharing) stir(id graft.CaseID, random *rand.Rand) (off bool) {
	var err error
	if random.IntN(6) == 0 {
		_, _, err = s.keeper.Cancel(s.ida, id, wound(), "")
		off = err == nil
	} else {
		to := at(fmt.Sprintf("2027-01-%d", 25+random.IntN(4)), fmt.Sprintf("%02d:%02d", 14+random.IntN(2), 15*random.IntN(4)))
		_, _, err = s.keeper.Move(s.ida, id, wound(), to, "")
	}
	var refusal *graft.Refusal
	if err != nil && !errors.As(err, &refusal) {
		s.Error(err)
	}
	return off
}

// once lets something happen before the first request of a method leaves.
func once(method string, do func()) func(*http.Request) error {
	done := false
	return func(r *http.Request) error {
		if r.Method == method && !done {
			done = true
			do()
		}
		return nil
	}
}

// TestADeskThatIsBehindMarksNothing has one desk move a visit and publish it while
// another is in the middle of a run that began before: the other takes nothing of it
// for the doing of a stranger.
func TestADeskThatIsBehindMarksNothing(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for _, c := range []struct {
		name string
		test func(s, behind *sharing, id graft.CaseID, ahead func())
	}{
		{"it changes a visit", func(s, behind *sharing, id graft.CaseID, ahead func()) {
			if _, _, err := s.keeper.Move(s.ida, id, wound(), at("2027-01-28", "09:00"), ""); err != nil {
				t.Fatal(err)
			}
			behind.wire.leaving = once("PUT", ahead)
			behind.wantTold(behind.publish(), "HR-2041 wound-check: keep: another desk is writing it: graftclock publish again")
		}},
		{"it removes a visit", func(s, behind *sharing, id graft.CaseID, ahead func()) {
			if _, _, err := s.keeper.Cancel(s.ida, id, wound(), ""); err != nil {
				t.Fatal(err)
			}
			behind.wire.leaving = once("DELETE", func() {
				s.book(id, graft.WoundCheck, "2027-01-28", "09:00")
				s.publish()
			})
			behind.wantTold(behind.publish(), "HR-2041 wound-check: keep: another desk is writing it: graftclock publish again")
		}},
		{"it pulls", func(s, behind *sharing, id graft.CaseID, ahead func()) {
			behind.wire.leaving = once("REPORT", ahead)
			for _, p := range behind.pull() {
				if !p.Move.Day.IsZero() {
					t.Errorf("it would move %+v", p)
				}
			}
		}},
		{"it pulls, and the visit is off", func(s, behind *sharing, id graft.CaseID, ahead func()) {
			behind.wire.leaving = once("REPORT", func() {
				if _, _, err := s.keeper.Cancel(s.ida, id, wound(), ""); err != nil {
					t.Fatal(err)
				}
				s.publish()
			})
			behind.pull()
			s.book(id, graft.WoundCheck, "2027-01-28", "09:00")
			s.wantTold(s.publish(), woundAdded)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := share(t, server)
			id := published(s)
			c.test(s, s.another(server), id, func() {
				if _, _, err := s.keeper.Move(s.ida, id, wound(), at("2027-01-27", "11:00"), ""); err != nil {
					t.Fatal(err)
				}
				s.publish()
			})
			s.wantRest()
		})
	}
}

// TestTwoDesksAndOneVisitUnderWay has a second desk at work while the first waits for
// the server: neither takes what the other does for a stranger's doing, and what a
// stranger does is not lost between them.
func TestTwoDesksAndOneVisitUnderWay(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for _, c := range []struct {
		name string
		test func(s, other *sharing, id graft.CaseID)
	}{
		{"the other does the same before it arrives", func(s, other *sharing, id graft.CaseID) {
			move("2027-01-27", "09:00")(s, id)
			s.wire.leaving = once("PUT", func() { other.wantTold(other.publish(), woundChanged) })
			s.wantTold(s.publish(), woundChanged)
		}},
		{"the other goes on before the answer comes", func(s, other *sharing, id graft.CaseID) {
			move("2027-01-27", "09:00")(s, id)
			s.wire.arrived = once("PUT", func() {
				move("2027-01-28", "09:00")(other, id)
				other.wantTold(other.publish(), woundChanged)
			})
			s.wantTold(s.publish(), woundChanged)
			s.wantTold(s.publish(), woundChanged) // it makes sure which of the two came last
		}},
		{"the other books again what was just removed", func(s, other *sharing, id graft.CaseID) {
			callOff(s, id)
			s.wire.arrived = once("DELETE", func() {
				book("2027-01-28", "09:00")(other, id)
				other.wantTold(other.publish(), woundChanged)
			})
			s.wantTold(s.publish(), woundRemoved)
			s.wantTold(s.publish(), woundChanged)
		}},
		{"the other pulls", func(s, other *sharing, id graft.CaseID) {
			move("2027-01-27", "09:00")(s, id)
			s.wire.leaving = once("PUT", other.wantNothingPulled)
			s.wire.arrived = once("PUT", other.wantNothingPulled)
			s.wantTold(s.publish(), woundChanged)
		}},
		{"the other pulls, and somebody has dragged it", func(s, other *sharing, id graft.CaseID) {
			move("2027-01-27", "09:00")(s, id)
			s.wire.arrived = once("PUT", func() {
				somebody(dragged)(s, id)
				other.wantPulled(id, graft.WoundCheck, toDragged, "")
			})
			s.wantTold(s.publish(), woundChanged)
			p := s.wantPulled(id, graft.WoundCheck, toDragged, "")
			s.wantTold(s.publish(), woundEdited)
			s.putBack(p)
		}},
		{"what a look has missed the next one sees", func(s, other *sharing, id graft.CaseID) {
			move("2027-01-27", "09:00")(s, id)
			other.wire.leaving = once("REPORT", func() {
				s.publish()
				somebody(dragged)(s, id)
			})
			if pulled := other.pull(); len(pulled) > 0 {
				t.Errorf("pulled %+v", pulled)
			}
			s.putBack(s.wantPulled(id, graft.WoundCheck, toDragged, ""))
		}},
		{"what is taken over after it was put back stays put back", func(s, other *sharing, id graft.CaseID) {
			somebody(dragged)(s, id)
			p := s.wantPulled(id, graft.WoundCheck, toDragged, "")
			s.wire.arrived = func(*http.Request) error { return errCut }
			if _, err := s.keeper.PutBack(s.Context(), s.shelf, p, s.ida.On, s.ida.At); err == nil {
				t.Error("no error")
			}
			if _, err := other.keeper.TakeOver(s.ida, p); err != nil {
				t.Error(err)
			}
			other.wantTold(other.publish(), woundChanged)
			s.wire = newWire(t)
			s.shelf.Server = caller(t, server, s.wire)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := share(t, server)
			id := published(s)
			c.test(s, s.another(server), id)
			s.wantWhole(2)
		})
	}
}
