package clinic

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"graftclock/internal/day"
)

// need is what a visit or a role asks of a day, worked out beforehand for each
// staff and for each plan of hours.
type need struct {
	visit   Visit
	byStaff []offer
	byPlan  []string // why the hours are too few, "" where they are not
}

// offer is who and what a staff has for a need, and what it lacks.
type offer struct{ rooms, people, lacks []string }

// addNeeds works out what every visit and every role asks, and notes the visits
// that fit no day of the horizon.
func (c *Calendar) addNeeds(s Settings) {
	c.visits, c.roles = map[string]*need{}, map[string]*need{}
	for _, p := range s.People {
		if c.roles[p.Role] == nil {
			c.roles[p.Role] = c.needOf(Visit{Role: p.Role})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(s.Visits)) {
		n := c.needOf(s.Visits[name])
		c.visits[name] = n
		if !c.fitsAnywhere(n) {
			c.notes = append(c.notes, fmt.Sprintf("visit %s fits no day of the calendar", name))
		}
	}
}

func (c *Calendar) needOf(v Visit) *need {
	n := &need{v, make([]offer, len(c.staffs)), make([]string, len(c.plans))}
	for i, s := range c.staffs {
		n.byStaff[i] = c.offerOf(v, s)
	}
	for i, plan := range c.plans {
		if longest := longest(plan); longest < v.Minutes {
			n.byPlan[i] = fmt.Sprintf("open %d minutes at most, the visit takes %d", longest, v.Minutes)
		}
	}
	return n
}

func (c *Calendar) offerOf(v Visit, s staff) (o offer) {
	if v.Role != "" {
		var gone string
		if o.people, gone = c.pick(s, false, v.Role); len(o.people) == 0 {
			o.lacks = append(o.lacks, fmt.Sprintf("no %s in%s", v.Role, gone))
		}
	}
	if v.Room != "" {
		var gone string
		if o.rooms, gone = c.pick(s, true, v.Room); len(o.rooms) == 0 {
			o.lacks = append(o.lacks, fmt.Sprintf("no %s room%s", v.Room, gone))
		}
	}
	return o
}

// pick names the people of a role, or the rooms of a kind, that are there. gone
// says of those that are not why there is nobody: they are away, or it is none of
// their weekdays.
func (c *Calendar) pick(s staff, room bool, kind string) (names []string, gone string) {
	var away []string
	for i, a := range c.assets {
		p := s.present[i]
		switch {
		case a.room != room || p.offDuty || !slices.Contains(a.kinds, kind):
		case p.away:
			away = append(away, a.away(p.names))
		default:
			names = append(names, a.name)
		}
	}
	if len(away) == 0 {
		return names, fmt.Sprintf(" on %ss", s.weekday)
	}
	return names, ": " + strings.Join(away, ", ")
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
	if lacks := n.byStaff[e.staff].lacks; len(lacks) > 0 {
		return false, lacks[0]
	}
	why := n.byPlan[e.plan]
	return why == "", why
}

// against lists all that keeps the day at an index of the table from meeting the
// need, what meets names first.
func (c *Calendar) against(i int, n *need) []string {
	var whys []string
	e := c.table[i]
	if e.plan == closedPlan {
		whys = append(append(whys, c.words[e.reason]), c.beneath[i]...)
	}
	if n == nil {
		return whys
	}
	whys = append(whys, n.byStaff[e.staff].lacks...)
	if why := n.byPlan[e.plan]; why != "" && e.plan != closedPlan {
		whys = append(whys, why)
	}
	return whys
}
