package diary_test

import (
	"maps"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// openTo is a request in which one milestone is not booked.
func openTo(r diary.Request, id graft.MilestoneID) diary.Request {
	r.Booked = maps.Clone(r.Booked)
	delete(r.Booked, id)
	return r
}

// startsBeside lists the starts of a visit beside the patient's other bookings.
func startsBeside(b *brute, m graft.Milestone, d day.Day) []day.Clock {
	if b.dayWrong(m, d) {
		return nil
	}
	if b.c.Visits[m.Visit].Minutes == 0 {
		return []day.Clock{0}
	}
	var starts []day.Clock
	for _, s := range b.slots(m, d) {
		ok := true
		for id, other := range b.r.Booked {
			i := slices.IndexFunc(b.r.Milestones, func(m graft.Milestone) bool { return m.ID == id })
			ok = ok && !(b.r.Milestones[i].Attended.IsZero() && other.Overlaps(s))
		}
		if ok {
			starts = append(starts, s.Start)
		}
	}
	return starts
}

func TestOffersEqualBruteForce(t *testing.T) {
	offered, broken := 0, 0
	for seed := range uint64(cases(t) / 2) {
		s := someSmall(seed)
		if len(s.r.Milestones) > 4 {
			continue
		}
		m := s.r.Milestones[s.IntN(len(s.r.Milestones))]
		if m.Visit == "" {
			continue
		}
		asked := day.Span{From: s.r.On.AddDays(s.IntN(4) - 2), To: s.r.On.AddDays(s.IntN(14))}
		if s.one(2) {
			asked = day.Span{}
		}
		offers, err := diary.Slots(s.r, s.c, m.ID, asked, 0)
		if err != nil {
			t.Fatal(err)
		}
		const most = 2
		few, err := diary.Slots(s.r, s.c, m.ID, asked, most)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(offers[:min(most, len(offers))], few, cmp.AllowUnexported(day.Day{}), cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("seed %d: the best %d are others when only they are asked for\n%s", seed, most, diff)
		}
		main, _ := s.parted()
		r := openTo(main.r, m.ID)
		plan := diary.PlaceAll(r, s.c)
		planned := find(t, plan.Milestones, m.ID)
		b := &brute{r: r, c: s.c, taken: s.taken}
		var want []day.Day
		w := planned.Window
		first, last := day.Max(w.Earliest, r.On), w.Latest
		if last.Before(r.On) && r.Overdue != (day.Period{}) {
			first, last = r.On, r.On.Add(r.Overdue)
		}
		span := day.Span{From: first, To: last}
		if !asked.From.IsZero() {
			span = day.Span{From: day.Max(asked.From, r.On), To: asked.To}
		}
		for d := span.From; !d.After(span.To) && m.Attended.IsZero() && w != (graft.Window{}); d = d.AddDays(1) {
			if len(startsBeside(b, m, d)) > 0 {
				want = append(want, d)
			}
		}
		var got []day.Day
		var before []int
		for _, o := range offers {
			offered++
			got = append(got, o.Day)
			outside := max(0, first.Sub(o.Day), o.Day.Sub(last))
			held := bruteHeld(r, s.c, s.taken, m.ID, o.Day, outside == 0)
			if !slices.Contains(held.trips, o.Trips) || held.best[3] != o.Distance {
				t.Fatalf("seed %d: %s on %s: %d trips, %d days; want %v", seed, m.ID, o.Day, o.Trips, o.Distance, held.best)
			}
			if len(o.Breaks) > 0 {
				broken++
			}
			if o.Inside != (outside == 0) || o.BeforeGate != o.Day.Before(w.NotBefore) || o.BelowFloor != o.Day.Before(planned.Floor) {
				t.Fatalf("seed %d: %+v in %v, floor %s", seed, o, w, planned.Floor)
			}
			rank := []int{truth(o.BelowFloor), truth(o.BeforeGate), outside}
			if outside == 0 {
				rank = append(rank, held.best[:4]...)
			}
			rank = append(rank, o.Day.Sub(r.On))
			if before != nil && slices.Compare(before, rank) >= 0 {
				t.Fatalf("seed %d: %v is offered before %v", seed, before, rank)
			}
			before = rank
			if diff := cmp.Diff(startsBeside(b, m, o.Day), o.Starts); diff != "" || o.Start != o.Starts[0] {
				t.Fatalf("seed %d: %s\n%s", seed, o.Day, diff)
			}
			if o.Minutes > 0 && !b.slotFits(m, o.Slot, true) {
				t.Fatalf("seed %d: %v cannot be had", seed, o.Slot)
			}
		}
		slices.SortFunc(got, func(a, b day.Day) int { return a.Sub(b) })
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(day.Day{})); diff != "" {
			t.Fatalf("seed %d: %s of %v in %v\n%s", seed, m.ID, s.r.Milestones, span, diff)
		}
	}
	t.Log(offered, broken)
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}
