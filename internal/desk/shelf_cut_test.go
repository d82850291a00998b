package desk_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/reference/radicale"
)

// errCut is what becomes of a connection that is cut.
var errCut = errors.New("connection reset")

// TestTheServerGoesWhileVisitsArePublished kills the server again and again, each
// time while a request is on its way or just before it leaves. Every run ends with
// an error that names the visit, and a run that nobody disturbs ends the work:
// nothing is lost, nothing is there twice.
func TestTheServerGoesWhileVisitsArePublished(t *testing.T) {
	const seed = 20270118
	visits, kills := 60, 4
	if testing.Short() || underRace {
		visits, kills = 36, 2
	}
	server := radicale.Start(t)
	s := share(t, server, crowded)
	s.fill(visits)
	random := rand.New(rand.NewPCG(seed, 1))
	var puts int
	var killer sync.WaitGroup
	for n := range kills {
		left, moment := 8+random.IntN(8), time.Duration(random.IntN(12))*time.Millisecond
		s.wire.leaving = func(r *http.Request) error {
			if left--; left > 0 {
				return nil
			}
			if n%2 == 0 {
				server.Stop()
				return nil
			}
			killer.Go(func() {
				time.Sleep(moment)
				server.Stop()
			})
			return nil
		}
		did, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At, false)
		if err == nil || !strings.Contains(err.Error(), " of HR-50") || !strings.Contains(err.Error(), "calendar server") {
			t.Errorf("kill %d: %d done, %v", n, len(did), err)
		}
		puts += len(did)
		killer.Wait()
		server.Restart()
	}
	s.wire.leaving = func(*http.Request) error { return nil }
	last := s.publish()
	if puts += len(last); puts != visits {
		t.Errorf("the runs tell of %d visits of %d", puts, visits)
	}
	s.wantWhole(visits)
	t.Logf("seed %d: %d visits in %d runs, %v", seed, visits, kills+1, s.wire.sent)
}

// wantWhole wants every booked visit of the ledger once in the calendar, at its time,
// and nothing else there, and all at rest.
func (s *sharing) wantWhole(visits int) {
	s.Helper()
	want := map[string]int{}
	lives, err := s.keeper.All(s.ida.On)
	if err != nil {
		s.Fatal(err)
	}
	for _, live := range lives {
		for _, v := range live.Visits {
			if v.State == ledger.Booked {
				want[fmt.Sprintf("%s %s: %s %s %s", v.Case, v.Patient, v.Milestone.Title(), v.Day, v.Start)]++
			}
		}
	}
	got := map[string]int{}
	for _, o := range s.calendar() {
		e := s.shows(o)
		got[e.Summary+e.Start.Format(" 2006-01-02 15:04")]++
	}
	if len(want) != visits || len(got) != visits {
		s.Errorf("%d visits, %d in the ledger, %d in the calendar", visits, len(want), len(got))
	}
	for name, n := range want {
		if got[name] != 1 || n != 1 {
			s.Errorf("%s is %d times in the ledger and %d times in the calendar", name, n, got[name])
		}
	}
	s.wantRest()
}

// TestAnAnswerIsLost cuts the connection after the server has done what it was asked,
// lets something happen, and publishes again.
func TestAnAnswerIsLost(t *testing.T) {
	server := radicale.Start(t)
	move := func(day, clock string) func(*sharing, graft.CaseID) {
		return func(s *sharing, id graft.CaseID) {
			if _, _, err := s.keeper.Move(s.ida, id, wound(), at(day, clock), ""); err != nil {
				s.Fatal(err)
			}
		}
	}
	cancel := func(s *sharing, id graft.CaseID) {
		if _, _, err := s.keeper.Cancel(s.ida, id, wound(), ""); err != nil {
			s.Fatal(err)
		}
	}
	nothing := func(*sharing, graft.CaseID) {}
	drag := func(s *sharing, id graft.CaseID) {
		s.edit(id, graft.WoundCheck, timesTo("20270127T110000", "20270127T112000"))
	}
	remove := func(s *sharing, id graft.CaseID) { s.remove(id, graft.WoundCheck) }
	const kept = "HR-2041 wound-check: keep: changed in the calendar: graftclock pull"
	for _, c := range []struct {
		name      string
		before    func(*sharing, graft.CaseID) // of a published visit; nil: it is new
		then      func(*sharing, graft.CaseID)
		want      string
		open      bool // somebody has to decide
		remaining int
		skip      string
	}{
		{name: "of a new visit", then: nothing, want: woundAdded, remaining: 1},
		{name: "of a new visit, which is then moved", then: move("2027-01-28", "09:00"), want: woundAdded, remaining: 1},
		{name: "of a new visit, which is then called off", then: cancel, want: "HR-2041 wound-check: remove", remaining: 0},
		{name: "of a new visit, which somebody then drags", then: drag, want: kept, open: true, remaining: 1},
		{name: "of a new visit, which somebody then deletes", then: remove, want: woundAdded, remaining: 1},
		{name: "of a moved visit", before: move("2027-01-27", "09:00"), then: nothing, want: "HR-2041 wound-check: change", remaining: 1},
		{name: "of a moved visit, which is then moved back", before: move("2027-01-27", "09:00"), then: move("2027-01-26", "10:00"), want: "HR-2041 wound-check: change", remaining: 1,
			skip: "a change whose answer was lost and whose visit is moved again is told as changed in the calendar: shelve keeps no note of a change before it leaves"},
		{name: "of a moved visit, which is then moved again", before: move("2027-01-27", "09:00"), then: move("2027-01-28", "09:00"), want: "HR-2041 wound-check: change", remaining: 1,
			skip: "a change whose answer was lost and whose visit is moved again is told as changed in the calendar: shelve keeps no note of a change before it leaves"},
		{name: "of a moved visit, which is then called off", before: move("2027-01-27", "09:00"), then: cancel, want: "HR-2041 wound-check: remove", remaining: 0,
			skip: "a change whose answer was lost and whose visit is called off is told as changed in the calendar: shelve keeps no note of a change before it leaves"},
		{name: "of a moved visit, which somebody then drags", before: move("2027-01-28", "09:00"), then: drag, want: kept, open: true, remaining: 1},
		{name: "of a removal", before: cancel, then: nothing, want: "HR-2041 wound-check: remove", remaining: 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.skip != "" {
				t.Skip(c.skip)
			}
			s := share(t, server)
			id := admit(t, s.keeper, s.ida, "fenwick")
			s.book(id, graft.WoundCheck, "2027-01-26", "10:00")
			if c.before != nil {
				s.publish()
				c.before(s, id)
			}
			s.wire.arrived = func(*http.Request) error { return errCut }
			if did, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At, false); err == nil || len(did) > 0 {
				t.Fatalf("did %+v, %v", did, err)
			}
			s.wire.arrived = func(*http.Request) error { return nil }
			c.then(s, id)
			s.wantTold(s.publish(), c.want)
			if got := len(s.calendar()); got != c.remaining {
				t.Errorf("%d entries, want %d", got, c.remaining)
			}
			if c.open {
				s.wantPulled(id, graft.WoundCheck, "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate", "")
				return
			}
			s.wantWhole(c.remaining)
		})
	}
}

// TestATimeThatWasLeftIsNotProposed loses the answer to a change and moves the visit
// on: the calendar shows a time between, which nobody there has asked for.
func TestATimeThatWasLeftIsNotProposed(t *testing.T) {
	s := share(t, radicale.Start(t))
	id := published(s)
	for n, to := range []string{"2027-01-27", "2027-01-28"} {
		if _, _, err := s.keeper.Move(s.ida, id, wound(), at(to, "09:00"), ""); err != nil {
			t.Fatal(err)
		}
		if n > 0 {
			continue
		}
		s.wire.arrived = func(*http.Request) error { return errCut }
		if _, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At, false); err == nil {
			t.Fatal("no error")
		}
		s.wire.arrived = func(*http.Request) error { return nil }
	}
	s.wantTold(s.publish(), "HR-2041 wound-check: keep: changed in the calendar: graftclock pull")
	s.putBack(s.wantPulled(id, graft.WoundCheck, "", "the ledger has moved it on from there"))
	s.wantWhole(2)
	s.edit(id, graft.WoundCheck, timesTo("20270127T090000", "20270127T092000"))
	s.wantPulled(id, graft.WoundCheck, "Wed 2027-01-27 09:00-09:20, Surgery 1, Nurse Wyn Tate", "")
}

// TestPullBetweenACutRunAndTheNext pulls while nobody knows yet whether a new visit
// has arrived: neither case is told as deleted, and the next run ends the work.
func TestPullBetweenACutRunAndTheNext(t *testing.T) {
	server := radicale.Start(t)
	for _, c := range []struct {
		name    string
		arrives bool
	}{{"it has arrived", true}, {"it has not", false}} {
		t.Run(c.name, func(t *testing.T) {
			s := share(t, server)
			id := admit(t, s.keeper, s.ida, "fenwick")
			s.book(id, graft.WoundCheck, "2027-01-26", "10:00")
			cut := func(r *http.Request) error {
				if r.Method == "PUT" {
					return errCut
				}
				return nil
			}
			if c.arrives {
				s.wire.arrived = cut
			} else {
				s.wire.leaving = cut
			}
			if _, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At, false); err == nil {
				t.Fatal("no error")
			}
			for range 2 {
				if pulled := s.pull(); len(pulled) > 0 {
					t.Errorf("pulled %+v", pulled)
				}
			}
			s.wire.arrived, s.wire.leaving = newWire(t).arrived, newWire(t).leaving
			s.publish()
			s.wantWhole(1)
		})
	}
}
