package clinic

import (
	"iter"
	"slices"
	"time"

	"github.com/teambition/rrule-go"
)

// withinDays reports whether the rule repeats by the hour, the minute or the
// second. The library is not asked for these: with an INTERVAL that never meets
// BYHOUR, BYMINUTE or BYSECOND it does not come back.
func (u rule) withinDays() bool { return u.Freq > rrule.DAILY }

// steps returns every time that such a rule looks at, from the start on and without
// end, and whether it takes it.
func (u rule) steps(start time.Time) iter.Seq2[time.Time, bool] {
	unit := map[rrule.Frequency]time.Duration{rrule.HOURLY: time.Hour, rrule.MINUTELY: time.Minute, rrule.SECONDLY: time.Second}[u.Freq]
	within := u.within(start)
	return func(yield func(time.Time, bool) bool) {
		for at := start.Truncate(unit); ; at = at.Add(time.Duration(max(u.Interval, 1)) * unit) {
			for _, d := range within {
				if wall := at.Add(d); !yield(wall, u.takes(wall)) {
					return
				}
			}
		}
	}
}

// within returns what one step holds: BYMINUTE and BYSECOND make several times of
// an hour, BYSECOND of a minute (RFC 5545 section 3.3.10).
func (u rule) within(start time.Time) []time.Duration {
	minutes, seconds := []int{0}, []int{0}
	if u.Freq < rrule.SECONDLY {
		seconds = orElse(u.Bysecond, start.Second())
	}
	if u.Freq < rrule.MINUTELY {
		minutes = orElse(u.Byminute, start.Minute())
	}
	var list []time.Duration
	for _, m := range minutes {
		for _, s := range seconds {
			list = append(list, time.Duration(m)*time.Minute+time.Duration(s)*time.Second)
		}
	}
	return list
}

// takes reports whether no part of the rule leaves a time out.
func (u rule) takes(wall time.Time) bool {
	year, month, dayOfMonth := wall.Date()
	lastDay := time.Date(year, month+1, 0, 0, 0, 0, 0, time.UTC).Day()
	lastOfYear := time.Date(year, time.December, 31, 0, 0, 0, 0, time.UTC).YearDay()
	is := func(list []int, n int) bool { return len(list) == 0 || slices.Contains(list, n) }
	return is(u.Byhour, wall.Hour()) && is(u.Byminute, wall.Minute()) && is(u.Bysecond, wall.Second()) && is(u.Bymonth, int(month)) &&
		has(u.Bymonthday, dayOfMonth, lastDay) && has(u.Byyearday, wall.YearDay(), lastOfYear) &&
		(len(u.Byweekday) == 0 || slices.ContainsFunc(u.Byweekday, func(w rrule.Weekday) bool { return daysInto(wall.Weekday(), w) == 0 }))
}

// mostAtOnce is how many times the library may work out before it gives the first
// of them: those of a year, month, week or day.
func (u rule) mostAtOnce() int {
	if u.withinDays() {
		return 1
	}
	days := map[rrule.Frequency]int{rrule.YEARLY: 366, rrule.MONTHLY: 31, rrule.WEEKLY: 7, rrule.DAILY: 1}[u.Freq]
	return days * max(len(u.Byhour), 1) * max(len(u.Byminute), 1) * max(len(u.Bysecond), 1)
}

func orElse(list []int, one int) []int {
	if len(list) > 0 {
		return list
	}
	return []int{one}
}
