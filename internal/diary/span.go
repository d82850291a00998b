package diary

import "graftclock/internal/graft"

// choice is the run of days a milestone may be given, its wish, and how it counts
// the days away from that.
type choice struct {
	first, want, latest int
	shift               graft.Shift
	past                bool // the whole window is past: days without times
	overdue             bool
}

// choices returns what a milestone of a window may be given. Where its window has
// wholly passed, that is any day from the day of planning on, as early as can be,
// or, where nothing may be overdue, a day in the past.
func (m *model) choices(n *node, w frame) choice {
	c := choice{w.earliest, w.target, w.latest, n.Shift, false, false}
	switch {
	case w.latest >= m.on:
		c.first = max(c.first, m.on)
	case m.lateTo >= 0:
		return choice{m.on, m.on, m.lateTo, graft.Afterwards, false, true}
	default:
		c.past = true
	}
	c.want = max(c.want, c.first)
	return c
}

// offered returns between which days a milestone of a window may be asked for: any day
// of the window that is still to come, or, overdue, as long as it is wanted.
func (m *model) offered(w frame, c choice) (from, to int) {
	if c.overdue {
		return c.first, c.latest
	}
	return max(w.earliest, m.on), w.latest
}

// forward reports whether no day before the wish may be given.
func (c choice) forward() bool { return c.shift != graft.Nearest && c.shift != graft.Earlier }

// start is the first day that may be given.
func (c choice) start() int {
	if c.forward() {
		return c.want
	}
	return c.first
}

// count is how many days may be given.
func (c choice) count() int { return max(0, c.latest-c.start()+1) }

// distance is how far a day is from the wish. For a step that may go earlier,
// every day after the wish is farther than all before it.
func (c choice) distance(d int) int {
	switch {
	case d < c.want:
		return c.want - d
	case c.shift == graft.Earlier && d > c.want:
		return max(0, c.want-c.first) + d - c.want
	}
	return d - c.want
}

// nth returns the days that may be given by distance, for n from 0 to count; of
// two as far the earlier comes first.
func (c choice) nth(n int) int {
	before, after := c.want-c.start(), c.latest-c.want
	switch {
	case c.forward():
		return c.want + n
	case c.shift == graft.Earlier && n <= before:
		return c.want - n
	case c.shift == graft.Earlier:
		return c.want + n - before
	}
	near := min(before, after)
	switch {
	case n <= 2*near && n%2 == 1:
		return c.want - (n+1)/2
	case n <= 2*near:
		return c.want + n/2
	case before > after:
		return c.want - (n - near)
	}
	return c.want + (n - near)
}
