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

// cutAt publishes and cuts the run at its n-th request: after the server has answered
// that or, where it does not arrive, before it leaves. A run that asks less often comes
// to its end; cut tells which it was.
func (s *sharing) cutAt(n int, arrives bool) (cut bool) {
	s.Helper()
	at := func(*http.Request) error {
		if n--; n == 0 {
			cut = true
			return errCut
		}
		return nil
	}
	through := newWire(s.T)
	s.wire.leaving, s.wire.arrived = through.leaving, through.arrived
	if arrives {
		s.wire.arrived = at
	} else {
		s.wire.leaving = at
	}
	did, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At, false)
	s.wire.leaving, s.wire.arrived = through.leaving, through.arrived
	if cut != (err != nil) || cut && !strings.Contains(err.Error(), errCut.Error()) {
		s.Fatalf("did %+v, %v", did, err)
	}
	return cut
}

// TestTheServerGoesWhileVisitsArePublished kills the server again and again, each
// time while a request is on its way or just before it leaves. Every run ends with
// an error that names the visit, and a run that nobody disturbs ends the work:
// nothing is lost, nothing is there twice.
func TestTheServerGoesWhileVisitsArePublished(t *testing.T) {
	t.Parallel()
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

// TestPullBetweenACutRunAndTheNext pulls while nobody knows yet whether a new visit
// has arrived: neither case is told as deleted, and the next run ends the work.
func TestPullBetweenACutRunAndTheNext(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for _, c := range []struct {
		name    string
		arrives bool
	}{{"it has arrived", true}, {"it has not", false}} {
		t.Run(c.name, func(t *testing.T) {
			s := share(t, server)
			id := admit(t, s.keeper, s.ida, "fenwick")
			s.book(id, graft.WoundCheck, "2027-01-26", "10:00")
			s.cutAt(1, c.arrives)
			for range 2 {
				if pulled := s.pull(); len(pulled) > 0 {
					t.Errorf("pulled %+v", pulled)
				}
			}
			s.publish()
			s.wantWhole(1)
		})
	}
}
