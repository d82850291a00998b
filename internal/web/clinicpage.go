package web

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// clinicPage is the clinic as its file now stands.
type clinicPage struct {
	clinicHead
	Letterhead []namedLine
	Hours      []weekdayLine
	Grid       int
	Holidays   []dayLine
	Working    []string // holidays on which the clinic is open
	Closures   []runLine
	OldClosed  []runLine
	Files      []string // with closed days
	HalfDays   []dayLine
	ExtraDays  []dayLine
	Rooms      []roomLine
	People     []personLine
	Visits     []visitLine
	AfterCare  []presetLine
	Notes      []string
}

type namedLine struct{ Name, Says string }

type weekdayLine struct{ Key, Weekday, Hours string }

// dayLine is one day with its name, and its hours where it has any of its own.
type dayLine struct{ Day, Long, Name, Hours string }

// runLine is a run of days with what a button sends to take it away.
type runLine struct {
	Act            string // that takes it away
	Who            string
	From, To, Name string
	Says           string
}

// runEntry is a run of days with whether who looks may take it away.
type runEntry struct {
	Run     runLine
	Changes bool
}

// Runs gives runs of days what their buttons ask for.
func (p clinicPage) Runs(lines []runLine) []runEntry {
	entries := make([]runEntry, len(lines))
	for n, line := range lines {
		entries[n] = runEntry{line, p.Changes}
	}
	return entries
}

type roomLine struct {
	Name, For, Days string
	Away, Old       []runLine
	Files           []string // with time that it is taken
}

type personLine struct {
	Name, Role, Days, SignIn string
	Away, Old                []runLine
	Files                    []string
}

type visitLine struct {
	Name, Room, Role string
	Minutes          int
}

type presetLine struct {
	Key, Name string
	Days      int // 0: not set
}

// getClinic shows the clinic.
func (q *request) getClinic() error {
	c := q.keeper.Clinic
	page := clinicPage{clinicHead: q.clinicHead("clinic", nil), Letterhead: letterhead(c), Grid: c.GridMinutes, Working: c.Holidays.Drop, Files: fileNames(c.ClosureFiles)}
	for _, w := range weekOrder {
		page.Hours = append(page.Hours, weekdayLine{weekdayKey(w), w.String(), orElse(spelled(hoursText(c.Hours[w])), "closed")})
	}
	page.Closures, page.OldClosed = q.runLines("reopen", "", c.Closures)
	page.HalfDays, page.ExtraDays = q.specialDays(c.HalfDays), q.specialDays(c.ExtraDays)
	q.holidays(&page)
	page.Rooms = q.roomLines(c)
	people, err := q.personLines(c)
	if err != nil {
		return err
	}
	page.People, page.Visits = people, visitLines(c)
	for _, key := range casefile.AfterCareKeys {
		page.AfterCare = append(page.AfterCare, presetLine{key, afterCareWords(key), c.AfterCare[key]})
	}
	return q.show(http.StatusOK, "clinic", "Clinic", page)
}

func letterhead(c casefile.Clinic) []namedLine {
	emergency := c.EmergencyNumber
	if emergency == "" {
		emergency = "that of the region"
	}
	return []namedLine{
		{"Name", c.Name}, {"In calendars", c.ShortName}, {"Address", strings.Join(c.Address, ", ")}, {"Telephone", c.Phone},
		{"At night and on closed days", c.OutOfHours}, {"Emergency number", emergency}, {"Public holidays of", c.Region}, {"Time zone", c.Zone},
	}
}

func fileNames(files []clinic.File) []string {
	var names []string
	for _, f := range files {
		names = append(names, f.Name)
	}
	return names
}

// runLines writes runs of days in order, those that have passed apart.
func (q *request) runLines(act, who string, runs []clinic.Closure) (ahead, old []runLine) {
	runs = slices.Clone(runs)
	slices.SortStableFunc(runs, func(a, b clinic.Closure) int { return a.From.Sub(b.From) })
	for _, r := range runs {
		line := runLine{act, who, r.From.String(), r.To.String(), r.Name, runWords(r)}
		if r.To.Before(q.on) {
			old = append(old, line)
		} else {
			ahead = append(ahead, line)
		}
	}
	return ahead, old
}

// specialDays writes days with hours of their own, from today on and in order.
func (q *request) specialDays(days []clinic.SpecialDay) []dayLine {
	var list []dayLine
	for _, s := range days {
		if !s.Day.Before(q.on) {
			list = append(list, dayLine{s.Day.String(), longDay(s.Day), s.Name, spelled(hoursText(s.Hours))})
		}
	}
	slices.SortStableFunc(list, func(a, b dayLine) int { return strings.Compare(a.Day, b.Day) })
	return list
}

// holidays lists the public holidays of the coming year, and what is to be known of the
// clinic's calendar.
func (q *request) holidays(page *clinicPage) {
	calendar, faults := q.keeper.Calendar(q.on.Year())
	if len(faults) > 0 {
		return
	}
	const year = 12
	for _, h := range calendar.Holidays(day.Span{From: q.on, To: q.on.AddMonths(year)}) {
		page.Holidays = append(page.Holidays, dayLine{Long: longDay(h.Day), Name: h.Name})
	}
	for _, note := range calendar.Notes() {
		page.Notes = append(page.Notes, capital(spelled(note)))
	}
}

func (q *request) roomLines(c casefile.Clinic) []roomLine {
	var list []roomLine
	for _, r := range c.Rooms {
		line := roomLine{Name: r.Name, For: strings.Join(r.For, ", "), Days: orElse(weekdayWords(r.Days), "every open day"), Files: fileNames(r.BusyFiles)}
		line.Away, line.Old = q.runLines("in-use", r.Name, r.OutOfUse)
		list = append(list, line)
	}
	return list
}

// personLines lists the people with whether they can sign in.
func (q *request) personLines(c casefile.Clinic) ([]personLine, error) {
	accounts, err := q.keeper.Accounts()
	signIns := map[string]bool{}
	for _, a := range accounts {
		signIns[a.Name] = a.Ended.IsZero()
	}
	var list []personLine
	for _, p := range c.People {
		line := personLine{Name: p.Name, Role: p.Role, Days: orElse(weekdayWords(p.Days), "every open day"), SignIn: "cannot sign in", Files: fileNames(p.BusyFiles)}
		if signIns[p.Name] {
			line.SignIn = "can sign in"
		}
		line.Away, line.Old = q.runLines("back", p.Name, p.Absent)
		list = append(list, line)
	}
	return list, err
}

// visitLines lists the visits in the order of the plan.
func visitLines(c casefile.Clinic) []visitLine {
	var list []visitLine
	for _, key := range clinicKeys("visits") {
		if v, ok := c.Visits[key]; ok {
			list = append(list, visitLine{Name: stepName(graft.Milestone{Step: graft.Step(key)}), Minutes: v.Minutes, Room: v.Room, Role: v.Role})
		}
	}
	return list
}

// clinicKeys are the keys that the clinic file may have at a place.
func clinicKeys(place string) []string {
	var keys []string
	for _, f := range casefile.ClinicFile().Fields {
		if f.Key == place {
			for _, inner := range f.Shape.Fields {
				keys = append(keys, inner.Key)
			}
		}
	}
	return keys
}

// weekdayWords are weekdays by their names; empty for none.
func weekdayWords(set day.Weekdays) string {
	const whole = 7
	var list []string
	for _, w := range weekOrder {
		if set.Has(w) {
			list = append(list, w.String())
		}
	}
	if len(list) == whole {
		return "every weekday"
	}
	if first, last := time.Monday, time.Friday; set == day.WeekdaySet(time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday) {
		return first.String() + " to " + last.String()
	}
	return strings.Join(list, ", ")
}

func orElse(text, other string) string {
	if text == "" {
		return other
	}
	return text
}
