package diary

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// reasons tells why a milestone stands on its day, in full and in half a line.
func (t *teller) reasons(m *graft.Milestone, i int) {
	n := &t.nodes[i]
	c := t.choices(n, t.frameNow(i))
	target, placed := m.Window.Target, m.Placed
	if n.booked != nil {
		m.Reasons = append(m.Reasons, graft.Reason{Says: "It was booked for " + Long(n.booked.Day) + " and cannot stay: " + t.cannotStay(n, m) + "."})
	}
	if placed == target {
		m.Reasons = append(m.Reasons, graft.Reason{Says: "Placed on its target, " + Long(placed) + "."})
		return
	}
	passed := t.passed[i]
	r := graft.Reason{Says: fmt.Sprintf("Placed on %s, shift %s from the target %s.", Long(placed), m.Shift, Long(target))}
	var whys []string
	if c.overdue {
		whys = append(whys, "overdue")
		r.Because = append(r.Because, graft.Reason{Says: fmt.Sprintf("Its window ended on %s; it is still wanted, by %s.", Long(m.Window.Latest), Long(t.out(c.latest)))})
		if t.wait > 0 {
			r.Because = append(r.Because, graft.Reason{Says: "It does not wait " + t.OverdueWait.Words() + " to spare a trip."})
		}
	} else if t.out(c.want) != target {
		whys = append(whys, "not before the day of planning")
		r.Because = append(r.Because, graft.Reason{Says: "Nothing is booked before the day of planning, " + Long(t.On) + "."})
	}
	for _, o := range passed {
		r.Because = append(r.Because, graft.Reason{Says: o.String()})
	}
	m.Reasons = append(m.Reasons, r)
	m.Why = halves(m.Why, shifted(placed.Sub(target), append(whys, shortest(passed)...)))
}

// shifted says how far from its target a milestone stands, and why.
func shifted(by int, whys []string) string {
	direction := "later"
	if by < 0 {
		direction, by = "earlier", -by
	}
	return fmt.Sprintf("%s %s: %s", day.Period{Days: by}.Words(), direction, strings.Join(whys, ", "))
}

// frameNow is the window of a milestone with the others on the days of the plan.
func (t *teller) frameNow(i int) frame {
	copy(t.cur, t.days)
	return t.frame(i)
}

// lookBack goes through the plan in the order of the search and notes, for every
// milestone that is given a day, why the days that its shift prefers are not taken.
func (t *teller) lookBack() {
	t.passed = make([][]obstacle, len(t.nodes))
	rest, left := t.begin(), t.total
	for p, i := range t.order {
		t.state(p)
		o := t.chosen(p, rest, t.days[i], t.stays[i])
		if o.day != noDay && !o.stay {
			t.passed[i] = t.passedOver(p, rest, left)
		}
		t.give(p, i, &o)
		rest, left = o.rest, left-o.own
	}
}

// passedOver tells why the days that the shift prefers to the one given are not
// taken. They lie together: each shift works its way outwards from the wish.
func (t *teller) passedOver(p int, rest, left cost) []obstacle {
	i := t.order[p]
	c := t.may[i]
	first, last := preferred(c, t.days[i])
	var options []option
	var runs []obstacle
	for d := first; d <= last; d++ {
		if d == t.days[i] {
			continue
		}
		why := t.whyNot(t.nodes[i].Milestone, t.nodes[i].kind, d, c.past)
		if why == "" {
			if options == nil {
				options = slices.Clone(t.options(p, rest))
			}
			why = t.instead(p, d, options, left)
		}
		runs = addRun(runs, t.out(d), why)
	}
	return runs
}

// preferred returns the first and the last of the days that come before one by
// distance.
func preferred(c choice, placed int) (first, last int) {
	first, last = c.want, c.want-1
	for k := range c.count() {
		d := c.nth(k)
		if d == placed {
			break
		}
		first, last = min(first, d), max(last, d)
	}
	return first, last
}

// addRun adds a day and its reason to runs of days in a row that have one reason.
func addRun(runs []obstacle, d day.Day, why string) []obstacle {
	if n := len(runs); n > 0 && runs[n-1].why == why && runs[n-1].last.AddDays(1) == d {
		runs[n-1].last = d
		return runs
	}
	return append(runs, obstacle{d, d, why})
}

// instead says what the plan would lose with the milestone of a place on another
// day that fits it alone, the steps before it where they are. Left is what the plan
// costs from there on.
func (t *teller) instead(p, d int, options []option, left cost) string {
	v := never
	for k := range options {
		if o := &options[k]; o.day == d && !o.stay && !t.inParts {
			t.give(p, t.order[p], o)
			v = o.own.plus(t.least(p+1, o.rest))
		}
	}
	switch {
	case t.inParts:
		return "not tried with all the rest"
	case t.tired():
		return "the plan as a whole is better without it"
	case v >= never:
		return t.leaves(t.order[p], d)
	case v.unplaced() > left.unplaced():
		return t.whom(t.joint, t.order[p], d)
	case v.moved() > left.moved():
		return counted(v.moved()-left.moved(), "booked visit") + " would move"
	case v.trips() > left.trips() && t.late():
		return "a trip more, or a longer wait for what is overdue"
	case v.trips() > left.trips():
		return counted(v.trips()-left.trips(), "trip") + " more"
	case v.distance() > left.distance():
		return counted(v.distance()-left.distance(), "day") + " further in all"
	case v > left:
		return "other steps would come later by as much"
	}
	return "another step comes sooner this way"
}

// late reports whether the plan has milestones whose waiting counts among the trips.
func (t *teller) late() bool {
	return t.wait > 0 && slices.ContainsFunc(t.order, func(i int) bool { return t.may[i].overdue })
}

func counted(n int, what string) string {
	if n == 1 {
		return "one " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// leaves names what has no day with a milestone on a day.
func (t *teller) leaves(i, d int) string {
	if t.lack == nil {
		t.lack = newJoint(newModel(t.Request, t.clinic, true))
		t.lack.most = mostExplored
	}
	return t.whom(t.lack, i, d)
}

// whom names the first milestone that has no day with another on a day.
func (t *teller) whom(s *joint, i, d int) string {
	const none = "leaves no day for another step"
	rest := s.begin()
	for p, k := range s.order {
		at, stay := t.days[k], t.stays[k]
		if k == i {
			at, stay = d, false
		}
		s.state(p)
		o := s.chosen(p, rest, at, stay)
		if o.own >= never {
			return none
		}
		s.give(p, k, &o)
		rest = o.rest
		if k == i {
			if total := s.least(p+1, rest); !s.tired() {
				s.walkOn(p+1, rest, total)
			}
			break
		}
	}
	if s.tired() {
		return none
	}
	for _, k := range s.order {
		if s.cur[k] == noDay && t.days[k] != noDay {
			return "leaves no day for " + s.nodes[k].Title()
		}
	}
	return none
}

// shortest names each reason once, and weekly closing days only where there is
// nothing else to say.
func shortest(obstacles []obstacle) []string {
	var whys, weekly []string
	for _, o := range obstacles {
		list := &whys
		if strings.HasPrefix(o.why, "closed on ") {
			list = &weekly
		}
		if !slices.Contains(*list, o.why) {
			*list = append(*list, o.why)
		}
	}
	if len(whys) == 0 {
		return weekly
	}
	return fewer(whys)
}

// fewer makes one of several reasons that differ in their number of days alone.
func fewer(whys []string) []string {
	const further = " further in all"
	var rest []string
	at, least, most := -1, 0, 0
	for _, why := range whys {
		text, ok := strings.CutSuffix(why, further)
		if !ok {
			rest = append(rest, why)
			continue
		}
		n := 1
		fmt.Sscanf(text, "%d days", &n)
		if at < 0 {
			at, least, most = len(rest), n, n
			rest = append(rest, why)
		}
		least, most = min(least, n), max(most, n)
	}
	if least < most {
		rest[at] = fmt.Sprintf("%d to %d days%s", least, most, further)
	}
	return rest
}

// obstacle is a run of days that are not taken for one reason.
type obstacle struct {
	first, last day.Day
	why         string
}

// String writes the run and the reason.
func (o obstacle) String() string { return during(o.first, o.last) + ": " + o.why }

// during writes a run of days.
func during(first, last day.Day) string {
	const short = "Mon 2 Jan 2006"
	run := first.Time().Format(short)
	if first != last {
		run += " to " + last.Time().Format(short)
	}
	return run
}
