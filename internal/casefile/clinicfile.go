package casefile

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/table"
)

// Bounds of what a clinic file may say.
const (
	mostMinutes   = 480
	mostAfterCare = 365
	mostGrid      = 60
	leastGrid     = 5
)

// visitNames are the visits a clinic file describes, in clinical order.
var visitNames = []string{"wound-check", "late-check", "healing-review", "imaging", "placement", "uncovering", "impression", "first-loading", "recall"}

// roomKinds are what a room may be for.
var roomKinds = []string{"surgery", "check", "imaging"}

// AfterCareKeys are the after-care presets a clinic may set, in days.
var AfterCareKeys = []string{"nose_blowing", "flying", "pressure_and_wind_instruments", "exercise", "soft_diet"}

// ClinicFile is the shape of a clinic file.
func ClinicFile() table.Shape { return clinicFile }

var clinicFile = table.Map("",
	table.Must("clinic", table.Whole("version of this format", "", 1, 1)),
	table.Must("name", table.Text("on the letterhead")),
	table.Must("short_name", table.Text("in calendar titles")),
	table.Must("address", table.List("", 1, table.Text(""))),
	table.Must("phone", table.Text("in opening hours")),
	table.Must("out_of_hours", table.Text("the number at night and on closed days; no letter without it")),
	table.Must("emergency_number", table.Text("of the country")),
	table.Must("zone", table.Formal("", zoneGrammar)),
	table.Must("region", table.Formal("for public holidays", regionGrammar)),
	table.May("protocol", table.Text("file with the clinic's own rule values, beside this one")),
	table.May("holidays", table.Map("",
		table.May("also_closed_on_the_day", table.Bool("also closed on the holiday itself when it is observed on another day; left out: true")),
		table.May("drop", table.List("holidays on which the clinic is open", 0, table.Text("name as graftclock days prints it"))),
		table.May("add", table.List("holidays of the clinic's own", 0, table.Map("",
			table.Must("day", table.Formal("", dayGrammar)),
			table.Must("name", table.Text("")))))),
	),
	table.Must("hours", table.Keyed("opening hours by weekday; a day left out is closed", weekdaysGrammar, table.List("", 1, table.Formal("", hoursGrammar)))),
	table.May("closures", table.List("", 0, table.Map("",
		table.Must("from", table.Formal("", dayGrammar)),
		table.Must("to", table.Formal("last closed day", dayGrammar)),
		table.Must("name", table.Text(""))))),
	table.May("closure_files", table.List(".ics files with closed days, beside this one", 0, table.Text(""))),
	table.May("half_days", table.List("", 0, specialDay)),
	table.May("extra_days", table.List("days open out of turn", 0, specialDay)),
	table.Must("grid_minutes", table.Whole("visits start on multiples of it", "minutes", leastGrid, mostGrid)),
	table.Must("rooms", table.List("", 1, table.Map("",
		table.Must("name", table.Text("")),
		table.Must("for", table.List("", 1, table.Word("", roomKinds...))),
		table.May("days", table.List("left out: every open day", 1, table.Formal("", weekdaysGrammar)))))),
	table.Must("people", table.List("", 1, table.Map("",
		table.Must("name", table.Text("")),
		table.Must("role", table.Word("", "surgeon", "nurse", "hygienist", "desk")),
		table.Must("days", table.List("", 1, table.Formal("", weekdaysGrammar)))))),
	table.Must("visits", table.Map("", visitFields()...)),
	table.May("after_care", table.Map("the clinic's own presets in days; practice varies; left out: ask the surgeon", afterCareFields()...)),
)

var specialDay = table.Map("",
	table.Must("day", table.Formal("", dayGrammar)),
	table.Must("hours", table.List("", 1, table.Formal("", hoursGrammar))),
	table.Must("name", table.Text("")))

func visitFields() []table.Field {
	var fields []table.Field
	for _, name := range visitNames {
		fields = append(fields, table.Must(name, table.Map("",
			table.Must("minutes", table.Whole("", "minutes", leastGrid, mostMinutes)),
			table.Must("room", table.Word("", roomKinds...)),
			table.Must("role", table.Word("", "surgeon", "nurse", "hygienist", "desk")))))
	}
	return fields
}

func afterCareFields() []table.Field {
	var fields []table.Field
	for _, key := range AfterCareKeys {
		fields = append(fields, table.May(key, table.Whole("", "days", 1, mostAfterCare)))
	}
	return fields
}

// Clinic is a clinic file as read.
type Clinic struct {
	clinic.Settings
	File     string
	Protocol string // file with the clinic's own rule values; empty: none
	Lines    map[string]int
}

// ReadClinic reads a clinic file. Open returns the bytes of a closure file that
// it names. The faults are all there are.
func ReadClinic(file string, data []byte, open func(name string) ([]byte, error)) (Clinic, table.Faults) {
	v := table.Read(file, data, clinicFile)
	c := Clinic{File: file, Protocol: v.Get("protocol").Text(), Lines: v.Lines()}
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
	for _, x := range v.Get("closures").Items() {
		c.Closures = append(c.Closures, closure(x))
	}
	for _, name := range v.Get("closure_files").Items() {
		data, err := open(name.Text())
		if err != nil {
			name.Fault(err.Error(), "an .ics file beside the clinic file", "")
			continue
		}
		c.ClosureFiles = append(c.ClosureFiles, clinic.File{Name: name.Text(), Data: data})
	}
	c.staff(v)
	for _, e := range v.Get("after_care").Entries() {
		c.AfterCare[e.Key] = e.Value.Int()
	}
	return c, v.Faults()
}

// staff reads rooms, people and visits, and complains of a visit that nobody
// can hold or that has no room.
func (c *Clinic) staff(v *table.Value) {
	for _, x := range v.Get("rooms").Items() {
		c.Rooms = append(c.Rooms, clinic.Room{Name: x.Get("name").Text(), For: texts(x.Get("for")), Days: weekdays(x.Get("days"))})
	}
	for _, x := range v.Get("people").Items() {
		c.People = append(c.People, clinic.Person{Name: x.Get("name").Text(), Role: x.Get("role").Text(), Days: weekdays(x.Get("days"))})
	}
	faulty := func(key string) bool {
		return slices.ContainsFunc(v.Faults(), func(f table.Fault) bool { return strings.HasPrefix(f.Path, key) })
	}
	noPeople, noRooms := faulty("people"), faulty("rooms") // who and what they would be is not known
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

func closure(v *table.Value) clinic.Closure {
	c := clinic.Closure{From: dayAt(v.Get("from")), To: dayAt(v.Get("to")), Name: v.Get("name").Text()}
	if to := v.Get("to"); to != nil && !c.From.IsZero() && c.To.Before(c.From) {
		to.Fault(c.To.String()+", before it starts", "from "+c.From.String()+" on", "")
	}
	return c
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
