package diary

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/graft"
)

// failure tells why no day of the window fits, by the smallest set of things that
// cannot all hold, and which days on either side would fit.
func (t *teller) failure(m *graft.Milestone, i int) string {
	c := t.choices(&t.nodes[i], t.frameNow(i))
	from, to := c.start(), c.latest
	before, after := "none before", "none after"
	if d, ok := t.outside(i, c, from, -1); ok {
		before = Long(t.out(d)) + " before" + t.unusable(d, m)
	}
	if d, ok := t.outside(i, c, to, 1); ok {
		after = Long(t.out(d)) + " after" + t.unusable(d, m)
	}
	ended := ""
	if c.overdue {
		ended = fmt.Sprintf("Its window ended on %s. ", Long(m.Window.Latest))
	}
	return ended + fmt.Sprintf("No day from %s to %s: %s. Nearest days that fit: %s, %s.", Long(t.out(from)), Long(t.out(to)), t.clash(i, from, to), before, after)
}

// unusable says why a day outside the window is no way out; empty if it may be
// one.
func (t *teller) unusable(d int, m *graft.Milestone) string {
	switch {
	case t.out(d).Before(m.Window.NotBefore):
		return " (sooner than the gate allows)"
	case d < t.on:
		return " (already past)"
	}
	return ""
}

// outside returns the nearest day that fits beyond one end of the window.
func (t *teller) outside(i int, c choice, end, step int) (int, bool) {
	for n := 1; n <= lookAround; n++ {
		d := end + n*step
		if t.fits(t.nodes[i].kind, d, c.past || d < t.on) {
			return d, true
		}
	}
	return 0, false
}

// clash writes the smallest set of constraints that leaves a milestone no day:
// of it and of the milestones it counts from or, where those alone would do, of
// all that have one.
func (t *teller) clash(i, from, to int) string {
	part := make([]bool, len(t.nodes))
	t.upward(part, i)
	set, c, sure := t.conflictOf(part)
	if set == nil {
		for k := range t.nodes {
			part[k] = t.nodes[k].state == open && (t.days[k] != noDay || k == i)
		}
		set, c, sure = t.conflictOf(part)
	}
	says := c.words(set, i, from, to, t.days)
	if !sure {
		says = "among others " + says
	}
	return says
}

func (t *teller) conflictOf(part []bool) ([]bit, *conflict, bool) {
	m := bareModel(t.Request, t.clinic)
	m.keepAll = true
	m.link()
	m.hold()
	c := newConflict(m, part)
	set, sure := c.smallest()
	return set, c, sure
}

// upward marks a milestone and all open ones that it counts from.
func (t *teller) upward(part []bool, i int) {
	part[i] = true
	for _, w := range t.nodes[i].Waits {
		if j, ok := t.byID[w.From]; ok && t.nodes[j].state == open && !part[j] {
			t.upward(part, j)
		}
	}
}

// words writes a set: first what is in the way of the milestone itself, then what
// is of others, under their names.
func (c *conflict) words(set []bit, i, from, to int, days []int) string {
	byNode := map[int][]string{}
	slices.SortStableFunc(set, func(a, b bit) int { return boolean(a.which == windowEnds) - boolean(b.which == windowEnds) })
	for _, b := range set {
		first, last, overdue := c.window(b.node, days)
		if b.node == i {
			first, last = from, to
		}
		byNode[b.node] = append(byNode[b.node], c.word(b, first, last, overdue))
	}
	var says []string
	if own := byNode[i]; len(own) > 0 {
		says = append(says, strings.Join(own, "; "))
	}
	for _, k := range c.order {
		if whys := byNode[k]; k != i && len(whys) > 0 {
			says = append(says, c.nodes[k].Title()+": "+strings.Join(whys, "; "))
		}
	}
	if len(says) == 0 {
		return "the visits of the patient leave no time for each other"
	}
	return strings.Join(says, "; ")
}

// window returns the days that a milestone may have when those it counts from are
// where the plan has them, and whether it has outlived its own window.
func (c *conflict) window(k int, days []int) (first, last int, overdue bool) {
	copy(c.cur, days)
	for _, w := range c.nodes[k].waits {
		if w.from >= 0 && c.cur[w.from] == noDay {
			return c.nodes[k].lo, c.nodes[k].hi, false
		}
	}
	ch := c.choices(&c.nodes[k], c.frame(k))
	return ch.start(), ch.latest, ch.overdue
}

// word says one constraint, and where it is not the same every week on which days
// between two it is in the way.
func (c *conflict) word(b bit, first, last int, overdue bool) string {
	switch b.which {
	case windowEnds:
		if overdue {
			return "it is wanted by " + during(c.out(last), c.out(last))
		}
		return "the window ends on " + during(c.out(last), c.out(last))
	case planning:
		return "nothing is booked before the day of planning, " + during(c.On, c.On)
	case patientAway:
		return cannotCome + c.when(b, first, last)
	case timeTaken:
		return noTime + c.when(b, first, last)
	case beforeClosure:
		return fmt.Sprintf("no operation on the last open day before %d closed days or more", c.Closure)
	}
	why := c.names[b.node][b.which-firstObstacle]
	for w := range 7 {
		if strings.HasSuffix(why, "on "+c.out(w).Weekday().String()+"s") {
			return why
		}
	}
	return why + c.when(b, first, last)
}

// when lists the first few runs of days on which a constraint is in the way.
func (c *conflict) when(b bit, first, last int) string {
	const most = 3
	var runs []obstacle
	for d := first; d <= last; d++ {
		if c.mask(b.node, d)>>b.which&1 == 1 {
			runs = addRun(runs, c.out(d), "")
		}
	}
	var says []string
	for _, r := range runs[:min(most, len(runs))] {
		says = append(says, during(r.first, r.last))
	}
	if len(runs) > most {
		says = append(says, fmt.Sprintf("and %d times more", len(runs)-most))
	}
	if len(says) == 0 {
		return ""
	}
	return " (" + strings.Join(says, ", ") + ")"
}
