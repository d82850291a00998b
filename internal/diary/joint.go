package diary

import (
	"cmp"
	"math"
	"slices"
)

// joint finds the best plan of a model. It gives the open milestones their days
// one after the other, in the order of the model, and remembers the best rest of
// the plan from each state: the days that milestones to come still count from, and
// the days that visits to come may still share. Bounds on the rest keep it to what
// can still be the best.
type joint struct {
	*model
	*bounds
	windows  []frame
	may      []choice
	lost     []bool  // the milestone counts from one without a day
	share    []bool  // by places, which visits may share a day
	sharers  [][]int // by place, the later places whose visits may share its day
	fewest   []int   // trips that the visits from a place on need at least
	needs    [][]int
	steps    []step
	memo     memo
	key      []int32
	sameDay  []item
	reached  []reach // by milestone, for fewestNow
	apartNow []int
	picked   []int
	explored int  // states
	looked   int  // days that were tried in them
	most     int  // states to explore
	inParts  bool // the days were found part by part
}

// step is the scratch of one place.
type step struct {
	options []option
	trips   []item // days that a visit to come may share
}

// option is one thing to do with a milestone.
type option struct {
	day  int // noDay: leave it without one
	stay bool
	own  cost
	rest cost // bound on the rest without trips
	low  cost // bound on own and rest
}

func newJoint(m *model) *joint {
	s := &joint{model: m, bounds: newBounds(m), most: mostStates}
	count := len(m.order)
	s.windows, s.may, s.lost = make([]frame, len(m.nodes)), make([]choice, len(m.nodes)), make([]bool, len(m.nodes))
	s.steps = make([]step, count)
	s.reached = make([]reach, len(m.nodes))
	s.apart()
	s.need()
	return s
}

// need lists for each place the milestones before it that those from it on count
// from.
func (s *joint) need() {
	s.needs = make([][]int, len(s.order))
	until := make([]int, len(s.nodes))
	for p, i := range s.order {
		for _, w := range s.nodes[i].waits {
			if w.from >= 0 {
				until[w.from] = p
			}
		}
	}
	for p := range s.order {
		for _, j := range s.order[:p] {
			if until[j] >= p {
				s.needs[p] = append(s.needs[p], j)
			}
		}
	}
}

// run returns the cost of the best plan; never if there is none, or if the search
// is tired.
func (s *joint) run() cost { return s.least(0, s.begin()) }

// least returns the cost of the best rest of a plan from a place on; never if there
// is none. It first looks near the bound, and further only when nothing is there.
func (s *joint) least(p int, rest cost) cost {
	bound, slack := s.low(p, rest), 0
	for bound < never {
		budget := bound.withDistance(slack)
		v := s.best(p, rest, budget)
		if v <= budget {
			return v
		}
		if slack = 2*slack + 8; v>>tripsAt > bound>>tripsAt {
			bound, slack = v, 0
		}
	}
	return never
}

// begin works out what is known before anything is given a day.
func (s *joint) begin() cost {
	var rest cost
	for _, i := range s.order {
		if n := &s.nodes[i]; n.anchors == 0 {
			s.determine(i)
			rest = rest.plus(s.of(i, s.windows[i]))
		}
	}
	return rest
}

// determine works out the window of a milestone whose anchors have their days.
func (s *joint) determine(i int) {
	n := &s.nodes[i]
	s.lost[i] = false
	for k := range n.waits {
		if f := n.waits[k].from; f >= 0 && s.cur[f] == noDay {
			s.lost[i] = true
			return
		}
	}
	s.windows[i] = s.frame(i)
	s.may[i] = s.choices(n, s.windows[i])
}

// low is the bound on the rest of a plan from a place on. A milestone that is left
// without a day may save a trip.
func (s *joint) low(p int, rest cost) cost {
	return rest.plus(cost(max(0, s.fewest[p]-rest.unplaced())) * oneTrip)
}

// best returns the cost of the best rest of the plan from a place on if that is
// within the budget, and otherwise a bound above the budget.
func (s *joint) best(p int, rest, budget cost) cost {
	if p == len(s.order) {
		return 0
	}
	if low := s.low(p, rest); low > budget {
		return low
	}
	if s.tired() {
		return never
	}
	at := s.memo.find(s.state(p))
	if st := &s.memo.states[at]; st.exact || st.least > budget {
		return st.least
	}
	if low := rest.plus(cost(max(0, s.fewestNow(p)-rest.unplaced())) * oneTrip); low > budget {
		s.memo.states[at].least = max(s.memo.states[at].least, low)
		return low
	}
	s.explored++
	v, bound := s.try(p, rest, budget)
	st := &s.memo.states[at]
	if v <= budget {
		st.least, st.exact = v, true
	} else {
		st.least = max(st.least, bound)
	}
	return st.least
}

// try returns the best cost of all options of a place that is within the budget,
// and a bound on what lies above it.
func (s *joint) try(p int, rest, budget cost) (best, bound cost) {
	i := s.order[p]
	options, bound := affordable(s.options(p, rest), budget)
	slices.SortFunc(options, func(a, b option) int {
		return cmp.Or(cmp.Compare(a.low, b.low), cmp.Compare(a.day, b.day))
	})
	best = never
	for k := range options {
		o := &options[k]
		limit := min(budget, max(best, 1)-1)
		if o.low > limit || best == 0 {
			bound = min(bound, o.low)
			break
		}
		s.looked++
		s.give(p, i, o)
		v := o.own.plus(s.best(p+1, o.rest, limit-o.own))
		if v <= limit {
			best = v
		} else {
			bound = min(bound, v)
		}
	}
	return best, bound
}

// affordable keeps the options whose bounds are within the budget, and returns the least
// bound of the others.
func affordable(options []option, budget cost) (kept []option, bound cost) {
	kept, bound = options[:0], never
	for _, o := range options {
		if o.low <= budget {
			kept = append(kept, o)
		} else {
			bound = min(bound, o.low)
		}
	}
	return kept, bound
}

// give puts a milestone on the day of an option.
func (s *joint) give(p, i int, o *option) {
	s.cur[i], s.stay[i] = o.day, o.stay
	for _, c := range s.nodes[i].children {
		if s.nodes[c].last == p {
			s.determine(c)
		}
	}
}

// options lists what may be done with the milestone of a place, with the bound on
// the rest of the plan.
func (s *joint) options(p int, rest cost) []option {
	i := s.order[p]
	n := &s.nodes[i]
	st := &s.steps[p]
	st.options = st.options[:0]
	if n.anchors > 1 || s.lost[i] && n.anchors == 0 {
		// nothing of it is in the bound yet
	} else if n.anchors == 1 {
		rest -= s.under(i, s.cur[n.parent])
	} else {
		rest -= s.of(i, s.windows[i])
	}
	held := s.held[i]
	if s.mayLack && !held.on || s.lost[i] || held.on && held.day == noDay {
		s.option(p, i, rest, option{day: noDay, own: s.lackCost(i)})
	}
	if s.lost[i] || held.on && held.day == noDay {
		return st.options
	}
	c := s.may[i]
	if held.on {
		if held.stay {
			s.stays(p, i, rest)
		} else if from, to := s.offered(s.windows[i], c); !held.within || from <= held.day && held.day <= to {
			s.visit(p, i, rest, c, held.day)
		}
		return st.options
	}
	if s.mayStay(n, s.windows[i]) {
		s.stays(p, i, rest)
	}
	for d := c.start(); d <= c.latest; d++ {
		if s.fits(n.kind, d, c.past) {
			s.visit(p, i, rest, c, d)
		}
	}
	return st.options
}

// option adds one with its bounds.
func (s *joint) option(p, i int, rest cost, o option) {
	o.rest = rest.plus(s.after(i, o.day))
	o.low = o.own.plus(s.low(p+1, o.rest))
	if o.low < never {
		s.steps[p].options = append(s.steps[p].options, o)
	}
}

// visit adds the option of a day, if what else the patient has that day leaves the
// time.
func (s *joint) visit(p, i int, rest cost, c choice, d int) {
	n := &s.nodes[i]
	o := option{day: d, own: s.dayCost(n, c, d)}
	if n.visit && d >= s.on {
		trip, ok := s.joins(p, item{day: d, kind: n.kind})
		if !ok {
			return
		}
		o.own += trip
	}
	s.option(p, i, rest, o)
}

// stays adds the option of a booked visit to stay.
func (s *joint) stays(p, i int, rest cost) {
	n := &s.nodes[i]
	o := option{day: n.bookday, stay: true, own: s.inSum(n.bookday)}
	if n.visit {
		trip, ok := s.joins(p, n.staying())
		if !ok {
			return
		}
		o.own += trip
	}
	s.option(p, i, rest, o)
}

// staying is a booked visit on its slot.
func (n *node) staying() item {
	return item{n.bookday, -1, n.booked.Start, n.booked.End()}
}

// joins returns what it costs in trips to add a visit to its day, and whether the
// visits of the day leave it the time.
func (s *joint) joins(p int, it item) (trip cost, ok bool) {
	on := s.sameDay[:0]
	for _, t := range s.steps[p].trips {
		if t.day == it.day {
			on = append(on, t)
		}
	}
	s.sameDay = on
	if len(on) == 0 {
		return oneTrip, true
	}
	s.sameDay = append(on, it)
	return 0, s.together(s.sameDay)
}

// tired reports whether the search has explored all that it may. What it then knows
// is worth nothing.
func (s *joint) tired() bool { return s.spent() > s.most }

// spent is how many states were explored or, where windows are open for months and a
// state has very many days to try, how many usual ones would have been as much work.
func (s *joint) spent() int { return max(s.explored, s.looked/daysOfState) }

// walk puts the milestones on the days of the best plan, whose cost is known. Of
// several that cost the same it takes, milestone by milestone in the order of the
// search, the earlier day, and a booked visit rather than a new one on that day.
func (s *joint) walk(total cost) {
	s.most = math.MaxInt // near the best there is little to explore
	s.walkOn(0, s.begin(), total)
}

func (s *joint) walkOn(from int, rest, total cost) {
	for p := from; p < len(s.order); p++ {
		s.state(p)
		options := s.options(p, rest)
		slices.SortFunc(options, s.sooner)
		for k := range options {
			o := options[k]
			if o.low > total {
				continue
			}
			s.give(p, s.order[p], &o)
			if o.own.plus(s.best(p+1, o.rest, total-o.own)) == total {
				rest, total = o.rest, total-o.own
				break
			}
		}
	}
}

// chosen returns the option of a place that a plan takes.
func (s *joint) chosen(p int, rest cost, d int, stay bool) option {
	for _, o := range s.options(p, rest) {
		if o.day == d && o.stay == stay {
			return o
		}
	}
	return option{day: d, stay: stay, own: never, rest: rest}
}

// sooner orders options by day, those without one last.
func (s *joint) sooner(a, b option) int {
	if (a.day == noDay) != (b.day == noDay) {
		if a.day == noDay {
			return 1
		}
		return -1
	}
	return cmp.Or(cmp.Compare(a.day, b.day), boolean(b.stay)-boolean(a.stay))
}

func boolean(b bool) int {
	if b {
		return 1
	}
	return 0
}
