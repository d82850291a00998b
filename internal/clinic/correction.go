package clinic

import (
	"fmt"
	"slices"
	"time"

	"github.com/rickar/cal/v2"
)

// correction mends one holiday list of the library. Adding a day the library has
// by now is harmless, so a correction outlives the fault it was made for.
type correction struct {
	code    string
	base    string // start from this code's list; "" = the code's own
	replace bool   // add is the whole list
	drop    []*cal.Holiday
	add     []*cal.Holiday
	reason  string
	source  string
	status  standing
}

// standing says how far a correction can be relied on.
type standing string

const (
	statute    standing = "statute"
	notice     standing = "public notice"
	fromMemory standing = "from memory"
)

// corrections holds those of every part of the world, in order of application.
var corrections = slices.Concat(europeanCorrections, swissCorrections, otherCorrections)

// corrected returns a region's list with its corrections, a note for each, and
// whether there is such a list.
func corrected(code string) (list []*cal.Holiday, notes []string, ok bool) {
	list, ok = lists[code]
	list = slices.Clone(list)
	for _, c := range corrections {
		if c.code != code {
			continue
		}
		list, ok = c.apply(list), true
		if c.reason != "" {
			notes = append(notes, fmt.Sprintf("holiday list %s corrected: %s (%s; %s)", code, c.reason, c.source, c.status))
		}
	}
	return list, notes, ok
}

func (c correction) apply(list []*cal.Holiday) []*cal.Holiday {
	switch {
	case c.replace:
		list = nil
	case c.base != "":
		list = slices.Clone(lists[c.base])
	}
	list = slices.DeleteFunc(list, func(h *cal.Holiday) bool { return slices.Contains(c.drop, h) })
	for _, h := range c.add {
		if !slices.Contains(list, h) {
			list = append(list, h)
		}
	}
	return list
}

// toMonday moves a weekend holiday to the Monday after.
var toMonday = []cal.AltDay{{Day: time.Saturday, Offset: 2}, {Day: time.Sunday, Offset: 1}}

// secondToTuesday is toMonday for the later of two days in a row, both moved.
var secondToTuesday = []cal.AltDay{{Day: time.Saturday, Offset: 2}, {Day: time.Sunday, Offset: 2}, {Day: time.Monday, Offset: 1}}

// yearly is a holiday on the same day of every year.
func yearly(name string, month time.Month, dayOfMonth int, observed []cal.AltDay) *cal.Holiday {
	return &cal.Holiday{Name: name, Type: cal.ObservancePublic, Month: month, Day: dayOfMonth, Observed: observed, Func: cal.CalcDayOfMonth}
}

// since is a holiday on the same day of every year from the first on.
func since(first int, name string, month time.Month, dayOfMonth int, observed []cal.AltDay) *cal.Holiday {
	h := yearly(name, month, dayOfMonth, observed)
	h.StartYear = first
	return h
}

// once is a holiday of one year only.
func once(year int, name string, month time.Month, dayOfMonth int) *cal.Holiday {
	h := since(year, name, month, dayOfMonth, nil)
	h.EndYear = year
	return h
}

// computed is a holiday whose day a function finds; the zero time means none in
// that year.
func computed(name string, find func(year int) time.Time) *cal.Holiday {
	return &cal.Holiday{Name: name, Type: cal.ObservancePublic, Func: func(_ *cal.Holiday, year int) time.Time { return find(year) }}
}

// nthWeekday is a holiday on the nth such weekday of a month, days later.
func nthWeekday(name string, n int, weekday time.Weekday, month time.Month, later int) *cal.Holiday {
	return &cal.Holiday{Name: name, Type: cal.ObservancePublic, Month: month, Weekday: weekday, Offset: n, CalcOffset: later, Func: cal.CalcWeekdayOffset}
}

func date(year int, month time.Month, dayOfMonth int) time.Time {
	return time.Date(year, month, dayOfMonth, 0, 0, 0, 0, time.UTC)
}

// orthodoxEaster returns Easter Sunday by the Julian reckoning.
func orthodoxEaster(year int) time.Time {
	return cal.CalcEasterOffset(&cal.Holiday{Julian: true}, year)
}
