package clinic

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"graftclock/internal/day"
)

// check reports what New cannot use, apart from what the layers find themselves.
func (b *builder) check(s Settings) {
	b.checkZone(s.Zone)
	for i, h := range s.Holidays.Add {
		b.checkDay(fmt.Sprintf("holidays.add[%d].day", i), h.Day)
	}
	for w, hours := range s.Hours {
		b.checkHours("hours."+weekdayKeys[w], hours)
	}
	b.checkClosures("closures", s.Closures)
	b.checkSpecial("half_days", s.HalfDays)
	b.checkSpecial("extra_days", s.ExtraDays)
	b.checkRooms(s.Rooms)
	b.checkPeople(s.People)
	b.checkVisits(s)
}

func (b *builder) checkClosures(field string, closures []Closure) {
	for i, c := range closures {
		at := fmt.Sprintf("%s[%d]", field, i)
		b.checkDay(at+".from", c.From)
		if !c.To.IsZero() && c.To.Before(c.From) {
			b.problem(at, "ends on %s, before it starts on %s", c.To, c.From)
		}
	}
}

// checkRooms wants a name for each room alone, by which bookings know it.
func (b *builder) checkRooms(rooms []Room) {
	for i, r := range rooms {
		at := fmt.Sprintf("rooms[%d]", i)
		if slices.ContainsFunc(rooms[:i], func(other Room) bool { return strings.EqualFold(other.Name, r.Name) }) {
			b.problem(at+".name", "a second room of the name %s", r.Name)
		}
		b.checkClosures(at+".out_of_use", r.OutOfUse)
	}
}

// checkPeople wants a name for each person alone, by which bookings know them.
func (b *builder) checkPeople(people []Person) {
	for i, p := range people {
		at := fmt.Sprintf("people[%d]", i)
		if slices.ContainsFunc(people[:i], func(other Person) bool { return strings.EqualFold(other.Name, p.Name) }) {
			b.problem(at+".name", "a second person of the name %s", p.Name)
		}
		b.checkClosures(at+".absent", p.Absent)
	}
}

// checkZone loads the zone. The names "" and "Local" would be taken for UTC and
// for the machine's own zone.
func (b *builder) checkZone(name string) {
	zone, err := loadZone(name)
	if err != nil {
		b.problem("zone", "%v", err)
		zone = time.UTC
	}
	b.zone = zone
}

func loadZone(name string) (*time.Location, error) {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return nil, fmt.Errorf("%s is no time zone: want an IANA name, such as Europe/Dublin", quoted(name))
	}
	return zone, nil
}

func (b *builder) checkDay(field string, d day.Day) {
	if d.IsZero() {
		b.problem(field, "a day is missing: want YYYY-MM-DD")
	}
}

func (b *builder) checkSpecial(field string, days []SpecialDay) {
	for i, d := range days {
		at := fmt.Sprintf("%s[%d]", field, i)
		b.checkDay(at+".day", d.Day)
		if len(d.Hours) == 0 {
			b.problem(at+".hours", "no hours: name a day without any under closures")
		}
		b.checkHours(at+".hours", d.Hours)
	}
}

// checkHours wants stretches within the day, in order and apart.
func (b *builder) checkHours(field string, hours []day.Hours) {
	end := day.Clock(0)
	for _, h := range hours {
		switch {
		case h.From < 0 || h.To > midnight || h.To <= h.From:
			b.problem(field, "%s is no stretch of one day's hours", h)
		case h.From < end:
			b.problem(field, "%s overlaps or comes before the stretch named before it", h)
		}
		end = max(end, h.To)
	}
}

func (b *builder) checkVisits(s Settings) {
	const minutesPerDay = 24 * 60
	for _, name := range slices.Sorted(maps.Keys(s.Visits)) {
		v, field := s.Visits[name], "visits."+name
		if v.Minutes < 0 || v.Minutes > minutesPerDay {
			b.problem(field+".minutes", "%d minutes: want 0 to %d", v.Minutes, minutesPerDay)
		}
		if v.Role != "" && !slices.ContainsFunc(s.People, func(p Person) bool { return p.Role == v.Role }) {
			b.problem(field+".role", "no one among the people is a %s", v.Role)
		}
		if v.Room != "" && !slices.ContainsFunc(s.Rooms, func(r Room) bool { return slices.Contains(r.For, v.Room) }) {
			b.problem(field+".room", "no room is for %s", v.Room)
		}
	}
}
