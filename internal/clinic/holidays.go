package clinic

import (
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/rickar/cal/v2"

	"graftclock/internal/day"
)

// The library reckons in a zone of its own, by default the machine's. A zone that
// changes its clocks at midnight has days without 00:00, whose holidays would
// land a day early; UTC has none.
func init() { cal.DefaultLoc = time.UTC }

// calculating guards every call of Holiday.Calc: some lists write to their own
// shared values while they calculate.
var calculating sync.Mutex

// daysOff returns the days of the holidays that close the clinic in the span,
// sorted. The library's own IsWorkday is never asked: it forgets the day itself
// when a holiday is observed on another, and lets one holiday hide another.
func daysOff(list []*cal.Holiday, span day.Span, alsoOnTheDay bool) (off []NamedDay) {
	calculating.Lock()
	defer calculating.Unlock()
	keep := func(d day.Day, name string) {
		if span.Contains(d) {
			off = append(off, NamedDay{d, name})
		}
	}
	// An observed day may lie in the year before or after the holiday's own.
	for year := span.From.Year() - 1; year <= span.To.Year()+1; year++ {
		for _, h := range list {
			actual, observed, ok := occurrence(h, year)
			switch {
			case !ok:
			case actual == observed:
				keep(actual, h.Name)
			default:
				if alsoOnTheDay || !onWeekend(actual) {
					keep(actual, h.Name)
				}
				keep(observed, h.Name+", observed")
			}
		}
	}
	slices.SortStableFunc(off, func(a, b NamedDay) int { return a.Day.Sub(b.Day) })
	return off
}

// occurrence returns the day of a holiday in a year and the day it is observed.
// It refuses the zero time (not kept that year), a day of another year (a rule
// asked beyond its table) and a day the month lacks (29 February would roll over
// to 1 March).
func occurrence(h *cal.Holiday, year int) (actual, observed day.Day, ok bool) {
	onDay, onObserved := h.Calc(year)
	if onDay.IsZero() || onObserved.IsZero() || onDay.Year() != year {
		return day.Day{}, day.Day{}, false
	}
	if h.Month != 0 && h.Day > daysIn(year, h.Month) {
		return day.Day{}, day.Day{}, false
	}
	return day.Of(onDay), day.Of(onObserved), true
}

func daysIn(year int, month time.Month) int {
	return time.Date(year, month+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

func onWeekend(d day.Day) bool {
	w := d.Weekday()
	return w == time.Saturday || w == time.Sunday
}

// dropHolidays removes the named holidays from the list and returns the indexes
// of the names it does not know.
func dropHolidays(list []*cal.Holiday, names []string) (kept []*cal.Holiday, unknown []int) {
	drop := map[string]bool{}
	for _, h := range list {
		drop[folded(h.Name)] = false
	}
	for i, name := range names {
		if _, known := drop[folded(name)]; known {
			drop[folded(name)] = true
		} else {
			unknown = append(unknown, i)
		}
	}
	kept = slices.DeleteFunc(slices.Clone(list), func(h *cal.Holiday) bool { return drop[folded(h.Name)] })
	return kept, unknown
}

// folded makes names comparable whatever their case and apostrophe.
func folded(name string) string {
	return strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), "’", "'"))
}

// holidayNames lists the names of a holiday list once each, in its order.
func holidayNames(list []*cal.Holiday) (names []string) {
	for _, h := range list {
		if !slices.Contains(names, h.Name) {
			names = append(names, h.Name)
		}
	}
	return names
}
