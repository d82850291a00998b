package ics

import (
	"time"

	"graftclock/internal/day"
)

// firstSureYear is the first year whose clocks a VTIMEZONE of this package
// describes; wall-clock times before it are written in UTC.
const firstSureYear = 1971

func offsetAt(t time.Time, loc *time.Location) int {
	_, offset := t.In(loc).Zone()
	return offset
}

// resolve returns the instant a wall-clock time means, which day.AtWall decides, and
// whether every reader agrees.
func resolve(wall time.Time, loc *time.Location) (at time.Time, sure bool) {
	at, shown := day.AtWall(wall, loc)
	return at, shown == 1 && wall.Year() >= firstSureYear
}

// unambiguous reports whether the wall-clock time of the instant means that
// instant to every reader.
func unambiguous(at time.Time, loc *time.Location) bool {
	_, sure := resolve(day.WallOf(at.In(loc)), loc)
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
