package clinic

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Fits reports whether a visit of the given name can be had that day at all: the
// clinic is open for long enough at a stretch, someone of the visit's role is in
// and a room of its kind is there. If not, why names the first obstacle as a
// front desk would say it; taken slots are not looked at.
func (c *Calendar) Fits(d day.Day, visit string) (fits bool, why string) {
	n, known := c.visits[visit]
	if !known {
		return false, noVisit(visit)
	}
	return c.check(d, n)
}

// FitsRole is Fits for something that takes a person of the role and neither room
// nor time.
func (c *Calendar) FitsRole(d day.Day, role string) (fits bool, why string) {
	n, known := c.roles[role]
	if !known {
		return false, noRole(role)
	}
	return c.check(d, n)
}

// FitsAny is Fits for something that takes an open day and nothing else.
func (c *Calendar) FitsAny(d day.Day) (fits bool, why string) { return c.check(d, nil) }

func (c *Calendar) check(d day.Day, n *need) (bool, string) {
	i, ok := c.index(d)
	if !ok {
		return false, c.outside(d)
	}
	return c.meets(i, n)
}

func noVisit(name string) string { return fmt.Sprintf("the clinic has no visit %q", name) }

func noRole(role string) string { return "the clinic has no " + role }

// Obstacles lists everything on the clinic's side that is against a visit on the
// day, or without one against a step that needs the role, or with neither against
// an open day. Each stands for itself and would remain if the others were gone;
// the first is the one that Fits, FitsRole or FitsAny names, and there is none
// when that says it fits. Taken slots are not looked at.
func (c *Calendar) Obstacles(d day.Day, visit, role string) []string {
	var n *need
	var whys []string
	switch {
	case visit != "":
		if n = c.visits[visit]; n == nil {
			whys = append(whys, noVisit(visit))
		}
	case role != "":
		if n = c.roles[role]; n == nil {
			whys = append(whys, noRole(role))
		}
	}
	i, ok := c.index(d)
	if !ok {
		return append(whys, c.outside(d))
	}
	return append(whys, c.against(i, n)...)
}

// Opening returns what the day offers to a visit of the given name: its hours,
// and the rooms and people that are there, whether or not the clinic is open.
// Time that is taken is not looked at. A visit the clinic does not have and a day
// outside the horizon give the zero Opening. The slices are shared by all callers
// and must not be changed.
func (c *Calendar) Opening(d day.Day, visit string) graft.Opening {
	i, ok := c.index(d)
	n := c.visits[visit]
	if !ok || n == nil {
		return graft.Opening{}
	}
	e := c.table[i]
	o := &n.byStaff[e.staff]
	return graft.Opening{
		Minutes: n.visit.Minutes, Grid: c.grid,
		Hours:     c.plans[e.plan],
		NeedsRoom: n.visit.Room != "", NeedsPerson: n.visit.Role != "",
		Rooms: o.rooms, People: o.people,
	}
}

// Busy returns the time that busy files take out of one person or room, over the
// horizon and by day and time. An event that leaves nothing of a day, or of the
// hours the clinic is open that day, is none of them: it keeps the person or room
// away for the day. The slice is shared by all callers and must not be changed.
func (c *Calendar) Busy() []Busy { return c.busy }

// Grid returns the step of bookable times in minutes, 1 for settings without one: a
// visit starts on a multiple of it, counted from midnight.
func (c *Calendar) Grid() int { return c.grid }
