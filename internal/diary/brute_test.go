package diary_test

import (
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// price is what a plan costs, point by point.
type price [5]int // without a day, moved, trips, distance, sum of days

// thing is what a plan does with one milestone.
type thing struct {
	day    day.Day // no day: none
	stays  bool
	window graft.Window
	floor  day.Day
}

// brute tries every plan of a small case, from the description of a plan alone.
type brute struct {
	r       diary.Request
	c       practice
	taken   []diary.Taken
	best    price
	trips   []int // of the best plans
	found   bool
	things  map[graft.MilestoneID]thing
	optimum map[graft.MilestoneID]thing
	pin     graft.MilestoneID // held on one day
	pinDay  day.Day
	waits   int  // what overdue visits wait, of the plan that is priced, in trips
	within  bool // it is held there only in plans in which that day lies in its window
}

func bruteForce(r diary.Request, c practice, taken []diary.Taken) *brute {
	return bruteHeld(r, c, taken, "", day.Day{}, false)
}

func bruteHeld(r diary.Request, c practice, taken []diary.Taken, pin graft.MilestoneID, pinDay day.Day, within bool) *brute {
	b := &brute{r: r, c: c, taken: taken, things: map[graft.MilestoneID]thing{}, pin: pin, pinDay: pinDay, within: within}
	b.fixed()
	b.next()
	return b
}

func (b *brute) fixed() {
	b.things[graft.SurgeryDay] = thing{day: b.r.Surgery}
	for _, m := range b.r.Milestones {
		if booked, ok := b.r.Booked[m.ID]; !m.Attended.IsZero() {
			b.things[m.ID] = thing{day: m.Attended}
		} else if ok && booked.Day.Before(b.r.On) {
			b.things[m.ID] = thing{day: booked.Day}
		}
	}
}

// next decides one more milestone in every possible way.
func (b *brute) next() {
	for _, m := range b.r.Milestones {
		if _, done := b.things[m.ID]; done || !b.ready(m) {
			continue
		}
		for _, t := range b.ways(m) {
			b.things[m.ID] = t
			b.next()
		}
		delete(b.things, m.ID)
		return
	}
	b.weigh()
}

func (b *brute) ready(m graft.Milestone) bool {
	for _, w := range m.Waits {
		if _, done := b.things[w.From]; !done {
			return false
		}
	}
	return true
}

func (b *brute) ways(m graft.Milestone) []thing {
	for _, w := range m.Waits {
		if b.things[w.From].day.IsZero() {
			return []thing{{}}
		}
	}
	w, floor := b.window(m)
	ways := []thing{{window: w, floor: floor}}
	if m.ID == b.pin {
		if b.within && !b.asked(w).Contains(b.pinDay) {
			return nil
		}
		return []thing{{b.pinDay, false, w, floor}}
	}
	if booked, ok := b.r.Booked[m.ID]; ok && b.mayStay(m, booked, w, floor) {
		ways = append(ways, thing{booked.Day, true, w, floor})
	}
	for d := w.Earliest.AddDays(-3); !d.After(day.Max(w.Latest, b.r.On.Add(b.r.Overdue))); d = d.AddDays(1) {
		if _, may := b.distance(m, w, d); may && b.fits(m, d) {
			ways = append(ways, thing{d, false, w, floor})
		}
	}
	return ways
}

// asked is between which days a visit of a window can be asked for.
func (b *brute) asked(w graft.Window) day.Span {
	if w.Latest.Before(b.r.On) && b.r.Overdue != (day.Period{}) {
		return day.Span{From: b.r.On, To: b.r.On.Add(b.r.Overdue)}
	}
	return day.Span{From: day.Max(w.Earliest, b.r.On), To: w.Latest}
}

// window is the slow diary's, with the surgeon's own day.
func (b *brute) window(m graft.Milestone) (graft.Window, day.Day) {
	known := map[graft.MilestoneID]outcome{}
	for id, t := range b.things {
		known[id] = outcome{Placed: t.day}
	}
	s := slow{r: b.r, known: known}
	w := s.window(m)
	var floor day.Day
	for _, wait := range m.Waits {
		if d := b.things[wait.From].day.Add(wait.NotBefore); wait.Hard && d.After(floor) {
			floor = d
		}
	}
	if o, ok := b.r.Overrides[m.ID]; ok {
		d := o.Day
		if d.Before(floor) {
			d = floor
		}
		latest := d
		for n := w.Target; n.Before(w.Latest); n = n.AddDays(1) {
			latest = latest.AddDays(1)
		}
		w = graft.Window{NotBefore: d, Earliest: d, Target: d, Latest: latest}
	}
	return w, floor
}

func (b *brute) mayStay(m graft.Milestone, booked diary.Booked, w graft.Window, floor day.Day) bool {
	d := booked.Day
	if d.Before(floor) || b.dayWrong(m, d) || !b.slotFits(m, booked.Slot, true) {
		return false
	}
	if d.Before(w.NotBefore) && w.NotBefore.After(booked.Window.NotBefore) {
		return false
	}
	overdue := b.r.Overdue != (day.Period{}) && w.Latest.Before(b.r.On) && !d.After(b.r.On.Add(b.r.Overdue))
	return !d.After(w.Latest) || overdue || !w.Latest.Before(booked.Window.Latest)
}

// distance is how far a day is from what is wished, and whether it may be given.
func (b *brute) distance(m graft.Milestone, w graft.Window, d day.Day) (int, bool) {
	first, want, shift := w.Earliest, w.Target, m.Shift
	passed := w.Latest.Before(b.r.On)
	switch {
	case passed && b.r.Overdue != (day.Period{}):
		return d.Sub(b.r.On), !d.Before(b.r.On) && !d.After(b.r.On.Add(b.r.Overdue))
	case !passed && first.Before(b.r.On):
		first = b.r.On
	}
	if want.Before(first) {
		want = first
	}
	if d.Before(first) || d.After(w.Latest) {
		return 0, false
	}
	late := d.Sub(want)
	switch shift {
	case graft.OnlyLater, graft.Afterwards:
		return late, late >= 0
	case graft.Earlier:
		if late > 0 {
			return want.Sub(first) + late, true
		}
	}
	return max(late, -late), true
}

func (b *brute) dayWrong(m graft.Milestone, d day.Day) bool {
	for _, away := range b.r.Unavailable {
		if m.Visit != "" && away.Contains(d) {
			return true
		}
	}
	role := m.Role
	if m.Visit != "" {
		role = ""
	}
	return len(b.c.Obstacles(d, m.Visit, role)) > 0 || m.Surgical && b.r.Closure > 0 && b.c.ClosedRunAfter(d) >= b.r.Closure
}

func (b *brute) fits(m graft.Milestone, d day.Day) bool {
	if b.dayWrong(m, d) {
		return false
	}
	return m.Visit == "" || d.Before(b.r.On) || b.c.Visits[m.Visit].Minutes == 0 || len(b.slots(m, d)) > 0
}

// slots lists every slot that a visit can have on a day, one for each start.
func (b *brute) slots(m graft.Milestone, d day.Day) []graft.Slot {
	var slots []graft.Slot
	o := b.c.Opening(d, m.Visit)
	for t := 0; t < 24*60; t += o.Grid {
		s := graft.Slot{Day: d, Start: day.Clock(t), Minutes: o.Minutes}
		if b.slotFits(m, s, false) {
			slots = append(slots, s)
		}
	}
	return slots
}

// slotFits reports whether the clinic can hold a slot; a slot that is not booked
// yet takes any room and person.
func (b *brute) slotFits(m graft.Milestone, s graft.Slot, booked bool) bool {
	o := b.c.Opening(s.Day, m.Visit)
	if !slices.ContainsFunc(o.Hours, func(h day.Hours) bool { return s.Start >= h.From && s.End() <= h.To }) {
		return false
	}
	free := func(names []string, own string, of func(graft.Slot) string) bool {
		return slices.ContainsFunc(names, func(name string) bool {
			return (!booked || name == own) && !slices.ContainsFunc(b.taken, func(t diary.Taken) bool {
				return t.Case != b.r.Case && of(t.Slot) == name && t.Overlaps(s)
			})
		})
	}
	return (!o.NeedsRoom || free(o.Rooms, s.Room, func(s graft.Slot) string { return s.Room })) &&
		(!o.NeedsPerson || free(o.People, s.Person, func(s graft.Slot) string { return s.Person }))
}

// weigh keeps the plan if it can be had and is the best so far.
func (b *brute) weigh() {
	p := b.price()
	if b.found && slices.Compare(p[:], b.best[:]) > 0 {
		return
	}
	visits := map[day.Day][]graft.Milestone{}
	for _, m := range b.r.Milestones {
		if t, ok := b.things[m.ID]; ok && b.comes(m, t) {
			visits[t.day] = append(visits[t.day], m)
		}
	}
	for _, on := range visits {
		if !b.timed(on, nil) {
			return
		}
	}
	if b.found && p == b.best {
		b.trips = append(b.trips, p[2]-b.waits)
		return
	}
	b.best, b.trips, b.found, b.optimum = p, []int{p[2] - b.waits}, true, map[graft.MilestoneID]thing{}
	for id, t := range b.things {
		b.optimum[id] = t
	}
}

func (b *brute) comes(m graft.Milestone, t thing) bool {
	return m.Visit != "" && m.Attended.IsZero() && !t.day.Before(b.r.On) && !t.day.IsZero()
}

// timed reports whether the visits of a day all find a time, beside those that
// have theirs.
func (b *brute) timed(on []graft.Milestone, have []graft.Slot) bool {
	if len(on) == 0 {
		return true
	}
	m := on[0]
	if b.c.Visits[m.Visit].Minutes == 0 {
		return b.timed(on[1:], have)
	}
	slots := []graft.Slot{b.r.Booked[m.ID].Slot}
	if !b.things[m.ID].stays {
		slots = b.slots(m, b.things[m.ID].day)
	}
	for _, s := range slots {
		if !slices.ContainsFunc(have, s.Overlaps) && b.timed(on[1:], append(slices.Clone(have), s)) {
			return true
		}
	}
	return false
}

func (b *brute) price() price {
	var p price
	b.waits = 0
	trips := map[day.Day]bool{}
	for _, m := range b.r.Milestones {
		t, ok := b.things[m.ID]
		booked, isBooked := b.r.Booked[m.ID]
		if !ok || !m.Attended.IsZero() || isBooked && booked.Day.Before(b.r.On) {
			continue
		}
		if isBooked && !t.stays {
			p[1]++
		}
		if t.day.IsZero() {
			p[0]++
			continue
		}
		if b.comes(m, t) {
			trips[t.day] = true
		}
		if !t.stays {
			n, _ := b.distance(m, t.window, t.day)
			if m.ID == b.pin {
				n = b.fromWish(m, t.window, t.day)
			}
			p[3] += n
			if wait := b.r.On.Add(b.r.OverdueWait).Sub(b.r.On); wait > 0 && t.window.Latest.Before(b.r.On) && b.r.Overdue != (day.Period{}) {
				b.waits += t.day.Sub(b.r.On) / wait
			}
		}
		p[4] += t.day.Sub(b.r.On)
	}
	p[2] = len(trips) + b.waits
	return p
}

// fromWish is the distance of a day that the window may not allow.
func (b *brute) fromWish(m graft.Milestone, w graft.Window, d day.Day) int {
	if w.Latest.Before(b.r.On) && b.r.Overdue != (day.Period{}) {
		return d.Sub(b.r.On)
	}
	first, want := w.Earliest, w.Target
	if !w.Latest.Before(b.r.On) && first.Before(b.r.On) {
		first = b.r.On
	}
	if want.Before(first) {
		want = first
	}
	if m.Shift == graft.Earlier && d.After(want) {
		return want.Sub(first) + d.Sub(want)
	}
	return max(d.Sub(want), want.Sub(d))
}
