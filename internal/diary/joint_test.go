package diary_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// small draws a case that brute force can try out, with all that a plan knows.
type small struct {
	*rand.Rand
	r     diary.Request
	c     practice
	taken []diary.Taken
}

func someSmall(seed uint64) small {
	s := small{Rand: rand.New(rand.NewPCG(seed, 1))}
	s.r = diary.Request{Case: "HR-1", On: on("2027-03-01"), Closure: s.IntN(4), FirmWithin: day.Period{Days: 7}}
	s.r.Surgery = s.r.On.AddDays(s.IntN(14) - 10)
	s.clinic()
	s.milestones()
	s.bookings()
	if s.one(4) {
		away := s.r.On.AddDays(s.IntN(15))
		s.r.Unavailable = []day.Span{{From: away, To: away.AddDays(s.IntN(4))}}
	}
	if s.one(3) {
		s.r.Overdue = day.Period{Days: 1 + s.IntN(4)}
		s.r.OverdueWait = day.Period{Days: s.IntN(3)}
	}
	s.r.Book = diary.NewBook(s.taken)
	return s
}

func (s *small) one(in int) bool { return s.IntN(in) == 0 }

// someDay is one of the days about which the case turns.
func (s *small) someDay() day.Day { return s.r.On.AddDays(s.IntN(24) - 4) }

func (s *small) clinic() {
	s.c = practice{Grid: 30, Staff: map[string][]string{"surgeon": {"Q"}, "nurse": {"T", "U"}, "theatre": {"R1"}, "chair": {"R1", "R2"}},
		Visits: map[string]treatment{"check": {30, "chair", "nurse"}, "operation": {60, "theatre", "surgeon"}, "talk": {30, "", "surgeon"}, "long": {90, "chair", ""}, "drop in": {0, "", "nurse"}},
		Shut:   map[day.Day]string{}, Short: map[day.Day]bool{}, Out: map[day.Day][]string{},
		Hours: []day.Hours{{From: 480, To: 570}, {From: 600, To: 660}}}
	for d := s.r.On.AddDays(-10); d.Before(s.r.On.AddDays(40)); d = d.AddDays(1) {
		switch {
		case d.Weekday() == 0:
			s.c.Shut[d] = "closed on Sundays"
		case s.one(6):
			s.c.Shut[d] = "closed: refit"
		case s.one(5):
			s.c.Short[d] = true
		}
		for _, name := range []string{"Q", "T", "R1", "R2"} {
			if s.one(8) {
				s.c.Out[d] = append(s.c.Out[d], name)
			}
		}
	}
	for range s.IntN(30) {
		t := graft.Slot{Day: s.someDay(), Start: day.Clock(480 + 15*s.IntN(12)), Minutes: 15 * (1 + s.IntN(6))}
		t.Room = []string{"R1", "R2", ""}[s.IntN(3)]
		t.Person = []string{"Q", "T", "U", ""}[s.IntN(4)]
		s.taken = append(s.taken, diary.Taken{Slot: t, Case: []graft.CaseID{"HR-2", "", "HR-1"}[s.IntN(3)], Says: "HR-2"})
	}
}

func (s *small) milestones() {
	from := []graft.MilestoneID{graft.SurgeryDay, graft.SurgeryDay}
	for n := range 1 + s.IntN(5) {
		m := graft.Milestone{ID: graft.MilestoneID(fmt.Sprintf("m%d", n)), Step: graft.Recall}
		m.Shift = []graft.Shift{graft.OnlyLater, graft.Afterwards, graft.Earlier, graft.Nearest}[s.IntN(4)]
		m.Visit = []string{"check", "check", "operation", "talk", "long", "", "drop in"}[s.IntN(7)]
		if m.Visit == "" && s.one(2) {
			m.Role = "surgeon"
		}
		m.Surgical = s.one(4)
		for k := range 1 + s.IntN(2) {
			at := s.IntN(10) - 3
			if len(from) > 2 && s.one(2) {
				at = s.IntN(4)
			}
			w := days(from[s.IntN(len(from))], at, at+s.IntN(2), at+s.IntN(3), at+s.IntN(5))
			w.FloorOnly = k > 0 && s.one(2)
			w.Hard = s.one(4)
			m.Waits = append(m.Waits, w)
		}
		if s.one(10) {
			m.Attended = s.r.On.AddDays(s.IntN(8) - 7)
		}
		if s.one(8) {
			if s.r.Overrides == nil {
				s.r.Overrides = map[graft.MilestoneID]graft.Override{}
			}
			s.r.Overrides[m.ID] = graft.Override{Day: s.someDay(), By: "Dr Alba Quill", On: s.r.On, Why: "asked"}
		}
		s.r.Milestones = append(s.r.Milestones, m)
		from = append(from, m.ID)
	}
	s.Shuffle(len(s.r.Milestones), func(i, j int) {
		s.r.Milestones[i], s.r.Milestones[j] = s.r.Milestones[j], s.r.Milestones[i]
	})
}

func (s *small) bookings() {
	s.r.Booked = map[graft.MilestoneID]diary.Booked{}
	for _, m := range s.r.Milestones {
		if m.Visit == "" || !m.Attended.IsZero() || !s.one(4) {
			continue
		}
		v := s.c.Visits[m.Visit]
		b := diary.Booked{Slot: graft.Slot{Day: s.someDay(), Start: day.Clock(480 + 30*s.IntN(6)), Minutes: v.Minutes}}
		if names := s.c.Staff[v.Room]; len(names) > 0 {
			b.Room = names[s.IntN(len(names))]
		}
		if names := s.c.Staff[v.Role]; len(names) > 0 {
			b.Person = names[s.IntN(len(names))]
		}
		first := b.Day.AddDays(s.IntN(7) - 4)
		b.Window = graft.Window{NotBefore: first, Earliest: first, Target: first, Latest: first.AddDays(s.IntN(5))}
		s.r.Booked[m.ID] = b
	}
}

// priceOf works out what a returned plan costs, and fails if it breaks anything.
func priceOf(t *testing.T, s small, p diary.Plan) price {
	b := &brute{r: s.r, c: s.c, taken: s.taken, things: map[graft.MilestoneID]thing{}}
	b.fixed()
	for range p.Milestones {
		for _, m := range p.Milestones {
			if _, done := b.things[m.ID]; done || !b.ready(m) {
				continue
			}
			var ok bool
			for _, way := range b.ways(m) {
				if way.day == m.Placed && way.stays == m.Booked {
					b.things[m.ID], ok = way, true
					if m.Window != way.window || m.Floor != way.floor {
						t.Errorf("%s: window %v, floor %s; want %v, %s", m.ID, m.Window, m.Floor, way.window, way.floor)
					}
				}
			}
			if !ok {
				t.Errorf("%s may not have %s, booked %v", m.ID, m.Placed, m.Booked)
				b.things[m.ID] = thing{}
			}
		}
	}
	checkSlots(t, b, p)
	return b.price()
}

// tripsIn counts the days on which the patient comes.
func tripsIn(r diary.Request, p diary.Plan) int {
	trips := map[day.Day]bool{}
	for _, m := range p.Milestones {
		if m.Visit != "" && m.Attended.IsZero() && !m.Placed.IsZero() && !m.Placed.Before(r.On) {
			trips[m.Placed] = true
		}
	}
	return len(trips)
}

func checkSlots(t *testing.T, b *brute, p diary.Plan) {
	var have []graft.Slot
	for _, m := range p.Milestones {
		booked := b.r.Booked[m.ID]
		if !b.comes(m, b.things[m.ID]) {
			if past := m.Placed == booked.Day; m.Slot != (graft.Slot{}) && !past {
				t.Errorf("%s on %s has the slot %v", m.ID, m.Placed, m.Slot)
			}
			continue
		}
		if b.c.Visits[m.Visit].Minutes == 0 && !m.Booked {
			if m.Slot != (graft.Slot{Day: m.Placed}) {
				t.Errorf("%s takes no time but has %v", m.ID, m.Slot)
			}
			continue
		}
		if m.Slot.Day != m.Placed || m.Booked && m.Slot != booked.Slot || !b.slotFits(m, m.Slot, true) || m.Slot.Minutes > 0 && slices.ContainsFunc(have, m.Slot.Overlaps) {
			t.Errorf("%s on %s, booked %v: slot %v beside %v", m.ID, m.Placed, m.Booked, m.Slot, have)
		}
		if m.Slot.Minutes > 0 {
			have = append(have, m.Slot)
		}
	}
}

func TestJointPlanEqualsBruteForce(t *testing.T) {
	var kinds [5]int
	followers := 0
	for seed := range uint64(cases(t)) {
		s := someSmall(seed)
		got := diary.PlaceAll(s.r, s.c)
		main, after := s.parted()
		want := bruteForce(main.r, s.c, s.taken)
		placed := got
		placed.Milestones = only(got.Milestones, main.r.Milestones)
		if p := priceOf(t, main, placed); p != want.best || got.Trips != tripsIn(main.r, placed) || got.Distance != p[3] {
			t.Errorf("seed %d: got %v (says %d trips, %d days), want %v", seed, p, got.Trips, got.Distance, want.best)
		}
		wantFollowers(t, s, got, after)
		followers += len(after)
		for i, n := range want.best[:3] {
			if n > 0 {
				kinds[i]++
			}
		}
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
	t.Log(kinds, followers)
}

// parted is the case without the steps that bring nobody in and from which none
// of the others counts, and those steps, found from the far end.
func (s small) parted() (main small, after []graft.Milestone) {
	main = s
	for changed := true; changed; {
		changed = false
		for n, m := range main.r.Milestones {
			counts := func(o graft.Milestone) bool {
				return slices.ContainsFunc(o.Waits, func(w graft.Wait) bool { return w.From == m.ID })
			}
			if m.Visit == "" && !slices.ContainsFunc(main.r.Milestones, counts) {
				after = append(after, m)
				main.r.Milestones = slices.Delete(slices.Clone(main.r.Milestones), n, n+1)
				changed = true
				break
			}
		}
	}
	return main, after
}

// only returns the milestones of a plan that are among others.
func only(placed, among []graft.Milestone) []graft.Milestone {
	var list []graft.Milestone
	for _, m := range placed {
		if slices.ContainsFunc(among, func(o graft.Milestone) bool { return o.ID == m.ID }) {
			list = append(list, m)
		}
	}
	return list
}

// wantFollowers wants each step that follows where brute force puts them all when
// the others stand on the days they were given.
func wantFollowers(t *testing.T, s small, got diary.Plan, after []graft.Milestone) {
	t.Helper()
	rest := s
	rest.r.Milestones = slices.Clone(after)
	for _, m := range only(got.Milestones, s.r.Milestones) {
		if !m.Placed.IsZero() && !slices.ContainsFunc(after, func(o graft.Milestone) bool { return o.ID == m.ID }) {
			m.Attended = m.Placed
			rest.r.Milestones = append(rest.r.Milestones, m)
		}
	}
	// A step that counts from one that is not there is not decided by brute force.
	for changed := true; changed; {
		changed = false
		for n, m := range rest.r.Milestones {
			if m.Attended.IsZero() && slices.ContainsFunc(m.Waits, func(w graft.Wait) bool {
				return w.From != graft.SurgeryDay && !slices.ContainsFunc(rest.r.Milestones, func(o graft.Milestone) bool { return o.ID == w.From })
			}) {
				rest.r.Milestones = slices.Delete(rest.r.Milestones, n, n+1)
				changed = true
				break
			}
		}
	}
	want := bruteForce(rest.r, s.c, s.taken)
	placed := got
	placed.Milestones = only(got.Milestones, rest.r.Milestones)
	for n, m := range placed.Milestones {
		if slices.ContainsFunc(rest.r.Milestones, func(o graft.Milestone) bool { return o.ID == m.ID && !o.Attended.IsZero() }) {
			placed.Milestones[n].Attended, placed.Milestones[n].Slot = m.Placed, graft.Slot{}
		}
	}
	if p := priceOf(t, rest, placed); p != want.best {
		t.Errorf("what follows costs %v, want %v", p, want.best)
	}
}

func cases(t *testing.T) int {
	if testing.Short() {
		return 500
	}
	return 4000
}
