package diary

import (
	"cmp"
	"slices"

	"graftclock/internal/day"
)

// apart works out which visits can never share a day, and from that how many trips
// the visits from each place of the order on need at least.
func (s *joint) apart() {
	count := len(s.order)
	s.share = make([]bool, count*count)
	earliest := make([]int, count) // the first place whose visit a visit may share a day with
	for q, j := range s.order {
		earliest[q] = q
		for p := q - 1; p >= 0; p-- {
			if s.mayShare(s.order[p], j) {
				s.share[p*count+q], s.share[q*count+p] = true, true
				earliest[q] = p
			}
		}
	}
	s.sharers = make([][]int, count)
	for q := range count {
		for k := q + 1; k < count; k++ {
			if s.share[q*count+k] {
				s.sharers[q] = append(s.sharers[q], k)
			}
		}
	}
	s.trips(earliest)
}

// trips finds, from each place on, visits of which no two can share a day and
// none can share one with a visit before the place: each is a trip of its own.
func (s *joint) trips(earliest []int) {
	count := len(s.order)
	byEnd := make([]int, 0, count)
	for q, j := range s.order {
		if n := &s.nodes[j]; n.visit && n.lo >= s.on {
			byEnd = append(byEnd, q)
		}
	}
	slices.SortFunc(byEnd, func(a, b int) int {
		return cmp.Or(cmp.Compare(s.nodes[s.order[a]].hi, s.nodes[s.order[b]].hi), cmp.Compare(a, b))
	})
	s.fewest = make([]int, count+1)
	chosen := make([]int, 0, count)
	for p := range count {
		chosen = chosen[:0]
		for _, q := range byEnd {
			if q >= p && earliest[q] >= p && !slices.ContainsFunc(chosen, func(c int) bool { return s.share[c*count+q] }) {
				chosen = append(chosen, q)
			}
		}
		s.fewest[p] = len(chosen)
	}
}

// mayShare reports whether two milestones may both bring the patient on one day.
func (s *joint) mayShare(i, j int) bool {
	a, b := &s.nodes[i], &s.nodes[j]
	if !a.visit || !b.visit || a.hi < b.lo || b.hi < a.lo {
		return false
	}
	return !s.follows(i, j) && !s.follows(j, i)
}

// follows reports whether a milestone always comes after another: because it
// counts from it, or because both count from one.
func (s *joint) follows(i, j int) bool {
	most := 0 // how long after the common milestone i comes at most
	for a := i; ; {
		if least, ok := s.since(a, j); ok && least > most {
			return true
		}
		n := &s.nodes[a]
		up, ok := n.most()
		if !ok {
			return false
		}
		most += up
		a = n.parent
	}
}

// since returns how many days at least a milestone comes after one it counts from.
func (s *joint) since(from, j int) (least int, ok bool) {
	for a := j; a != from; {
		n := &s.nodes[a]
		up, ok := n.atLeast()
		if !ok {
			return 0, false
		}
		least += up
		a = n.parent
	}
	return least, from != j
}

// A month has 28 to 31 days.
const shortMonth, longMonth = 28, 31

// atLeast returns how many days at least a milestone comes after its one anchor.
func (n *node) atLeast() (int, bool) {
	w := n.only()
	if w == nil {
		return 0, false
	}
	least := briefest(w.NotBefore)
	if !w.FloorOnly {
		least = max(least, briefest(w.Earliest))
	}
	return least, true
}

// most returns how many days at most a milestone comes after its one anchor.
func (n *node) most() (int, bool) {
	w := n.only()
	if w == nil || w.FloorOnly || len(n.waits) > 1 {
		return 0, false
	}
	return max(longest(w.NotBefore), longest(w.Earliest), longest(w.Target), longest(w.Latest)), true
}

// only returns the one wait that counts from an open milestone; nil where the days
// of the milestone do not follow one.
func (n *node) only() *anchored {
	if n.loose || n.parent < 0 {
		return nil
	}
	var only *anchored
	for i := range n.waits {
		if w := &n.waits[i]; w.from >= 0 {
			if only != nil {
				return nil
			}
			only = w
		}
	}
	return only
}

func briefest(p day.Period) int {
	if p.Months < 0 {
		return longMonth*p.Months + p.Days
	}
	return shortMonth*p.Months + p.Days
}

func longest(p day.Period) int {
	if p.Months < 0 {
		return shortMonth*p.Months + p.Days
	}
	return longMonth*p.Months + p.Days
}
