package demo

import (
	"bytes"
	_ "embed"
	"os"
	"slices"
	"text/template"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/ledger"
)

//go:embed clinic.yaml.tmpl
var clinicText string

// lateClosure names the closure that was entered when visits stood on its days.
const lateClosure = "New floor"

// dates are the days of the demo clinic that lie round the day it is made.
type dates struct {
	Today    day.Day
	Fair     day.Day
	Closures []clinic.Closure
	HalfDays []clinic.Closure // of one day each
	Absence  clinic.Closure   // of a surgeon

	MoreRooms  []string // of a clinic with very many cases
	MorePeople []ledger.Person
}

// datesAround returns the days of a clinic that is made on a day, without the late
// closure.
func datesAround(today day.Day) dates {
	annual := weekdayFrom(today.AddDays(120), time.Monday)
	course := weekdayFrom(today.AddDays(42), time.Monday)
	d := dates{
		Today: today,
		Fair:  weekdayFrom(today.AddDays(50), time.Friday),
		Closures: []clinic.Closure{
			{From: annual.AddDays(-52 * 7), To: annual.AddDays(-52*7 + 18), Name: "Annual closure"},
			{From: annual, To: annual.AddDays(18), Name: "Annual closure"},
		},
		HalfDays: []clinic.Closure{{From: weekdayFrom(today.AddDays(9), time.Thursday), Name: "Staff training"}},
		Absence:  clinic.Closure{From: course, To: course.AddDays(4), Name: "course"},
	}
	for year := today.Year() - 1; year <= today.Year()+1; year++ {
		if eve := day.New(year, time.December, 23); eve.Weekday() >= time.Monday && eve.Weekday() <= time.Thursday {
			d.HalfDays = append(d.HalfDays, clinic.Closure{From: eve, Name: "Christmas"})
		}
		d.Closures = append(d.Closures, clinic.Closure{From: day.New(year, time.December, 24), To: day.New(year+1, time.January, 1), Name: "Christmas closure"})
	}
	return d
}

// weekdayFrom returns the first day of a weekday on or after a day.
func weekdayFrom(d day.Day, w time.Weekday) day.Day {
	for d.Weekday() != w {
		d = d.AddDays(1)
	}
	return d
}

// clinicFile returns the clinic file of a day.
func clinicFile(path string, d dates) ([]byte, casefile.Clinic, error) {
	var text bytes.Buffer
	if err := template.Must(template.New("clinic").Parse(clinicText)).Execute(&text, d); err != nil {
		return nil, casefile.Clinic{}, err
	}
	c, faults := casefile.ReadClinic(path, text.Bytes(), os.ReadFile)
	if len(faults) > 0 {
		return nil, c, faults
	}
	return text.Bytes(), c, nil
}

// houses are the demo clinic as it was while the year was played, and as its file
// now says it is.
type houses struct {
	before, now casefile.Clinic
	text        []byte   // the file as it now is
	look        day.Day  // the day on which most happens: today, or the next open day
	late        day.Span // the late closure
	calendar    *clinic.Calendar
}

// housesAround makes the demo clinic of a day.
func housesAround(path string, today day.Day) (h houses, err error) {
	d := datesAround(today)
	if _, h.before, err = clinicFile(path, d); err != nil {
		return h, err
	}
	var faults error
	h.calendar, faults = calendarOf(h.before, today)
	if faults != nil {
		return h, faults
	}
	h.look = h.open(today)
	h.late = h.twoOpenDays(today.AddDays(16))
	d.Closures = append(slices.Clone(d.Closures), clinic.Closure{From: h.late.From, To: h.late.To, Name: lateClosure})
	h.text, h.now, err = clinicFile(path, d)
	return h, err
}

// calendarOf is the clinic's day table for all that is played.
func calendarOf(c casefile.Clinic, today day.Day) (*clinic.Calendar, error) {
	calendar, faults := c.Calendar(day.Span{From: today.AddDays(-3 * yearDays), To: today.AddDays(yearDays)})
	if len(faults) > 0 {
		return nil, faults
	}
	return calendar, nil
}

// open returns the first open day from a day on.
func (h houses) open(d day.Day) day.Day {
	for !h.isOpen(d) {
		d = d.AddDays(1)
	}
	return d
}

func (h houses) isOpen(d day.Day) bool {
	fits, _ := h.calendar.FitsAny(d)
	return fits
}

// operates reports whether a surgeon can operate on a day.
func (h houses) operates(d day.Day) bool {
	fits, _ := h.calendar.Fits(d, "placement")
	return fits
}

// closesAfter reports whether the clinic closes for days on end in the weeks after a
// day.
func (h houses) closesAfter(d day.Day) bool {
	const weeks, long = 5, 5
	for n := range weeks * 7 {
		if h.calendar.ClosedRunAfter(d.AddDays(n)) >= long {
			return true
		}
	}
	return false
}

// twoOpenDays returns the first two open days that follow each other, with a day's
// hours whole, from a day on.
func (h houses) twoOpenDays(d day.Day) day.Span {
	for d.Weekday() > time.Wednesday || !h.operates(d) || !h.operates(d.AddDays(1)) {
		d = d.AddDays(1)
	}
	return day.Span{From: d, To: d.AddDays(1)}
}
