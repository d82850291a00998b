// Package clinic is the calendar of one clinic: which days it is open, for which
// hours, why not on the others, and what a day offers to a visit of a given kind:
// hours, rooms and people. It knows public holidays by region, closures, half
// days, extra days, who is away and what else takes their time. It knows nothing
// of patients or bookings, reads no files and never asks what day it is.
package clinic

import (
	"strings"
	"time"

	"graftclock/internal/day"
)

// Settings is everything a clinic file says. New checks the parts the calendar
// rests on; letterhead, grid and after-care are carried for others unchecked.
type Settings struct {
	Name            string   // as printed on letters
	ShortName       string   // as printed in calendars; "" = Name
	Address         []string // one line each
	Phone           string
	OutOfHours      string // number for the night and the weekend
	EmergencyNumber string // the public emergency number, such as 112

	Zone   string // IANA zone name; turns the instants of closure files into days
	Region string // ISO 3166-1 or 3166-2 code; "" = no public holidays but the added ones

	Holidays     Holidays
	Hours        Week
	Closures     []Closure
	HalfDays     []SpecialDay
	ExtraDays    []SpecialDay
	ClosureFiles []File

	GridMinutes int // step of bookable times in minutes
	Rooms       []Room
	People      []Person
	Visits      map[string]Visit // by visit name, such as "placement"
	AfterCare   map[string]int   // the clinic's own after-care presets, days
}

// Week holds the opening hours by time.Weekday, each day's in order and without
// overlap. A weekday without hours is a closing day; the zero Week never opens.
type Week [7][]day.Hours

// Holidays says how the clinic keeps its region's public holidays. The zero value
// keeps only the observed day of each.
type Holidays struct {
	AlsoClosedOnTheDay bool       // closed on a Saturday or Sunday holiday that is observed on another day
	Drop               []string   // names of holidays on which the clinic works
	Add                []NamedDay // local holidays and those proclaimed since the list was made
}

// NamedDay is a day with the name people give it.
type NamedDay struct {
	Day  day.Day
	Name string
}

// Closure is a run of days, both ends included, on which the clinic is closed, a
// person is away or a room is out of use. No To means one day.
type Closure struct {
	From, To day.Day
	Name     string
}

// SpecialDay is one day with hours of its own: a half day shortens an open day
// and never opens a closed one, an extra day opens whatever else is said of it.
type SpecialDay struct {
	Day   day.Day
	Hours []day.Hours
	Name  string
}

// File is an iCalendar file with closed days or with time that somebody or
// something is taken: its name, for messages, and its bytes. Events that repeat
// count as often as they do.
type File struct {
	Name string
	Data []byte
}

// Room is a room, the kinds of visit it serves, the weekdays it can be had (the
// empty set means every open day), when it is out of use, and files with time
// that it is taken. No two rooms have one name.
type Room struct {
	Name      string
	For       []string
	Days      day.Weekdays
	OutOfUse  []Closure
	BusyFiles []File
}

// Person is someone of the clinic, their role, the weekdays they are in (the
// empty set means every open day), when they are away, and files with time that
// they are taken. No two people have one name.
type Person struct {
	Name      string
	Role      string
	Days      day.Weekdays
	Absent    []Closure
	BusyFiles []File
}

// Visit is what one kind of visit takes: minutes (0 = no time of its own), a kind
// of room ("" = none) and a role ("" = anyone). The zero Visit takes an open day.
type Visit struct {
	Minutes    int
	Room, Role string
}

// Problem is one thing wrong in the settings: the field as the clinic file spells
// it, such as holidays.drop[0], and what is wrong with it.
type Problem struct {
	Field, Message string
}

// String returns "field: message".
func (p Problem) String() string {
	if p.Field == "" {
		return p.Message
	}
	return p.Field + ": " + p.Message
}

// Problems are all the faults of one clinic's settings together. It is the error
// New returns for settings it cannot use.
type Problems []Problem

// Error lists the problems, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// weekdayKeys are the keys of the hours in a clinic file, by time.Weekday.
var weekdayKeys = [7]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// weekdayOf returns the weekday of the day that lies offset days after a day
// with the weekday first.
func weekdayOf(first time.Weekday, offset int) time.Weekday {
	return time.Weekday((int(first) + offset) % len(weekdayKeys))
}
