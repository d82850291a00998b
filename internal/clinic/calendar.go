package clinic

import (
	"fmt"
	"slices"
	"time"

	"graftclock/internal/day"
)

// Calendar is the day table of one clinic over a horizon. It never changes once
// built and serves any number of readers at once. Only New makes a usable one.
type Calendar struct {
	horizon  day.Span
	first    time.Weekday // of horizon.From
	table    []entry      // the horizon and margin days after it
	plans    [][]day.Hours
	reasons  []Reason
	words    []string         // Words of each reason
	beneath  map[int][]string // words of what else closes a closed day
	assets   []asset
	staffs   []staff
	grid     int
	busy     []Busy
	visits   map[string]*need
	roles    map[string]*need
	holidays []NamedDay
	notes    []string
}

// entry is one day: indexes into plans, reasons and staffs, and how many closed
// days follow.
type entry struct{ plan, reason, staff, closedAfter int32 }

// closedPlan is the plan without hours.
const closedPlan = 0

// margin is how many days the table runs past the horizon, so that the closed
// days after its last days are counted too.
const margin = 62

// New builds the calendar of a clinic over the horizon, both ends included. A
// plan should reach from a year before its start to twelve years after. Settings
// it cannot use are refused with Problems, all at once.
func New(s Settings, horizon day.Span) (*Calendar, error) {
	if horizon.Days() < 1 || horizon.From.Before(day.First) || horizon.To.After(day.Last) {
		return nil, fmt.Errorf("horizon %s is no span of days within %s..%s", horizon, day.First, day.Last)
	}
	b := newBuilder(s, day.Span{From: horizon.From, To: horizon.To.AddDays(margin)})
	b.check(s)
	b.weekly(s.Hours)
	b.publicHolidays(s)
	b.halfDays(s.HalfDays)
	b.closures(s.Closures)
	b.closureFiles(s)
	b.extraDays(s.ExtraDays)
	b.absences(s)
	if !slices.ContainsFunc(b.hours[:horizon.Days()], func(h []day.Hours) bool { return len(h) > 0 }) {
		b.problem("hours", "no open day from %s to %s", horizon.From, horizon.To)
	}
	if len(b.problems) > 0 {
		return nil, b.problems
	}
	c := b.calendar(s, horizon)
	c.addNeeds(s)
	return c, nil
}

// Horizon returns the days the calendar answers for.
func (c *Calendar) Horizon() day.Span { return c.horizon }

// index returns the place of a day in the table, and whether it is in the horizon.
func (c *Calendar) index(d day.Day) (int, bool) {
	return d.Sub(c.horizon.From), c.horizon.Contains(d)
}

func (c *Calendar) outside(d day.Day) string {
	return fmt.Sprintf("%s is outside the clinic calendar, which runs from %s to %s", d, c.horizon.From, c.horizon.To)
}

// Status returns the hours of a day and why they are so. A day outside the
// horizon is an error, never a guess.
func (c *Calendar) Status(d day.Day) (Status, error) {
	i, ok := c.index(d)
	if !ok {
		return Status{}, fmt.Errorf("%s", c.outside(d))
	}
	e := c.table[i]
	return Status{slices.Clone(c.plans[e.plan]), c.reasons[e.reason]}, nil
}

// ClosedRunAfter returns how many closed days in a row follow the day, or -1
// for a day outside the horizon. Past the horizon it counts two months on.
func (c *Calendar) ClosedRunAfter(d day.Day) int {
	i, ok := c.index(d)
	if !ok {
		return -1
	}
	return int(c.table[i].closedAfter)
}

// Holidays returns the public holidays of the region in the span, corrected and
// with the clinic's own changes, in order; outside the horizon there are none.
func (c *Calendar) Holidays(span day.Span) []NamedDay {
	var in []NamedDay
	for _, h := range c.holidays {
		if span.Contains(h.Day) && c.horizon.Contains(h.Day) {
			in = append(in, h)
		}
	}
	return in
}

// Notes returns what users of the calendar should know of it: lists that lack
// regional days, lists corrected, events of closure and busy files passed over,
// half days without effect and visits that fit no day.
func (c *Calendar) Notes() []string { return slices.Clone(c.notes) }
