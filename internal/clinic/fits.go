package clinic

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"graftclock/internal/day"
)

// need is what a visit or a role asks of a day, worked out beforehand: the
// obstacle of each weekday and of each plan of hours, "" where there is none.
type need struct {
	byWeekday [7]string
	byPlan    []string
}

// addNeeds works out what every visit and every role asks, and notes the visits
// that fit no day of the horizon.
func (c *Calendar) addNeeds(s Settings) {
	c.visits, c.roles = map[string]*need{}, map[string]*need{}
	for _, p := range s.People {
		c.roles[p.Role] = c.needOf(Visit{Role: p.Role}, s)
	}
	for _, name := range slices.Sorted(maps.Keys(s.Visits)) {
		n := c.needOf(s.Visits[name], s)
		c.visits[name] = n
		if !c.fitsAnywhere(n) {
			c.notes = append(c.notes, fmt.Sprintf("visit %s fits no day of the calendar", name))
		}
	}
}

func (c *Calendar) needOf(v Visit, s Settings) *need {
	n := &need{byPlan: make([]string, len(c.plans))}
	for w := range n.byWeekday {
		n.byWeekday[w] = absent(v, s, time.Weekday(w))
	}
	for i, plan := range c.plans {
		if longest := longest(plan); longest < v.Minutes {
			n.byPlan[i] = fmt.Sprintf("open %d minutes at most, the visit takes %d", longest, v.Minutes)
		}
	}
	return n
}

// absent says who or what the visit lacks on a weekday; "" if nothing.
func absent(v Visit, s Settings, w time.Weekday) string {
	inOn := func(days day.Weekdays) bool { return days == 0 || days.Has(w) }
	if v.Role != "" && !slices.ContainsFunc(s.People, func(p Person) bool { return p.Role == v.Role && inOn(p.Days) }) {
		return fmt.Sprintf("no %s in on %ss", v.Role, w)
	}
	if v.Room != "" && !slices.ContainsFunc(s.Rooms, func(r Room) bool { return slices.Contains(r.For, v.Room) && inOn(r.Days) }) {
		return fmt.Sprintf("no %s room on %ss", v.Room, w)
	}
	return ""
}

func longest(plan []day.Hours) int {
	minutes := 0
	for _, h := range plan {
		minutes = max(minutes, h.Minutes())
	}
	return minutes
}

func (c *Calendar) fitsAnywhere(n *need) bool {
	for i := range c.horizon.Days() {
		if fits, _ := c.meets(i, n); fits {
			return true
		}
	}
	return false
}

// meets reports whether the day at an index of the table meets the need; a nil
// need asks for an open day only.
func (c *Calendar) meets(i int, n *need) (bool, string) {
	e := c.table[i]
	if e.plan == closedPlan {
		return false, c.words[e.reason]
	}
	if n == nil {
		return true, ""
	}
	if why := n.byWeekday[weekdayOf(c.first, i)]; why != "" {
		return false, why
	}
	why := n.byPlan[e.plan]
	return why == "", why
}

// Fits reports whether a visit of the given name can be had that day at all: the
// clinic is open for long enough at a stretch, someone of the visit's role is in
// and a room of its kind is there. If not, why names the first obstacle as a
// front desk would say it; taken slots are not looked at.
func (c *Calendar) Fits(d day.Day, visit string) (fits bool, why string) {
	n, known := c.visits[visit]
	if !known {
		return false, fmt.Sprintf("the clinic has no visit %q", visit)
	}
	return c.check(d, n)
}

// FitsRole is Fits for something that takes a person of the role and neither room
// nor time.
func (c *Calendar) FitsRole(d day.Day, role string) (fits bool, why string) {
	n, known := c.roles[role]
	if !known {
		return false, fmt.Sprintf("the clinic has no %s", role)
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
