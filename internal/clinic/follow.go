package clinic

import (
	"fmt"
	"iter"
	"slices"
	"time"

	"github.com/teambition/rrule-go"
)

// mostInstances bounds how often one event may repeat, from its first start to the
// end of the table: once a day for 270 years, every hour for eleven.
const mostInstances = 100_000

// walls returns the times on the wall at which the rule looks, in order, from some
// time before the start up to the end, and whether it takes them.
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
	u.Dtstart, u.Until = start.AddDate(ahead, 0, 0), end.AddDate(ahead, 0, 0)
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

// follow adds the instances that a rule makes.
func (r *recurrence) follow(text string) error {
	u, err := readRule(text, r.first.from, r.b.zone)
	if err != nil {
		return err
	}
	tooMany := fmt.Errorf("with FREQ=%s it repeats more than %d times until %s, which is not read", u.Freq, mostInstances, r.b.span.To)
	if u.mostAtOnce() > mostInstances {
		return tooMany
	}
	zone, start := r.first.from.at.Location(), r.first.from.wall
	looked, taken := 0, 0
	for wall, takes := range u.walls(start, r.end) {
		m := onWall(wall, zone, r.first.from.allDay)
		if looked++; wall.After(r.end) || u.over(m) {
			return nil
		}
		if looked > mostInstances {
			return tooMany
		}
		if !takes || wall.Before(start) {
			continue
		}
		r.add(r.from(m))
		if taken++; taken == u.count {
			return nil
		}
	}
	return nil
}
