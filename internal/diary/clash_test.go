package diary_test

import (
	"slices"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// beyond is how far windows go on in these tests.
const beyond = 8

// relaxed looks for days that break nothing of a set of constraints, by trying all.
type relaxed struct {
	*brute
	of  []graft.MilestoneID
	set map[[2]string]bool
}

func (x *relaxed) possible() bool {
	for _, m := range x.r.Milestones {
		if _, done := x.things[m.ID]; done || !slices.Contains(x.of, m.ID) || !x.ready(m) {
			continue
		}
		w, floor := x.window(m)
		ok := false
		if booked, is := x.r.Booked[m.ID]; is && x.mayStay(m, booked, w, floor) {
			x.things[m.ID] = thing{booked.Day, true, w, floor}
			ok = x.possible()
		}
		for _, d := range x.days(m, w) {
			if ok {
				break
			}
			x.things[m.ID] = thing{d, false, w, floor}
			ok = x.possible()
		}
		delete(x.things, m.ID)
		return ok
	}
	return x.timesFound()
}

func (x *relaxed) days(m graft.Milestone, w graft.Window) []day.Day {
	var days []day.Day
	for d := w.Earliest; !d.After(day.Max(w.Latest, x.r.On.Add(x.r.Overdue)).AddDays(beyond)); d = d.AddDays(1) {
		broken, may := x.broken(m, w, d)
		if may && !slices.ContainsFunc(broken, func(what string) bool { return x.set[[2]string{string(m.ID), what}] }) {
			days = append(days, d)
		}
	}
	return days
}

// broken lists what a day of a milestone breaks; may is false where no set allows
// it.
func (x *relaxed) broken(m graft.Milestone, w graft.Window, d day.Day) (what []string, may bool) {
	passed := w.Latest.Before(x.r.On)
	first, last := w.Earliest, w.Latest
	switch forward := m.Shift != graft.Nearest && m.Shift != graft.Earlier; {
	case passed && x.r.Overdue != (day.Period{}):
		first, last = x.r.On, x.r.On.Add(x.r.Overdue)
	case forward:
		first = w.Target
	}
	if d.Before(first) || d.After(last.AddDays(beyond)) {
		return nil, false
	}
	if d.After(last) {
		what = append(what, "end")
	}
	if d.Before(x.r.On) && !passed {
		what = append(what, "planning")
	}
	for _, away := range x.r.Unavailable {
		if m.Visit != "" && away.Contains(d) {
			what = append(what, "away")
		}
	}
	obstacles := x.obstacles(m, d)
	what = append(what, obstacles...)
	if m.Surgical && x.r.Closure > 0 && x.c.ClosedRunAfter(d) >= x.r.Closure {
		what = append(what, "closure")
	}
	timed := m.Visit != "" && x.c.Visits[m.Visit].Minutes > 0 && !d.Before(x.r.On) && (!passed || x.r.Overdue != (day.Period{}))
	if timed && len(obstacles) == 0 && len(x.slots(m, d)) == 0 {
		what = append(what, "time")
	}
	return what, true
}

func (x *relaxed) obstacles(m graft.Milestone, d day.Day) []string {
	if m.Visit != "" {
		return x.c.Obstacles(d, m.Visit, "")
	}
	return x.c.Obstacles(d, "", m.Role)
}

// timesFound reports whether the visits whose time is enforced find theirs.
func (x *relaxed) timesFound() bool {
	visits := map[day.Day][]graft.Milestone{}
	for _, m := range x.r.Milestones {
		t, ok := x.things[m.ID]
		if ok && x.comes(m, t) && (t.stays || x.set[[2]string{string(m.ID), "time"}] && len(x.obstacles(m, t.day)) == 0) {
			visits[t.day] = append(visits[t.day], m)
		}
	}
	for _, on := range visits {
		if !x.timed(on, nil) {
			return false
		}
	}
	return true
}

func (x *relaxed) try(set [][2]string) bool {
	x.set = map[[2]string]bool{}
	for _, c := range set {
		x.set[c] = true
	}
	return x.possible()
}

// subsets calls f with every subset of a size until it returns false.
func subsets(all [][2]string, size int, have [][2]string, f func([][2]string) bool) bool {
	if size == 0 {
		return f(have)
	}
	for i := range all {
		if !subsets(all[i+1:], size-1, append(slices.Clone(have), all[i]), f) {
			return false
		}
	}
	return true
}

// constraints lists all that can stand in the way of anything.
func (x *relaxed) constraints() [][2]string {
	var all [][2]string
	for _, id := range x.of {
		m := x.r.Milestones[slices.IndexFunc(x.r.Milestones, func(m graft.Milestone) bool { return m.ID == id })]
		names := []string{"end", "planning"}
		if m.Visit != "" {
			names = append(names, "time")
		}
		wide := graft.Window{Earliest: x.r.On.AddDays(-9), Target: x.r.On.AddDays(-9), Latest: x.r.On.AddDays(40)}
		for d := wide.Earliest; !d.After(wide.Latest); d = d.AddDays(1) {
			broken, _ := x.broken(m, wide, d)
			for _, what := range broken {
				if !slices.Contains(names, what) {
					names = append(names, what)
				}
			}
		}
		for _, what := range names {
			all = append(all, [2]string{string(id), what})
		}
	}
	return all
}

func TestSmallestConflictEqualsBruteForce(t *testing.T) {
	sizes := map[int]int{}
	for seed := range uint64(cases(t) / 2) {
		s := someSmall(seed)
		if len(s.r.Milestones) > 3 {
			continue
		}
		b := bruteForce(s.r, s.c, s.taken)
		if b.best[0] == 0 {
			continue
		}
		x := &relaxed{brute: &brute{r: s.r, c: s.c, taken: s.taken, things: map[graft.MilestoneID]thing{}}}
		x.fixed()
		for _, m := range s.r.Milestones {
			if _, done := x.things[m.ID]; !done {
				x.of = append(x.of, m.ID)
			}
		}
		set, sure := diary.Clash(s.r, s.c, x.of, beyond)
		sizes[len(set)]++
		if !sure || x.try(set) {
			t.Fatalf("seed %d: %v is no conflict, or not sure (%v)", seed, set, sure)
		}
		all := x.constraints()
		if size := len(set) - 1; size > 3 || size > 2 && len(all) > 18 {
			for range 300 {
				s.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
				if !x.try(all[:min(size, len(all))]) {
					t.Fatalf("seed %d: %v, but %v is smaller", seed, set, all[:size])
				}
			}
			continue
		}
		if !subsets(all, len(set)-1, nil, func(smaller [][2]string) bool {
			if x.try(smaller) {
				return true
			}
			t.Errorf("seed %d: %v, but %v is smaller", seed, set, smaller)
			return false
		}) {
			return
		}
	}
	t.Log(sizes)
}
