package casefile

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/table"
)

// Clinic is a clinic file as read.
type Clinic struct {
	clinic.Settings
	File     string
	Protocol string // file with the clinic's own rule values; empty: none
	Letters  string // folder with the clinic's own templates of letters; empty: none
	Mail     Mail   // how the clinic sends mail; zero: not at all
	Shared   Shared // the desk's calendar on a server; zero: none
	Lines    map[string]int
	Digest   string // of the file's text
}

// ReadClinic reads a clinic file. Open returns the bytes of a closure file or busy
// file that it names. The faults are all there are.
func ReadClinic(file string, data []byte, open func(name string) ([]byte, error)) (Clinic, table.Faults) {
	v := table.Read(file, data, clinicFile)
	c := Clinic{File: file, Protocol: v.Get("protocol").Text(), Letters: v.Get("letters").Text(), Lines: v.Lines(), Digest: table.Digest(data)}
	c.Settings = clinic.Settings{
		Name:            v.Get("name").Text(),
		ShortName:       v.Get("short_name").Text(),
		Address:         texts(v.Get("address")),
		Phone:           v.Get("phone").Text(),
		OutOfHours:      v.Get("out_of_hours").Text(),
		EmergencyNumber: v.Get("emergency_number").Text(),
		Zone:            v.Get("zone").Text(),
		Region:          v.Get("region").Text(),
		Holidays:        clinicHolidays(v.Get("holidays")),
		Hours:           clinicHours(v.Get("hours")),
		HalfDays:        specialDays(v.Get("half_days")),
		ExtraDays:       specialDays(v.Get("extra_days")),
		GridMinutes:     v.Get("grid_minutes").Int(),
		Visits:          map[string]clinic.Visit{},
		AfterCare:       map[string]int{},
	}
	c.Closures = closures(v.Get("closures"))
	c.ClosureFiles = calendarFiles(v.Get("closure_files"), open)
	c.rooms(v.Get("rooms"), open)
	c.people(v.Get("people"), open)
	c.visits(v)
	c.Mail, c.Shared = mail(v.Get("mail")), shared(v.Get("shared_calendar"))
	for _, e := range v.Get("after_care").Entries() {
		c.AfterCare[e.Key] = e.Value.Int()
	}
	return c, v.Faults()
}

// rooms reads the rooms and complains of a name given twice: bookings know a room
// by its name.
func (c *Clinic) rooms(v *table.Value, open func(name string) ([]byte, error)) {
	for _, x := range v.Items() {
		r := clinic.Room{
			Name: x.Get("name").Text(), For: texts(x.Get("for")), Days: weekdays(x.Get("days")),
			OutOfUse: closures(x.Get("out_of_use")), BusyFiles: calendarFiles(x.Get("busy_files"), open),
		}
		if name := x.Get("name"); name != nil && slices.ContainsFunc(c.Rooms, func(other clinic.Room) bool { return strings.EqualFold(other.Name, r.Name) }) {
			name.Fault(r.Name+" a second time", "each room by a name of its own", "")
		}
		c.Rooms = append(c.Rooms, r)
	}
}

// people reads the people and complains of a name given twice: bookings know a
// person by name.
func (c *Clinic) people(v *table.Value, open func(name string) ([]byte, error)) {
	for _, x := range v.Items() {
		p := clinic.Person{
			Name: x.Get("name").Text(), Role: x.Get("role").Text(), Days: weekdays(x.Get("days")),
			Absent: closures(x.Get("absent")), BusyFiles: calendarFiles(x.Get("busy_files"), open),
		}
		if name := x.Get("name"); name != nil && slices.ContainsFunc(c.People, func(other clinic.Person) bool { return strings.EqualFold(other.Name, p.Name) }) {
			name.Fault(p.Name+" a second time", "each person by a name of their own", "")
		}
		c.People = append(c.People, p)
	}
}

// The places where a fault leaves open what roles, or what kinds of room, there
// would be.
var (
	rolePlace = regexp.MustCompile(`^people(\[[0-9]+\](\.role)?)?$`)
	kindPlace = regexp.MustCompile(`^rooms(\[[0-9]+\](\.for(\[[0-9]+\])?)?)?$`)
)

// visits reads the visits and the grid, and complains of a visit that nobody can
// hold or that has no room.
func (c *Clinic) visits(v *table.Value) {
	faulty := func(form *regexp.Regexp) bool {
		return slices.ContainsFunc(v.Faults(), func(f table.Fault) bool { return form.MatchString(f.Path) })
	}
	noPeople, noRooms := faulty(rolePlace), faulty(kindPlace)
	for _, e := range v.Get("visits").Entries() {
		visit := clinic.Visit{Minutes: e.Value.Get("minutes").Int(), Room: e.Value.Get("room").Text(), Role: e.Value.Get("role").Text()}
		c.Visits[e.Key] = visit
		if role := e.Value.Get("role"); role != nil && !noPeople && !slices.ContainsFunc(c.People, func(p clinic.Person) bool { return p.Role == visit.Role }) {
			role.Fault(visit.Role+", whom people does not have", "a role of people", "")
		}
		if room := e.Value.Get("room"); room != nil && !noRooms && !slices.ContainsFunc(c.Rooms, func(r clinic.Room) bool { return slices.Contains(r.For, visit.Room) }) {
			room.Fault(visit.Room+", for which there is no room", "a kind of rooms", "")
		}
	}
	if grid := v.Get("grid_minutes"); grid != nil && mostGrid%c.GridMinutes != 0 {
		grid.Fault(grid.Text()+" minutes", "a part of an hour: 5, 6, 10, 12, 15, 20, 30 or 60", "")
	}
}

// Calendar builds the clinic's day table. The faults carry the places of the
// clinic file.
func (c Clinic) Calendar(horizon day.Span) (*clinic.Calendar, table.Faults) {
	calendar, err := clinic.New(c.Settings, horizon)
	if err == nil {
		return calendar, nil
	}
	problems, ok := err.(clinic.Problems)
	if !ok {
		problems = clinic.Problems{{Message: err.Error()}}
	}
	var faults table.Faults
	for _, p := range problems {
		faults = append(faults, table.Fault{File: c.File, Line: c.lineOf(p.Field), Column: 1, Path: p.Field, Found: p.Message})
	}
	table.SortFaults(faults)
	return nil, faults
}

// lineOf returns the line of a path, or of the nearest place above it.
func (c Clinic) lineOf(path string) int { return nearestLine(c.Lines, path) }

func nearestLine(lines map[string]int, path string) int {
	for path != "" {
		if line, ok := lines[path]; ok {
			return line
		}
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
	return lines[""]
}

// LineOf returns the line of a path in the record, or of the nearest place above
// it; 0 for a record that was not read from a file.
func (c Case) LineOf(path string) int { return nearestLine(c.Lines, path) }

func clinicHolidays(v *table.Value) clinic.Holidays {
	h := clinic.Holidays{AlsoClosedOnTheDay: v.Get("also_closed_on_the_day").Bool(true), Drop: texts(v.Get("drop"))}
	for _, x := range v.Get("add").Items() {
		h.Add = append(h.Add, clinic.NamedDay{Day: dayAt(x.Get("day")), Name: x.Get("name").Text()})
	}
	return h
}

// clinicHours reads the week and complains of a weekday given twice.
func clinicHours(v *table.Value) clinic.Week {
	var week clinic.Week
	for _, e := range v.Entries() {
		set, _ := day.ParseWeekdays(e.Key)
		list := hours(e.Value)
		for w := time.Sunday; w <= time.Saturday; w++ {
			if !set.Has(w) {
				continue
			}
			if week[w] != nil {
				e.Value.Fault(fmt.Sprintf("hours for %s a second time", w), "each weekday once", "")
				continue
			}
			week[w] = list
		}
	}
	return week
}

// hours reads the stretches of one day and complains when they overlap.
func hours(v *table.Value) []day.Hours {
	var list []day.Hours
	for _, x := range v.Items() {
		h, _ := day.ParseHours(x.Text())
		if n := len(list); n > 0 && h.From < list[n-1].To {
			x.Fault(fmt.Sprintf("%s starts before %s ends", h, list[n-1]), "stretches in order, without overlap", "")
			continue
		}
		list = append(list, h)
	}
	return list
}

// closures reads runs of days and complains of one that ends before it starts.
func closures(v *table.Value) []clinic.Closure {
	var list []clinic.Closure
	for _, x := range v.Items() {
		c := clinic.Closure{From: dayAt(x.Get("from")), To: dayAt(x.Get("to")), Name: x.Get("name").Text()}
		if to := x.Get("to"); to != nil && !c.From.IsZero() && c.To.Before(c.From) {
			to.Fault(c.To.String()+", before it starts", "from "+c.From.String()+" on", "")
		}
		list = append(list, c)
	}
	return list
}

// calendarFiles opens the .ics files of a list and complains of one that cannot be.
func calendarFiles(v *table.Value, open func(name string) ([]byte, error)) []clinic.File {
	var files []clinic.File
	for _, name := range v.Items() {
		data, err := open(name.Text())
		if err != nil {
			name.Fault(err.Error(), "an .ics file beside the clinic file", "")
			continue
		}
		files = append(files, clinic.File{Name: name.Text(), Data: data})
	}
	return files
}

func specialDays(v *table.Value) []clinic.SpecialDay {
	var days []clinic.SpecialDay
	for _, x := range v.Items() {
		days = append(days, clinic.SpecialDay{Day: dayAt(x.Get("day")), Hours: hours(x.Get("hours")), Name: x.Get("name").Text()})
	}
	return days
}

func weekdays(v *table.Value) day.Weekdays {
	var set day.Weekdays
	for _, x := range v.Items() {
		run, _ := day.ParseWeekdays(x.Text())
		set |= run
	}
	return set
}

func texts(v *table.Value) []string {
	var list []string
	for _, x := range v.Items() {
		list = append(list, x.Text())
	}
	return list
}
