package ics

import (
	"slices"
	"time"

	"graftclock/internal/day"
)

// firstSureYear is the first year whose clocks a VTIMEZONE of this package
// describes; wall-clock times before it are written in UTC.
const firstSureYear = 1971

// instants returns the instants at which the clocks of loc show a wall-clock
// time, earliest first: none where clocks jump over it, two where they go back.
// The wall-clock time is carried by a time.Time in UTC.
func instants(wall time.Time, loc *time.Location) []time.Time {
	var found []time.Time
	// No zone changes its offset twice within three days, so the offsets of the
	// day before and the day after are all that can apply.
	for _, near := range []time.Time{wall.AddDate(0, 0, -1), wall.AddDate(0, 0, 1)} {
		offset := offsetAt(near, loc)
		at := wall.Add(-time.Duration(offset) * time.Second)
		if offsetAt(at, loc) == offset && !slices.ContainsFunc(found, at.Equal) {
			found = append(found, at)
		}
	}
	slices.SortFunc(found, time.Time.Compare)
	return found
}

func offsetAt(t time.Time, loc *time.Location) int {
	_, offset := t.In(loc).Zone()
	return offset
}

// resolve returns the instant a wall-clock time means and whether every reader
// agrees. A time that comes twice means its first coming, one that clocks jump
// over is read with the offset before the jump (RFC 5545 3.3.5).
func resolve(wall time.Time, loc *time.Location) (at time.Time, sure bool) {
	found := instants(wall, loc)
	if len(found) == 0 {
		before := offsetAt(wall.AddDate(0, 0, -1), loc)
		return wall.Add(-time.Duration(before) * time.Second), false
	}
	return found[0], len(found) == 1 && wall.Year() >= firstSureYear
}

// unambiguous reports whether the wall-clock time of the instant means that
// instant to every reader.
func unambiguous(at time.Time, loc *time.Location) bool {
	wall := at.UTC().Add(time.Duration(offsetAt(at, loc)) * time.Second)
	_, sure := resolve(wall, loc)
	return sure
}

// clocks are the clocks of a zone, with what is known of its days so far.
type clocks struct {
	loc  *time.Location
	days map[day.Day]bool
}

// steady reports whether the zone has one offset throughout the day, so that each
// of its wall-clock times, its midnights included, means one instant.
func (c *clocks) steady(d day.Day) bool {
	is, known := c.days[d]
	if !known {
		// Midnight to midnight on any clock lies within these three days of UTC.
		before, after := d.Time().AddDate(0, 0, -1), d.Time().AddDate(0, 0, 2)
		is = d.Year() >= firstSureYear && offsetAt(before, c.loc) == offsetAt(after, c.loc)
		c.days[d] = is
	}
	return is
}
