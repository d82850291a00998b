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
// the table, on the wall clock of the clinic, in whole minutes. Where the clock is
// changed in between, that is all from the earliest time on the wall to the latest.
func (b *builder) stretches(from, to time.Time) []stretch {
	from = from.In(b.zone)
	if start, _ := day.AtWall(b.span.From.Time(), b.zone); from.Before(start) {
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
	next := day.NextChange(at, at.Add(time.Duration(midnight)*time.Minute-wallClock(at)))
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
