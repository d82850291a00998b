package ics

import (
	"fmt"
	"strings"
	"time"
)

// yearly is the rule "every year, in this month, on the nth such weekday": the
// only recurrence a VTIMEZONE of this package uses. The zero yearly is no rule.
type yearly struct {
	month   time.Month
	weekday time.Weekday
	nth     int // 1..5 from the start of the month, -1 for the last
}

// String returns the rule as the value of an RRULE (RFC 5545 3.3.10).
func (y yearly) String() string {
	return fmt.Sprintf("FREQ=YEARLY;BYMONTH=%d;BYDAY=%d%s", y.month, y.nth, strings.ToUpper(y.weekday.String()[:2]))
}

// in returns the day the rule names in a year, at the time of day of clock.
func (y yearly) in(year int, clock time.Time) time.Time {
	hour, minute, second := clock.Clock()
	if y.nth < 0 {
		last := time.Date(year, y.month+1, 0, hour, minute, second, 0, time.UTC)
		return last.AddDate(0, 0, -int(last.Weekday()-y.weekday+7)%7)
	}
	first := time.Date(year, y.month, 1, hour, minute, second, 0, time.UTC)
	return first.AddDate(0, 0, int(y.weekday-first.Weekday()+7)%7+7*(y.nth-1))
}

// ruleOf returns the rule that gives all the changes, one in each year without
// a gap, and whether there is one. The last weekday is tried before the nth:
// over a short run the two can look alike.
func ruleOf(run []change) (yearly, bool) {
	first := run[0].wall()
	for _, nth := range []int{-1, (first.Day()-1)/7 + 1} {
		rule := yearly{first.Month(), first.Weekday(), nth}
		if rule.fits(run) {
			return rule, true
		}
	}
	return yearly{}, false
}

func (y yearly) fits(run []change) bool {
	first := run[0].wall()
	for i, c := range run {
		if !c.wall().Equal(y.in(first.Year()+i, first)) {
			return false
		}
	}
	return true
}

// regularFrom returns where the changes begin to follow one rule that then holds
// until lastYear, and that rule; len(all) when they never do.
func regularFrom(all []change, lastYear int) (int, yearly) {
	if all[len(all)-1].wall().Year() == lastYear {
		for i := range all {
			if rule, ok := ruleOf(all[i:]); ok {
				return i, rule
			}
		}
	}
	return len(all), yearly{}
}
