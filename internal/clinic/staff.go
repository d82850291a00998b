package clinic

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"graftclock/internal/day"
)

// asset is a person or a room: what a visit has for itself while it lasts.
type asset struct {
	name  string
	room  bool
	kinds []string // a person's role, or the kinds of visit a room is for
	days  day.Weekdays
}

// assets lists the people and then the rooms, each in the order of the settings.
func assets(s Settings) []asset {
	var list []asset
	for _, p := range s.People {
		list = append(list, asset{p.Name, false, []string{p.Role}, p.Days})
	}
	for _, r := range s.Rooms {
		list = append(list, asset{r.Name, true, r.For, r.Days})
	}
	return list
}

// offDuty says that an asset is not there on a weekday.
func (a asset) offDuty(w time.Weekday) string {
	if a.room {
		return fmt.Sprintf("%s not to be had on %ss", a.name, w)
	}
	return fmt.Sprintf("%s not in on %ss", a.name, w)
}

// away says that an asset is away and why: "Dr Alba Quill away (course)",
// "Imaging out of use".
func (a asset) away(names []string) string {
	text := a.name + " away"
	if a.room {
		text = a.name + " out of use"
	}
	if len(names) > 0 {
		text += " (" + strings.Join(names, ", ") + ")"
	}
	return text
}

// staff is who and what can be had on a day, by asset. Days share it as they
// share their hours.
type staff struct {
	weekday time.Weekday
	present []presence
}

// presence says whether one asset can be had: not on a weekday that is none of
// its own, and not when something keeps it away.
type presence struct {
	offDuty bool
	away    bool
	names   []string // of what keeps it away, where that has a name
}

func newStaff(list []asset, w time.Weekday, lacks []lack) staff {
	s := staff{w, make([]presence, len(list))}
	for i, a := range list {
		s.present[i].offDuty = a.days != 0 && !a.days.Has(w)
	}
	for _, l := range lacks {
		p := &s.present[l.asset]
		p.away = true
		if l.name != "" && !slices.Contains(p.names, l.name) {
			p.names = append(p.names, l.name)
		}
	}
	return s
}

// addStaff gives every day of the table its staff.
func (c *Calendar) addStaff(b *builder) {
	for w := range weekdayKeys {
		c.staffs = append(c.staffs, newStaff(c.assets, time.Weekday(w), nil))
	}
	known := map[string]int32{}
	for i := range c.table {
		w := weekdayOf(c.first, i)
		c.table[i].staff = int32(w)
		lacks := b.lacks[i]
		if len(lacks) == 0 {
			continue
		}
		key := w.String()
		for _, l := range lacks {
			key += fmt.Sprintf(" %d%q", l.asset, l.name)
		}
		if _, seen := known[key]; !seen {
			known[key] = int32(len(c.staffs))
			c.staffs = append(c.staffs, newStaff(c.assets, w, lacks))
		}
		c.table[i].staff = known[key]
	}
}

// PersonIn reports whether the person of the name is in on a day on which the
// clinic is open. If not, why says it as a front desk would: "Dr Alba Quill away
// (course)". Whether it is open, and time taken, are not looked at.
func (c *Calendar) PersonIn(d day.Day, name string) (in bool, why string) {
	return c.has(d, "the clinic has no "+name, func(a asset) bool { return !a.room && a.name == name })
}

// RoomIn is PersonIn for a room: "Imaging out of use (repair)".
func (c *Calendar) RoomIn(d day.Day, name string) (in bool, why string) {
	return c.has(d, "the clinic has no room "+name, func(a asset) bool { return a.room && a.name == name })
}

func (c *Calendar) has(d day.Day, unknown string, is func(asset) bool) (bool, string) {
	n := slices.IndexFunc(c.assets, is)
	if n < 0 {
		return false, unknown
	}
	i, ok := c.index(d)
	if !ok {
		return false, c.outside(d)
	}
	s := c.staffs[c.table[i].staff]
	switch p := s.present[n]; {
	case p.offDuty:
		return false, c.assets[n].offDuty(s.weekday)
	case p.away:
		return false, c.assets[n].away(p.names)
	}
	return true, ""
}
