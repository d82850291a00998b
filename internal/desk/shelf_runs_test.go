package desk_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/reference/radicale"
)

// TestTwoRunsAreCutOff cuts the run that would have ended the one before, at each of
// its requests: the write that is refused where the first has arrived, the look at what
// is there, and the write after that.
func TestTwoRunsAreCutOff(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for n, c := range []struct {
		name          string
		first, second bool // whether what was cut off has arrived
		at            int  // the request that the second run is cut off at
	}{
		{"neither has left", false, false, 1},
		{"the second has arrived", false, true, 1},
		{"the first has arrived", true, false, 1},
		{"the first has arrived, the second was refused", true, true, 1},
		{"the first has arrived, the second has looked", true, true, 2},
		{"both have arrived", true, true, 3},
	} {
		for m, then := range []struct {
			name string
			do   step
			want string
			left int
		}{
			{"moved on", move("2027-01-28", "14:00"), woundChanged, 1},
			{"moved back", move("2027-01-27", "09:00"), woundChanged, 1},
			{"called off", callOff, woundRemoved, 0},
		} {
			if (underRace || testing.Short()) && n%3 != m {
				continue
			}
			t.Run(c.name+"/"+then.name, func(t *testing.T) {
				s := share(t, server)
				id := admit(t, s.keeper, s.ida, "fenwick")
				s.book(id, graft.WoundCheck, "2027-01-26", "10:00")
				s.publish()
				move("2027-01-27", "09:00")(s, id)
				first := s.cutAt(1, c.first)
				move("2027-01-28", "09:00")(s, id)
				if second := s.cutAt(c.at, c.second); !first || !second {
					t.Fatalf("cut %t and %t", first, second)
				}
				s.wantNothingPulled()
				then.do(s, id)
				s.wantFinished(id, then.want, nil, then.left)
			})
		}
	}
}

// TestRunAfterRunIsCutOff lets the ledger move a visit, call it off and book it again as
// it comes, and cuts run after run at any of its requests, with looks of pull between.
// As long as nobody else is there nobody is said to have changed anything, and a run
// that is not cut ends it all. What somebody writes into the entry before that run is
// kept and told.
func TestRunAfterRunIsCutOff(t *testing.T) {
	t.Parallel()
	const seed = 20270120
	histories := 40
	if testing.Short() || underRace {
		histories = 12
	}
	server := radicale.Start(t)
	random := rand.New(rand.NewPCG(seed, 1))
	cuts, edits := 0, 0
	for n := range histories {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			s := share(t, server)
			id := admit(t, s.keeper, s.ida, "fenwick")
			s.book(id, graft.WoundCheck, "2027-01-26", "10:00")
			if random.IntN(2) == 0 {
				s.publish()
			}
			cuts += s.cutAgainAndAgain(id, random)
			if random.IntN(3) == 0 && len(s.calendar()) > 0 {
				edits++
				s.wantKept(id)
				return
			}
			for _, d := range s.publish() {
				if d.Did == desk.Keeps {
					t.Errorf("%s: %s", d.Milestone, d.Why)
				}
			}
			s.wantWhole(s.booked(id))
		})
	}
	t.Logf("seed %d: %d runs cut, %d edits", seed, cuts, edits)
}

// cutAgainAndAgain changes the ledger and cuts the run that follows, several times, and
// returns how many runs were cut.
func (s *sharing) cutAgainAndAgain(id graft.CaseID, random *rand.Rand) (cuts int) {
	s.Helper()
	const most, requests = 5, 3 // a write that is refused, a look, another write
	for range 2 + random.IntN(most) {
		s.turn(id, random)
		if s.cutAt(1+random.IntN(requests), random.IntN(2) == 0) {
			cuts++
		}
		if random.IntN(3) == 0 {
			s.wantNothingPulled()
		}
	}
	s.turn(id, random)
	return cuts
}

// turn books the wound check, moves it or calls it off, or leaves it.
func (s *sharing) turn(id graft.CaseID, random *rand.Rand) {
	s.Helper()
	day, clock := fmt.Sprint("2027-01-", 26+random.IntN(3)), []string{"09:00", "10:00"}[random.IntN(2)]
	var err error
	switch {
	case random.IntN(4) == 0:
	case s.booked(id) == 0:
		_, _, err = s.keeper.Book(s.ida, id, wound(), at(day, clock), "")
	case random.IntN(3) == 0:
		_, _, err = s.keeper.Cancel(s.ida, id, wound(), "")
	default:
		_, _, err = s.keeper.Move(s.ida, id, wound(), at(day, clock), "")
	}
	var refusal *graft.Refusal
	if err != nil && !errors.As(err, &refusal) { // it is there already
		s.Fatal(err)
	}
}

// wantKept has somebody write into the one entry there is, and wants that kept and
// told until it is put back.
func (s *sharing) wantKept(id graft.CaseID) {
	s.Helper()
	for path, o := range s.calendar() {
		if _, err := s.other.Put(s.Context(), path, o.ETag, []byte(text("SUMMARY:HR-2041", "SUMMARY:rang: HR-2041")(string(o.Data)))); err != nil {
			s.Fatal(err)
		}
	}
	before, want := s.calendar(), ""
	if dry, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At, true); err != nil || len(dry) > 0 {
		want = woundEdited // else nothing is to be written, and nobody looks
	}
	s.wantTold(s.publish(), want)
	if diff := cmp.Diff(before, s.calendar()); diff != "" {
		s.Errorf("written over (-before +after):\n%s", diff)
	}
	pulled := s.pull()
	if len(pulled) != 1 {
		s.Fatalf("pulled %+v", pulled)
	}
	s.putBack(pulled[0])
	s.wantWhole(s.booked(id))
}
