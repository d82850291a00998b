package diary

import (
	"cmp"
	"slices"
)

// state writes all that the rest of the plan depends on, and notes the days that
// visits to come may share.
func (s *joint) state(p int) []int32 {
	s.key = append(s.key[:0], int32(p))
	for _, j := range s.needs[p] {
		s.key = append(s.key, int32(s.cur[j]))
	}
	st := &s.steps[p]
	st.trips = st.trips[:0]
	for q, j := range s.order[:p] {
		n := &s.nodes[j]
		if d := s.cur[j]; d < s.on || !n.visit || !s.shared(p, q, s.cur[j]) {
			continue
		}
		it := item{day: s.cur[j], kind: n.kind}
		if s.stay[j] {
			it = n.staying()
		}
		st.trips = append(st.trips, it)
	}
	slices.SortFunc(st.trips, func(a, b item) int {
		return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.kind, b.kind), cmp.Compare(a.from, b.from), cmp.Compare(a.until, b.until))
	})
	for _, t := range st.trips {
		s.key = append(s.key, int32(t.day), int32(t.kind))
		if t.kind < 0 {
			s.key = append(s.key, int32(t.from), int32(t.until))
		}
	}
	return s.key
}

// shared reports whether a visit from a place on may come on the day of the visit
// of an earlier place.
func (s *joint) shared(p, q, d int) bool {
	later := s.sharers[q]
	for n := len(later) - 1; n >= 0 && later[n] >= p; n-- {
		if s.reaches(p, s.order[later[n]], d) {
			return true
		}
	}
	return false
}

// reaches reports whether a milestone from a place on may still have a day.
func (s *joint) reaches(p, i, d int) bool {
	n := &s.nodes[i]
	switch {
	case d < n.lo || d > n.hi || n.last < p && s.lost[i]:
		return false
	case n.last >= p:
		return true // its window is not known yet
	case s.held[i].on:
		return d == s.held[i].day
	case n.booked != nil && d == n.bookday:
		return true
	}
	c := &s.may[i]
	return d >= c.start() && d <= c.latest && !c.past
}
