package ics

import (
	"time"

	"graftclock/internal/day"
)

// change is one change of a zone's offset from UTC.
type change struct {
	at       time.Time // the first instant of the new offset
	from, to int       // seconds east of UTC, before and after
	name     string    // abbreviation of the new offset, such as CET
}

// wall returns the wall-clock time of the change as the old offset shows it,
// which is how a VTIMEZONE names it (RFC 5545 3.6.5), carried in UTC.
func (c change) wall() time.Time {
	return c.at.UTC().Add(time.Duration(c.from) * time.Second)
}

// changes returns the changes of loc after from, up to and including to, oldest
// first. It steps from day to day.
func changes(loc *time.Location, from, to time.Time) []change {
	const step = 24 * time.Hour
	var found []change
	_, before := from.In(loc).Zone()
	for at := from.In(loc); at.Before(to); {
		next := at.Add(step)
		if to.Before(next) {
			next = to.In(loc)
		}
		if _, after := next.Zone(); after != before {
			next = day.NextChange(at, next)
			name, after := next.Zone()
			found = append(found, change{next, before, after, name})
			before = after
		}
		at = next
	}
	return found
}

// inForce returns the change that set the offset in force at an instant, or,
// when nothing changed since 1970, one that changes nothing in that year.
func inForce(loc *time.Location, at time.Time) change {
	for end := at; end.Year() >= epochYear; end = end.AddDate(-1, 0, 0) {
		if found := changes(loc, end.AddDate(-1, 0, 0), end); len(found) > 0 {
			return found[len(found)-1]
		}
	}
	name, offset := at.In(loc).Zone()
	epoch := yearStart(epochYear).Add(-time.Duration(offset) * time.Second)
	return change{epoch, offset, offset, name}
}

const epochYear = 1970

func yearStart(year int) time.Time { return time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC) }
