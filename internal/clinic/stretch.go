package clinic

import (
	"time"

	"graftclock/internal/day"
)

// midnight is the end of a day.
const midnight = day.Clock(24 * 60)

// wholeDay is all the time there is in a day.
var wholeDay = day.Hours{From: 0, To: midnight}

// stretch is some time of one day.
type stretch struct {
	day   day.Day
	hours day.Hours
}

// stretches returns what the time from one moment to another takes of each day of
// the table, on the wall clock of the clinic, in whole minutes. An hour that the
// clock leaves out or shows twice is taken whole when any of it is.
func (b *builder) stretches(from, to time.Time) []stretch {
	from = from.In(b.zone)
	year, month, dayOfMonth := b.span.From.Date()
	if start := time.Date(year, month, dayOfMonth, 0, 0, 0, 0, b.zone); from.Before(start) {
		from = start
	}
	var list []stretch
	for at := from; at.Before(to) && !day.Of(at).After(b.span.To); {
		next := sameClock(at, to)
		list = b.addStretch(list, day.Of(at), wallClock(at), next.Sub(at))
		at = next
	}
	return list
}

// addStretch adds a time of day and the length that follows it without a change of
// the clock, and joins it with what the list has of that day at its end.
func (b *builder) addStretch(list []stretch, d day.Day, start, length time.Duration) []stretch {
	hours := day.Hours{
		From: day.Clock(start / time.Minute),
		To:   day.Clock((start + length + time.Minute - 1) / time.Minute),
	}
	n := len(list)
	switch {
	case !b.span.Contains(d):
		return list
	case n == 0 || list[n-1].day != d:
		return append(list, stretch{d, hours})
	}
	known := &list[n-1].hours
	known.From, known.To = min(known.From, hours.From), max(known.To, hours.To)
	return list
}

// sameClock returns the end of the time from a moment on in which the day is the
// same and the clock is not changed; to if that comes first.
func sameClock(at, to time.Time) time.Time {
	next := at.Add(time.Duration(midnight)*time.Minute - wallClock(at))
	if _, change := at.ZoneBounds(); !change.IsZero() && change.Before(next) {
		next = change.In(at.Location())
	}
	if to.Before(next) {
		return to
	}
	return next
}

// wallClock returns the time of day as a clock on the wall shows it.
func wallClock(at time.Time) time.Duration {
	hour, minute, second := at.Clock()
	return time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute + time.Duration(second)*time.Second + time.Duration(at.Nanosecond())
}

// wallOf returns what clock and calendar on the wall show, as a time in UTC.
func wallOf(at time.Time) time.Time {
	_, offset := at.Zone()
	return at.UTC().Add(time.Duration(offset) * time.Second)
}

// atWall returns when the wall of a zone shows what wallOf would return. What it
// shows twice is the first time, and what it leaves out is told by the clock
// before it was changed (RFC 5545 section 3.3.5); of these time.Date promises
// nothing.
func atWall(wall time.Time, zone *time.Location) time.Time {
	early, late := readings(wall, zone)
	if !wallOf(early).Equal(wall) && wallOf(late).Equal(wall) {
		return late
	}
	return early
}

// lastAtWall is atWall, but what is shown twice is the second time.
func lastAtWall(wall time.Time, zone *time.Location) time.Time {
	if _, late := readings(wall, zone); wallOf(late).Equal(wall) {
		return late
	}
	return atWall(wall, zone)
}

// readings reads a time on the wall by the clock of the day before and by that of
// the day after. No zone changes its clock twice in two days.
func readings(wall time.Time, zone *time.Location) (early, late time.Time) {
	by := func(near time.Time) time.Time {
		_, offset := near.In(zone).Zone()
		return wall.Add(-time.Duration(offset) * time.Second).In(zone)
	}
	const day = 24 * time.Hour
	return by(wall.Add(-day)), by(wall.Add(day))
}
