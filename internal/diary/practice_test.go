package diary_test

import (
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// practice is a small clinic with rooms, people and times of day, told day by day.
type practice struct {
	Grid   int
	Visits map[string]treatment
	Staff  map[string][]string // people by role, and rooms by kind
	Shut   map[day.Day]string  // why the clinic is closed
	Short  map[day.Day]bool    // open for the first stretch only
	Out    map[day.Day][]string
	Hours  []day.Hours
}

type treatment struct {
	Minutes    int
	Room, Role string
}

var _ diary.Clinic = practice{}

func (p practice) FitsAny(d day.Day) (bool, string) {
	why := p.Shut[d]
	return why == "", why
}

func (p practice) FitsRole(d day.Day, role string) (bool, string) {
	whys := p.Obstacles(d, "", role)
	if len(whys) > 0 {
		return false, whys[0]
	}
	return true, ""
}

func (p practice) there(d day.Day, kind string) []string {
	var there []string
	for _, name := range p.Staff[kind] {
		if !slices.Contains(p.Out[d], name) {
			there = append(there, name)
		}
	}
	return there
}

func (p practice) hours(d day.Day) []day.Hours {
	switch {
	case p.Shut[d] != "":
		return nil
	case p.Short[d]:
		return p.Hours[:1]
	}
	return p.Hours
}

func (p practice) Opening(d day.Day, visit string) graft.Opening {
	v, ok := p.Visits[visit]
	if !ok {
		return graft.Opening{}
	}
	return graft.Opening{Minutes: v.Minutes, Grid: p.Grid, Hours: p.hours(d),
		NeedsRoom: v.Room != "", NeedsPerson: v.Role != "", Rooms: p.there(d, v.Room), People: p.there(d, v.Role)}
}

func (p practice) Obstacles(d day.Day, visit, role string) []string {
	var whys []string
	if why := p.Shut[d]; why != "" {
		whys = append(whys, why)
	}
	v := p.Visits[visit]
	if visit == "" {
		v = treatment{Role: role}
	}
	for _, kind := range []string{v.Role, v.Room} {
		if kind != "" && len(p.there(d, kind)) == 0 {
			whys = append(whys, "no "+kind)
		}
	}
	if visit != "" && p.Shut[d] == "" {
		longest := 0
		for _, h := range p.hours(d) {
			longest = max(longest, h.Minutes())
		}
		if longest < v.Minutes {
			whys = append(whys, "open too short")
		}
	}
	return whys
}

func (p practice) ClosedRunAfter(d day.Day) int {
	n := 0
	for p.Shut[d.AddDays(n+1)] != "" {
		n++
	}
	return n
}
