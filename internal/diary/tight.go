package diary

import "slices"

// reach is between which days a milestone to come can still be, as far as the days
// given so far tell.
type reach struct{ lo, hi int }

// fewestNow returns how many trips the visits from a place on need at least, by
// what is known once all before it have their days: it picks visits of which no two
// can share a day, nor one with a visit before the place. It picks by the last day
// they can be, for of intervals that gives the most.
func (s *joint) fewestNow(p int) int {
	count := len(s.order)
	apart := s.apartNow[:0]
	for q := p; q < count; q++ {
		i := s.order[q]
		n := &s.nodes[i]
		r := s.reachNow(p, i)
		s.reached[i] = r
		if n.visit && r.lo >= s.on && !slices.ContainsFunc(s.steps[p].trips, func(t item) bool { return r.lo <= t.day && t.day <= r.hi }) {
			apart = append(apart, q)
		}
	}
	s.apartNow = apart
	slices.SortFunc(apart, func(a, b int) int { return s.reached[s.order[a]].hi - s.reached[s.order[b]].hi })
	picked := s.picked[:0]
	for _, q := range apart {
		r := s.reached[s.order[q]]
		shares := func(c int) bool {
			other := s.reached[s.order[c]]
			return s.share[c*count+q] && other.lo <= r.hi && r.lo <= other.hi
		}
		if !slices.ContainsFunc(picked, shares) {
			picked = append(picked, q)
		}
	}
	s.picked = picked
	return len(picked)
}

// reachNow works out the reach of a milestone from a place on, those before it in
// the order having theirs.
func (s *joint) reachNow(p, i int) reach {
	n := &s.nodes[i]
	r := reach{n.lo, n.hi}
	switch {
	case s.held[i].on:
		return reach{s.held[i].day, s.held[i].day}
	case n.booked != nil || n.loose:
		return r
	case n.last < p && s.lost[i]:
		return r
	case n.last < p:
		c := &s.may[i]
		return reach{c.start(), c.latest}
	}
	if least, ok := n.atLeast(); ok {
		r.lo = max(r.lo, s.reached[n.parent].lo+least)
	}
	if most, ok := n.most(); ok {
		r.hi = min(r.hi, s.reached[n.parent].hi+most)
	}
	return r
}
