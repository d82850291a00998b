package clinic

import (
	"slices"

	"graftclock/internal/day"
)

// calendar turns the finished layers into the table. Days share their hours and
// reasons, of which there are few.
func (b *builder) calendar(horizon day.Span) *Calendar {
	c := &Calendar{
		horizon: horizon, first: b.first,
		table: make([]entry, len(b.hours)),
		plans: [][]day.Hours{closedPlan: nil},
		notes: b.notes,
	}
	known := map[Reason]int32{}
	for i := range c.table {
		c.table[i].plan = c.planOf(b.hours[i])
		c.table[i].reason = c.reasonOf(b.why[i], known)
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
