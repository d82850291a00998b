package diary

import (
	"fmt"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// teller writes a plan with its reasons.
type teller struct {
	*joint
	sums   *sums
	total  cost
	days   []int
	stays  []bool
	slot   []graft.Slot
	lack   *joint
	passed [][]obstacle // by milestone, why preferred days are not taken
}

// mostExplored bounds the work of telling why days were not taken.
const mostExplored = 4000

func newTeller(s *joint, total cost) *teller {
	t := &teller{joint: s, total: total, slot: s.slots()}
	s.most = s.spent() + mostExplored
	t.days, t.stays = append([]int(nil), s.cur...), append([]bool(nil), s.stay...)
	t.sums = &sums{Request: s.Request, given: map[graft.MilestoneID]day.Day{graft.SurgeryDay: s.Surgery}}
	for i := range s.nodes {
		if d := t.days[i]; d != noDay {
			t.sums.given[s.nodes[i].ID] = s.out(d)
		}
	}
	t.lookBack()
	return t
}

func (t *teller) plan() Plan {
	copy(t.cur, t.days)
	p := Plan{Milestones: make([]graft.Milestone, len(t.nodes)), Distance: t.total.distance(), Trips: t.visitDays(), Untried: t.inParts}
	for i := range t.nodes {
		p.Milestones[i] = t.milestone(i)
	}
	for i := range t.nodes {
		t.failed(&p, i)
	}
	for _, i := range t.order {
		t.misfit(&p, i)
	}
	return p
}

// milestone is one of the request with what the plan gives it.
func (t *teller) milestone(i int) graft.Milestone {
	n := &t.nodes[i]
	m := undated(*n.Milestone)
	if t.sums.ready(m) {
		t.window(&m)
	}
	switch {
	case !m.Attended.IsZero():
		attend(&m)
	case n.state == given:
		t.past(&m, n)
	case t.days[i] != noDay:
		t.place(&m, i)
	default:
		t.lacking(&m)
	}
	return m
}

// lacking marks a milestone without a day that is overdue: it is wanted still.
func (t *teller) lacking(m *graft.Milestone) {
	if m.Overdue = t.overdue(m); !m.Overdue {
		return
	}
	until := Long(t.out(t.lateTo))
	m.Why = halves(m.Why, "overdue, no free day left until "+until)
	m.Reasons = append(m.Reasons, graft.Reason{Says: fmt.Sprintf("No free day is left until %s, by when it is wanted; its window ended on %s.", until, Long(m.Window.Latest))})
}

// overdue reports whether the window of a milestone that is open has passed and it is
// still wanted.
func (t *teller) overdue(m *graft.Milestone) bool {
	return t.lateTo >= 0 && m.Window != (graft.Window{}) && m.Window.Latest.Before(t.On)
}

// window gives a milestone its window, its floor and the surgeon's own day.
func (t *teller) window(m *graft.Milestone) {
	m.Window, m.Why, m.Reasons = t.sums.window(*m)
	for _, w := range m.Waits {
		if w.Hard {
			m.Floor = day.Max(m.Floor, t.sums.given[w.From].Add(w.NotBefore))
		}
	}
	o, ok := t.Overrides[m.ID]
	if !ok || o.Day.IsZero() {
		return
	}
	rules := m.Window
	o.Computed = rules
	d := day.Max(o.Day, m.Floor)
	latest := rules.Latest.AddDays(d.Sub(rules.Target))
	m.Window = graft.Window{NotBefore: d, Earliest: d, Target: d, Latest: latest}
	m.Override, m.Why = &o, "set by "+o.By
	m.Reasons = append(m.Reasons, overridden(o, d))
}

// overridden tells of a surgeon's own day.
func overridden(o graft.Override, d day.Day) graft.Reason {
	says := fmt.Sprintf("Set by %s on %s to %s: %s; the rules say %s, not before %s and no later than %s.", o.By, o.On, Long(o.Day), o.Why, o.Computed.Target, o.Computed.NotBefore, o.Computed.Latest)
	r := graft.Reason{Says: says}
	if d != o.Day {
		r.Because = []graft.Reason{{Says: "Nobody goes below the hard floor, " + Long(d) + "."}}
	}
	return r
}

// past puts a milestone on the past day for which it was booked.
func (t *teller) past(m *graft.Milestone, n *node) {
	m.Placed, m.Slot, m.Booked, m.Firm = n.booked.Day, n.booked.Slot, true, true
	m.Why = halves(m.Why, "booked, and not recorded as attended")
	m.Reasons = append(m.Reasons, graft.Reason{Says: "Booked for " + Long(m.Placed) + " and not recorded as attended."})
}

func halves(a, b string) string { return strings.TrimPrefix(a+"; "+b, "; ") }

// place puts a milestone on the day that the plan gives it.
func (t *teller) place(m *graft.Milestone, i int) {
	n := &t.nodes[i]
	m.Placed = t.out(t.days[i])
	m.Firm = !m.Placed.After(t.On.Add(t.FirmWithin))
	m.Overdue = t.overdue(m)
	if n.visit {
		m.Slot = t.slot[i]
	}
	if t.stays[i] {
		m.Booked, m.Slot = true, n.booked.Slot
		m.Why = halves(m.Why, "booked")
		m.Reasons = append(m.Reasons, graft.Reason{Says: "Booked for " + Long(m.Placed) + ", and stays."})
		return
	}
	t.reasons(m, i)
}

// failed tells of a milestone without a day, unless it waits for one, and of one
// placed in the past.
func (t *teller) failed(p *Plan, i int) {
	n, m := &t.nodes[i], &p.Milestones[i]
	switch {
	case n.state != open:
	case t.days[i] == noDay && m.Window != (graft.Window{}):
		p.Unplaced = append(p.Unplaced, Unplaced{ID: n.ID, Says: t.failure(m, i)})
	case t.days[i] != noDay && t.days[i] < t.on && m.Window.Latest.Before(t.On):
		p.Unplaced = append(p.Unplaced, Unplaced{ID: n.ID, Passed: true, Says: fmt.Sprintf("Its window ended on %s.", Long(m.Window.Latest))})
	}
}

// misfit tells of a booked visit that cannot stay.
func (t *teller) misfit(p *Plan, i int) {
	n, m := &t.nodes[i], &p.Milestones[i]
	if n.booked == nil || t.stays[i] {
		return
	}
	p.Misfits = append(p.Misfits, Misfit{ID: n.ID, Booked: n.booked.Slot, Says: t.cannotStay(n, m)})
}

// cannotStay says why a booked visit moves.
func (t *teller) cannotStay(n *node, m *graft.Milestone) string {
	w := m.Window
	switch {
	case n.why != "":
		return n.why
	case w == (graft.Window{}):
		return "it waits for a step without a day"
	case n.booked.Day.Before(m.Floor):
		return "below its hard floor " + m.Floor.String()
	case n.booked.Day.Before(w.NotBefore) && w.NotBefore.After(n.booked.Window.NotBefore):
		return "before its gate " + w.NotBefore.String()
	case n.booked.Day.After(w.Latest) && w.Latest.Before(n.booked.Window.Latest):
		return "after its window ended " + w.Latest.String()
	}
	return "another visit of the patient needs the time"
}
