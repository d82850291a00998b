package diary

import (
	"slices"

	"graftclock/internal/graft"
)

// hold works out, for every booked visit that lies ahead, whether clinic and
// patient can keep its slot, and if not why.
func (m *model) hold() {
	for _, i := range m.order {
		if n := &m.nodes[i]; n.booked != nil {
			n.why = m.cannotHold(n)
			n.holds = n.why == ""
		}
	}
}

// cannotHold says why the slot of a booked visit cannot be kept, whatever its
// window; empty if it can.
func (m *model) cannotHold(n *node) string {
	if whys := m.dayWhys(n.Milestone, n.bookday); len(whys) > 0 {
		return whys[0]
	}
	if !n.visit {
		return ""
	}
	s := n.booked.Slot
	o := m.clinic.Opening(s.Day, n.Visit)
	switch {
	case !slices.ContainsFunc(o.Hours, insideOf(s)):
		return "not open " + s.Start.String() + "-" + s.End().String()
	case o.NeedsRoom && !slices.Contains(o.Rooms, s.Room):
		return notThere(s.Room, "no room")
	case o.NeedsPerson && !slices.Contains(o.People, s.Person):
		return notThere(s.Person, "nobody") + " in"
	}
	return m.takenBy(s)
}

func notThere(name, none string) string {
	if name == "" {
		return none + " is booked"
	}
	return name + " is not"
}

// takenBy says which other case has the room or the person of a slot.
func (m *model) takenBy(s graft.Slot) string {
	for _, a := range []struct {
		name string
		room bool
	}{{s.Room, true}, {s.Person, false}} {
		if e := m.frees.holder(m.frees.book.find(a.name), a.room, s); e != nil {
			return e.taken(a.name)
		}
	}
	return ""
}

// taken says who has a room or person when.
func (e *entry) taken(name string) string {
	text := name + " is taken " + e.from.String() + "-" + e.until()
	if e.says != "" {
		text += ": " + e.says
	}
	return text
}

func (e *entry) until() string { return e.to.String() }

// mayStay reports whether a booked visit may stay under a window: on a day that
// lies inside it, or no further outside it than when it was booked, and never
// below the hard floor.
func (m *model) mayStay(n *node, w frame) bool {
	if n.booked == nil || !n.holds || n.bookday < w.floor {
		return false
	}
	return m.notTooSoon(n, w) && m.notTooLate(n, w)
}

func (m *model) notTooSoon(n *node, w frame) bool {
	return n.bookday >= w.notBefore || w.notBefore <= m.in(n.booked.Window.NotBefore)
}

func (m *model) notTooLate(n *node, w frame) bool {
	overdue := w.latest < m.on && n.bookday <= m.lateTo
	return n.bookday <= w.latest || overdue || w.latest >= m.in(n.booked.Window.Latest)
}
