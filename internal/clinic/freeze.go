package clinic

import (
	"slices"

	"graftclock/internal/day"
)

// calendar turns the finished layers into the table. Days share their hours and
// reasons, of which there are few.
func (b *builder) calendar(s Settings, horizon day.Span) *Calendar {
	c := &Calendar{
		horizon: horizon, first: b.first,
		table:   make([]entry, len(b.hours)),
		plans:   [][]day.Hours{closedPlan: nil},
		beneath: map[int][]string{},
		assets:  assets(s),
		grid:    max(s.GridMinutes, 1),
		notes:   b.notes,
	}
	known := map[Reason]int32{}
	for i := range c.table {
		c.table[i].plan = c.planOf(b.hours[i])
		c.table[i].reason = c.reasonOf(b.why[i], known)
	}
	for i, reasons := range b.beneath {
		c.beneath[i] = wordsBeneath(c.words[c.table[i].reason], reasons)
	}
	c.addStaff(b)
	for _, busy := range b.busy {
		if horizon.Contains(busy.Day) {
			c.busy = append(c.busy, busy)
		}
	}
	for i := len(c.table) - 2; i >= 0; i-- {
		if next := c.table[i+1]; next.plan == closedPlan {
			c.table[i].closedAfter = next.closedAfter + 1
		}
	}
	c.holidays = slices.Clone(b.holidays)
	slices.SortStableFunc(c.holidays, func(x, y NamedDay) int { return x.Day.Sub(y.Day) })
	return c
}

// wordsBeneath returns the words of the reasons once each, without those of the
// reason on top.
func wordsBeneath(top string, reasons []Reason) []string {
	var words []string
	for _, r := range reasons {
		if w := r.Words(); w != top && !slices.Contains(words, w) {
			words = append(words, w)
		}
	}
	return words
}

func (c *Calendar) planOf(hours []day.Hours) int32 {
	for i, plan := range c.plans {
		if slices.Equal(plan, hours) {
			return int32(i)
		}
	}
	c.plans = append(c.plans, slices.Clone(hours))
	return int32(len(c.plans) - 1)
}

func (c *Calendar) reasonOf(r Reason, known map[Reason]int32) int32 {
	i, seen := known[r]
	if !seen {
		i = int32(len(c.reasons))
		known[r] = i
		c.reasons = append(c.reasons, r)
		c.words = append(c.words, r.Words())
	}
	return i
}
