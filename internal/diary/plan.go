package diary

import (
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// PlaceAll gives all open milestones their windows, days and times together. The
// plan breaks nothing and, of all that break nothing, leaves the fewest milestones
// without a day, moves the fewest booked visits, asks the fewest trips of the
// patient, is least far in days from what the shifts prefer, and has the least sum
// of days; a milestone that waits for one without a day has none. Where that leaves
// several, the milestones come, one after the other, as early as they can: those
// first that come after nothing else or only after those before them, by the
// earliest day they could have at all and then by name; then so do their times of
// day. A booked visit that stays is no distance away.
//
// A step that brings nobody in and from which no such plan counts, a call or an
// imaging decision, follows: it is placed by the same rules when all else has its
// day, and never moves a visit.
//
// Where several restorations leave more combinations than can be tried, the plan is
// put together part by part, one restoration beside the others, and says so: it
// breaks nothing, and no part alone could be better.
func PlaceAll(r Request, c Clinic) Plan {
	first, after := parted(r.Milestones)
	main := r
	main.Milestones = first
	plan := newTeller(solve(main, c, mostStates)).plan()
	if len(after) == 0 {
		return plan
	}
	return follow(r, c, plan, after)
}

// solve finds the best plan; only where not every milestone can have a day does it
// look at plans that leave some without. Where most states are explored and the
// plan is not found, it is put together part by part.
func solve(r Request, c Clinic, most int) (*joint, cost) {
	s := newJoint(newModel(r, c, false))
	s.most = most
	total := s.run()
	if total >= never && !s.tired() {
		s = newJoint(newModel(r, c, true))
		s.most = most
		total = s.run()
	}
	if s.tired() {
		explored, looked := s.explored, s.looked
		s, total = newParts(r, c).solve()
		s.explored, s.looked = s.explored+explored, s.looked+looked
	}
	s.walk(total)
	return s, total
}

// slots gives the visits their times: on each day, in the order of the search,
// each the earliest that leaves the others a time.
func (m *model) slots() []graft.Slot {
	slots := make([]graft.Slot, len(m.nodes))
	done := make([]bool, len(m.nodes))
	for p, i := range m.order {
		if done[i] || !m.comes(i) {
			continue
		}
		var on []int
		for _, j := range m.order[p:] {
			if m.comes(j) && m.cur[j] == m.cur[i] {
				on, done[j] = append(on, j), true
			}
		}
		m.timed(on, slots)
	}
	return slots
}

// comes reports whether the milestone brings the patient in from the day of
// planning on.
func (m *model) comes(i int) bool {
	n := &m.nodes[i]
	return n.state == open && n.visit && m.cur[i] >= m.on
}

// visitDays counts the days on which the patient comes.
func (m *model) visitDays() int {
	var days []int
	for i := range m.nodes {
		if m.comes(i) && !slices.Contains(days, m.cur[i]) {
			days = append(days, m.cur[i])
		}
	}
	return len(days)
}

// timed gives the visits of one day their times.
func (m *model) timed(on []int, slots []graft.Slot) {
	items := make([]item, len(on))
	for k, i := range on {
		n := &m.nodes[i]
		items[k] = item{day: m.cur[i], kind: n.kind}
		if m.stay[i] {
			items[k] = n.staying()
		}
	}
	for k, i := range on {
		n := &m.nodes[i]
		if m.stay[i] {
			slots[i] = n.booked.Slot
			continue
		}
		d := m.out(m.cur[i])
		o := m.clinic.Opening(d, n.Visit)
		slots[i] = graft.Slot{Day: d, Minutes: o.Minutes}
		if o.Minutes > 0 {
			items[k] = m.first(items, k)
			slots[i].Start = items[k].from
			m.house(&slots[i], o)
		}
	}
}

// first returns the item on the earliest start that leaves the others a time.
func (m *model) first(items []item, k int) item {
	it := items[k]
	s := m.startsOf(it.kind, it.day)
	for t, ok := s.from(0); ok; t, ok = s.from(t + 1) {
		timed := item{it.day, -1, t, t + day.Clock(s.minutes)}
		if len(items) == 1 {
			return timed
		}
		tried := slices.Clone(items)
		tried[k] = timed
		if m.together(tried) {
			return timed
		}
	}
	return it
}

// house gives a slot the first room and person that are free.
func (m *model) house(s *graft.Slot, o graft.Opening) {
	if o.NeedsRoom {
		s.Room = m.frees.pick(o.Rooms, true, *s)
	}
	if o.NeedsPerson {
		s.Person = m.frees.pick(o.People, false, *s)
	}
}
