package day

import "time"

// WallOf returns what calendar and clock on the wall show at an instant in its own
// zone, carried by a time in UTC.
func WallOf(at time.Time) time.Time {
	_, offset := at.Zone()
	return at.UTC().Add(time.Duration(offset) * time.Second)
}

// AtWall returns the instant at which the wall of a zone shows what WallOf would
// return, and how often it is shown. Twice, where clocks go back, means the first
// time; never, where clocks jump over it, means the instant that the clock would have
// reached without the change (RFC 5545 section 3.3.5). Of these two time.Date promises
// nothing.
func AtWall(wall time.Time, zone *time.Location) (at time.Time, shown int) {
	early, late := readings(wall, zone)
	isEarly, isLate := WallOf(early).Equal(wall), WallOf(late).Equal(wall)
	switch {
	case isEarly && isLate && !early.Equal(late):
		return early, 2
	case isEarly:
		return early, 1
	case isLate:
		return late, 1
	}
	return early, 0
}

// LastAtWall is AtWall, but what is shown twice means the second time.
func LastAtWall(wall time.Time, zone *time.Location) time.Time {
	at, shown := AtWall(wall, zone)
	if shown > 1 {
		_, at = readings(wall, zone)
	}
	return at
}

// readings reads a time on the wall by the clock of the day before and by that of the
// day after. That is enough: the two nearest changes of any zone's clock lie almost
// four days apart (Africa/Freetown in 1939).
func readings(wall time.Time, zone *time.Location) (early, late time.Time) {
	by := func(near time.Time) time.Time {
		_, offset := near.In(zone).Zone()
		return wall.Add(-time.Duration(offset) * time.Second).In(zone)
	}
	const day = secondsPerDay * time.Second
	return by(wall.Add(-day)), by(wall.Add(day))
}

// NextChange returns the first whole second after from, and not after to, at which
// the clock of from's zone has been changed since from; to if there is none. From and
// to lie at most three days apart. Time.ZoneBounds would not do: past the last change
// in the zone data its end may lie before the instant asked about, on 31 December of
// a leap year.
func NextChange(from, to time.Time) time.Time {
	zone := from.Location()
	_, before := from.Zone()
	same := func(second int64) bool {
		_, offset := time.Unix(second, 0).In(zone).Zone()
		return offset == before
	}
	low, high := from.Unix(), to.Unix()
	if same(high) {
		return to
	}
	for high-low > 1 {
		if middle := low + (high-low)/2; same(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return time.Unix(high, 0).In(zone)
}
