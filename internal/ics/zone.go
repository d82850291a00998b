package ics

import (
	"cmp"
	"fmt"
	"slices"
	"sync"
	"time"
	_ "time/tzdata" // zones on machines that have none

	ical "github.com/arran4/golang-ical"
)

// proofYears is how long a rule must hold past the years of the calendar before
// an endless RRULE says so: the weekdays of the calendar repeat after 28 years,
// and over fewer a rule like "Friday on or after the 23rd" looks like "fourth
// Friday".
const proofYears = 28

// yearRange is a run of years, both included; the zero yearRange is empty.
type yearRange struct{ first, last int }

func (y yearRange) empty() bool { return y == yearRange{} }

func (y *yearRange) include(year int) {
	if y.empty() {
		*y = yearRange{year, year}
	}
	y.first, y.last = min(y.first, year), max(y.last, year)
}

// observance is one STANDARD or DAYLIGHT part of a VTIMEZONE.
type observance struct {
	change
	start time.Time // DTSTART: the wall clock of the first onset
	rule  yearly    // zero: one onset only
}

type zoneKey struct {
	name  string
	years yearRange
}

// zones keeps finished VTIMEZONEs, which nothing changes once made: a proof of
// 28 years takes a thousand times longer than writing the result.
var zones sync.Map // zoneKey -> *ical.VTimezone

// timezone returns the VTIMEZONE that is right for every instant of the years,
// and a year to each side.
func timezone(loc *time.Location, years yearRange) *ical.VTimezone {
	key := zoneKey{loc.String(), years}
	if made, ok := zones.Load(key); ok {
		return made.(*ical.VTimezone)
	}
	v := ical.NewTimezone(key.name)
	for _, o := range observances(loc, years) {
		v.Components = append(v.Components, o.component())
	}
	made, _ := zones.LoadOrStore(key, v)
	return made.(*ical.VTimezone)
}

// observances describes the zone by a rule where one is proved and change by
// change elsewhere. A zone with rules only starts them in 1970, for readers that
// take a zone without any earlier onset for UTC.
func observances(loc *time.Location, years yearRange) []observance {
	from, to := yearStart(years.first-1), yearStart(years.last+2)
	all := append([]change{inForce(loc, from)}, changes(loc, from, to.AddDate(proofYears, 0, 0))...)
	var found []observance
	regular := true
	for _, same := range alike(all) {
		start, rule := regularFrom(same, to.Year()+proofYears-1)
		if start < len(same) && !same[start].at.Before(to) {
			start = len(same) // the rule holds, but over too few years to prove it
		}
		for i, c := range same {
			if i == start {
				found = append(found, observance{c, c.wall(), rule})
			}
			if i < start && c.at.Before(to) {
				found, regular = append(found, observance{change: c, start: c.wall()}), false
			}
		}
	}
	if regular {
		for i, o := range found {
			found[i].start = o.rule.in(epochYear, o.start)
		}
	}
	slices.SortStableFunc(found, func(a, b observance) int {
		return cmp.Or(a.start.Compare(b.start), a.at.Compare(b.at))
	})
	return found
}

// alike groups changes between the same offsets, in order of first appearance.
func alike(all []change) [][]change {
	type kind struct {
		from, to int
		name     string
	}
	place := map[kind]int{}
	var groups [][]change
	for _, c := range all {
		k := kind{c.from, c.to, c.name}
		i, seen := place[k]
		if !seen {
			i = len(groups)
			place[k] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], c)
	}
	return groups
}

// component labels a change DAYLIGHT when clocks go forward. The label of the
// zone data itself is the other way round where winter is the deviation, and
// readers guess from the label.
func (o observance) component() ical.Component {
	base := ical.ComponentBase{}
	base.SetProperty(ical.ComponentPropertyDtStart, o.start.Format(localForm))
	if o.rule != (yearly{}) {
		base.SetProperty(ical.ComponentPropertyRrule, o.rule.String())
	}
	base.SetProperty(ical.ComponentProperty(ical.PropertyTzoffsetfrom), offsetText(o.from))
	base.SetProperty(ical.ComponentProperty(ical.PropertyTzoffsetto), offsetText(o.to))
	base.SetProperty(ical.ComponentProperty(ical.PropertyTzname), o.name)
	if o.to > o.from {
		return &ical.Daylight{ComponentBase: base}
	}
	return &ical.Standard{ComponentBase: base}
}

// offsetText writes an offset with seconds only where it has any (RFC 5545
// 3.3.14).
func offsetText(seconds int) string {
	sign := '+'
	if seconds < 0 {
		sign, seconds = '-', -seconds
	}
	text := fmt.Sprintf("%c%02d%02d", sign, seconds/3600, seconds/60%60)
	if seconds%60 != 0 {
		text += fmt.Sprintf("%02d", seconds%60)
	}
	return text
}
