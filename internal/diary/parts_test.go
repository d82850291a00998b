package diary_test

import (
	"slices"
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// TestAPlanPutTogetherBreaksNothing holds plans that did not try everything against
// brute force: they break nothing, and are no better than the best.
func TestAPlanPutTogetherBreaksNothing(t *testing.T) {
	best, placed, all := 0, 0, cases(t)
	for seed := range uint64(all) {
		s, _ := someSmall(seed).parted()
		p := diary.InParts(s.r, s.c)
		got := priceOf(t, s, p)
		want := bruteForce(s.r, s.c, s.taken).best
		if slices.Compare(got[:], want[:]) < 0 || p.Trips != tripsIn(s.r, p) || p.Distance != got[3] {
			t.Errorf("seed %d: %v, says %d trips, %d days; the best is %v", seed, got, p.Trips, p.Distance, want)
		}
		if !p.Untried && got != want {
			t.Errorf("seed %d: nothing says that a better plan may exist", seed)
		}
		if got[0] == want[0] {
			placed++
		}
		if got == want {
			best++
		}
	}
	t.Logf("of %d plans %d are the best there is, %d place as many steps", all, best, placed)
}

// TestAPlanStepByStepBreaksNothing: a part that is too much is no step without a day.
func TestAPlanStepByStepBreaksNothing(t *testing.T) {
	placed, all := 0, cases(t)/2
	for seed := range uint64(all) {
		s, _ := someSmall(seed).parted()
		got := priceOf(t, s, diary.StepByStep(s.r, s.c))
		want := bruteForce(s.r, s.c, s.taken).best
		if slices.Compare(got[:], want[:]) < 0 {
			t.Errorf("seed %d: %v is better than the best, %v", seed, got, want)
		}
		if got[0] == want[0] {
			placed++
		}
	}
	t.Logf("%d of %d plans leave no more steps without a day than there must be", placed, all)
	if 10*placed < 9*all {
		t.Error("too few")
	}
}

// TestCloseOffersAreOffersToo holds offers that did not try everything against brute
// force: they are the same days, none better than it is, by the same ranks.
func TestCloseOffersAreOffersToo(t *testing.T) {
	for name, slots := range map[string]func(diary.Request, diary.Clinic, graft.MilestoneID, day.Span) ([]diary.Offer, error){"own part": diary.CloseSlots, "step by step": diary.SlotsStepByStep} {
		t.Run(name, func(t *testing.T) { closeOffers(t, slots) })
	}
}

func closeOffers(t *testing.T, slots func(diary.Request, diary.Clinic, graft.MilestoneID, day.Span) ([]diary.Offer, error)) {
	offered, best := 0, 0
	for seed := range uint64(cases(t) / 4) {
		s, _ := someSmall(seed).parted()
		if len(s.r.Milestones) > 4 || len(s.r.Milestones) == 0 {
			continue
		}
		m := s.r.Milestones[s.IntN(len(s.r.Milestones))]
		if m.Visit == "" {
			continue
		}
		exact, err := diary.Slots(s.r, s.c, m.ID, day.Span{}, 0)
		if err != nil {
			t.Fatal(err)
		}
		whole := len(diary.PlaceAll(openTo(s.r, m.ID), s.c).Unplaced) == 0 // else less may be counted
		near, err := slots(s.r, s.c, m.ID, day.Span{})
		if err != nil {
			t.Fatal(err)
		}
		if len(near) != len(exact) {
			t.Errorf("seed %d: %d days are offered, want %d", seed, len(near), len(exact))
		}
		for _, o := range near {
			offered++
			n := slices.IndexFunc(exact, func(e diary.Offer) bool { return e.Day == o.Day })
			if n < 0 {
				t.Errorf("seed %d: %s is not offered when everything is tried", seed, o.Day)
				continue
			}
			e := exact[n]
			if whole && len(o.Breaks) <= len(e.Breaks) && slices.Compare([]int{o.Trips, o.Distance}, []int{e.Trips, e.Distance}) < 0 {
				t.Errorf("seed %d: %s costs %d trips, %d days; it cannot be less than %d and %d", seed, o.Day, o.Trips, o.Distance, e.Trips, e.Distance)
			}
			if !slices.Equal(o.Starts, e.Starts) || o.Inside != e.Inside || o.BeforeGate != e.BeforeGate || o.BelowFloor != e.BelowFloor {
				t.Errorf("seed %d: %+v, want %+v", seed, o, e)
			}
			if o.Trips == e.Trips && o.Distance == e.Distance {
				best++
			}
		}
	}
	t.Logf("%d offers, %d of them priced as when everything is tried", offered, best)
}

// threeSides are three restorations of one surgery, two of them side by side.
func threeSides() diary.Request {
	r := bothSides()
	r.Milestones = append(r.Milestones, another(" back", 54)...)
	return r
}

// TestTheWorkIsBounded has a case of three restorations planned and its last recall
// offered, and one of two of which a recall of each has a window that is open for three
// years: neither takes more states, or tries more days, than it may.
func TestTheWorkIsBounded(t *testing.T) {
	c := quayside(t)
	book := diary.NewBook(filled(c, []post{{"Dr Ione Marrow", "Surgery 1", 90}, {"Nurse Ash Pell", "", 30}}, 80, span("2027-02-01..2030-12-31")))
	three, open := threeSides(), bothSides()
	for n, m := range open.Milestones {
		if from := strings.Replace(string(m.ID), "recall 24 months", "first-loading", 1); from != string(m.ID) {
			open.Milestones[n].Waits = []graft.Wait{days(graft.MilestoneID(from), -400, -400, -400, 760)}
		}
	}
	for _, tc := range []struct {
		name string
		r    diary.Request
		id   graft.MilestoneID
	}{{"three restorations", three, "recall 12 months left"}, {"open for years", open, "recall 3 months"}, {"open for years itself", open, "recall 24 months"}} {
		t.Run(tc.name, func(t *testing.T) {
			tc.r.Book = book
			plan, offers, days := diary.Explored(tc.r, c, tc.id)
			t.Logf("%d states for the plan, %d for the offers, %d days", plan, offers, days)
			if most := 250_000; plan > most || offers > most || days > 20*most {
				t.Errorf("more than %d states or %d days", most, 20*most)
			}
			list, err := diary.Slots(tc.r, c, tc.id, day.Span{}, 5)
			if err != nil || len(list) != 5 {
				t.Errorf("%d offers, %v", len(list), err)
			}
			p := diary.PlaceAll(tc.r, c)
			if t.Logf("%d trips, %d days from the targets", p.Trips, p.Distance); !p.Untried || len(p.Unplaced) > 0 {
				t.Error(p.Untried, p.Unplaced)
			}
		})
	}
}
