package clinic

import (
	"fmt"
	"iter"
	"slices"
	"time"

	"github.com/teambition/rrule-go"

	"graftclock/internal/day"
)

// mostInstances bounds how often one event may repeat, from its first start to the
// end of the table: once a day for 270 years, every hour for eleven. MostLooks bounds
// all events of a file together; one that has no more days up to the year 9999 counts
// for outOfDays of them, which take as long to find out.
const (
	mostInstances = 100_000
	mostLooks     = 5_000_000
	outOfDays     = 25_000
)

// walls returns the times on the wall at which the rule looks, in order, from some
// time before the start on, and whether it takes them. All up to the end are there.
func (u rule) walls(start, end time.Time) iter.Seq2[time.Time, bool] {
	if u.withinDays() {
		return u.steps(start)
	}
	// The library looks for a first day until the year 9999. The calendar is the
	// same every 400 years, so it starts as near to that as can be.
	const cycle = 400
	ahead := (rrule.MAXYEAR - end.Year()) / cycle * cycle
	weeks := u.Byweekno
	u.Byweekno = nil
	// Without an end it would stop after 292 years.
	u.Dtstart, u.Until = start.AddDate(ahead, 0, 0), time.Date(rrule.MAXYEAR, time.December, 31, 0, 0, 0, 0, time.UTC)
	if u.Freq == rrule.WEEKLY && len(u.Bysetpos) > 0 {
		// The library takes the first week to begin with the start, which puts its
		// days into other positions.
		u.Dtstart = u.Dtstart.AddDate(0, 0, -daysInto(u.Dtstart.Weekday(), u.Wkst))
	}
	return func(yield func(time.Time, bool) bool) {
		r, err := rrule.NewRRule(u.ROption)
		if err != nil {
			return // readRule has told
		}
		next := r.Iterator()
		for wall, more := next(); more; wall, more = next() {
			if !yield(wall.AddDate(-ahead, 0, 0), inWeeks(weeks, wall, u.Wkst)) {
				return
			}
		}
	}
}

// daysInto returns how many days of a week that starts on first lie before the
// weekday.
func daysInto(w time.Weekday, first rrule.Weekday) int {
	return (int(w) + 2*daysPerWeek - 1 - first.Day()) % daysPerWeek
}

// inWeeks reports whether one of the numbered weeks holds a time; no numbers mean
// all weeks. The library numbers the last week of some years wrong. A week belongs
// to the year that has four of its days (RFC 5545 section 3.3.10), and so the one
// of 28 December is the last of its year.
func inWeeks(numbers []int, wall time.Time, first rrule.Weekday) bool {
	middle := func(at time.Time) time.Time { return at.AddDate(0, 0, 3-daysInto(at.Weekday(), first)) }
	number := func(at time.Time) int { return (middle(at).YearDay()-1)/daysPerWeek + 1 }
	last := number(time.Date(middle(wall).Year(), time.December, 28, 0, 0, 0, 0, time.UTC))
	return has(numbers, number(wall), last)
}

// has reports whether a list is empty or has a number that is counted from 1 to
// last, or its place counted from the end as a negative number.
func has(list []int, n, last int) bool {
	return len(list) == 0 || slices.Contains(list, n) || slices.Contains(list, n-last-1)
}

// daysPerWeek is seven.
const daysPerWeek = 7

// follow hands the starts that a rule makes from the first on to take, in order, up to
// the last day anywhere, or some beyond.
func (r *eventReader) follow(u rule, first moment, last day.Day, take func(moment)) error {
	end := endAnywhere(last)
	tooMany := fmt.Errorf("with FREQ=%s it repeats more than %d times until %s, which is not read", u.Freq, mostInstances, last)
	if u.mostAtOnce() > mostInstances {
		return tooMany
	}
	looked, taken, cost := 0, 0, 1
	if len(u.Bysetpos) > 0 {
		cost = u.mostAtOnce() // of which positions leave a few
	}
	for wall, takes := range u.walls(first.wall, end) {
		m := onWall(wall, first.at.Location(), first.allDay)
		if wall.After(end) || u.over(m) {
			return nil
		}
		looked++
		r.looked += cost
		switch {
		case looked > mostInstances:
			return tooMany
		case r.looked > mostLooks:
			return errTooOften
		case !takes || wall.Before(first.wall):
			continue
		}
		take(m)
		if taken++; taken == u.count {
			return nil
		}
	}
	if r.looked += outOfDays; r.looked > mostLooks {
		return errTooOften
	}
	return nil
}

// errTooOften ends the reading of a file.
var errTooOften = fmt.Errorf("the file up to this event repeats more than %d times, which is not read", mostLooks)

// endAnywhere is a time that comes after the last day in every zone.
func endAnywhere(last day.Day) time.Time { return last.AddDays(1 + 2).Time() }
