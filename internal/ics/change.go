package ics

import "time"

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
// first. It steps from day to day and halves the day that holds a change. Asking
// Time.ZoneBounds would not do: past the last tabulated change it answers with
// the ends of years, and on 31 December of a leap year with an end that lies
// before the instant asked about.
func changes(loc *time.Location, from, to time.Time) []change {
	const step = 24 * 60 * 60
	var found []change
	last := to.Unix()
	for at := from.Unix(); at < last; {
		next := min(at+step, last)
		before := offsetAt(time.Unix(at, 0), loc)
		if offsetAt(time.Unix(next, 0), loc) != before {
			next = firstOther(loc, at, next, before)
			t := time.Unix(next, 0).In(loc)
			name, after := t.Zone()
			found = append(found, change{t, before, after, name})
		}
		at = next
	}
	return found
}

// firstOther returns the first second after low, and at most high, at which the
// offset is another than before; it is another at high.
func firstOther(loc *time.Location, low, high int64, before int) int64 {
	for high-low > 1 {
		middle := low + (high-low)/2
		if offsetAt(time.Unix(middle, 0), loc) == before {
			low = middle
		} else {
			high = middle
		}
	}
	return high
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
