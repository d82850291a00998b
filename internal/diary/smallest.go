package diary

import (
	"math/bits"
	"slices"
)

// bit is one constraint of one milestone.
type bit struct{ node, which int }

// smallest returns the smallest set in conflict, and whether it surely is the
// smallest. It returns none if all milestones can have a day.
//
// What some days break is a set that every set in conflict meets. So the smallest
// set that meets all of those known so far is in conflict itself, and then no
// smaller one is, or it shows one more of them.
func (c *conflict) smallest() (set []bit, sure bool) {
	every := make([]uint64, len(c.nodes))
	for i := range every {
		if c.part[i] {
			every[i] = ^uint64(0)
		}
	}
	if c.find(c.part, every) == yes {
		return nil, false
	}
	var corrections [][]bit
	for c.left > 0 {
		set, ok := c.meets(corrections)
		if !ok {
			break
		}
		switch c.possible(c.enforce(set)) {
		case no:
			return c.listed(c.enforce(set)), true
		case yes:
			corrections = append(corrections, c.correct(c.enforce(set), every))
		}
	}
	return c.irreducible(every), false
}

func (c *conflict) enforce(set []bit) []uint64 {
	masks := make([]uint64, len(c.nodes))
	for _, b := range set {
		masks[b.node] |= 1 << b.which
	}
	return masks
}

// correct finds days that break nothing of a set, and makes what they break as
// small as it gets.
func (c *conflict) correct(set, every []uint64) []bit {
	if c.find(c.part, set) != yes {
		return nil
	}
	broken := slices.Clone(c.broken)
	for _, b := range c.listed(broken) {
		if broken[b.node]>>b.which&1 == 0 {
			continue
		}
		enforced := slices.Clone(every)
		for i := range enforced {
			enforced[i] &^= broken[i]
		}
		enforced[b.node] |= 1 << b.which
		if c.find(c.part, enforced) == yes {
			copy(broken, c.broken)
		}
	}
	return c.listed(broken)
}

// listed writes a set out in the order of the search.
func (c *conflict) listed(masks []uint64) []bit {
	var list []bit
	for _, i := range c.order {
		for v := masks[i]; v != 0; v &= v - 1 {
			list = append(list, bit{i, bits.TrailingZeros64(v)})
		}
	}
	return list
}

// meets returns a smallest set that has something of each of the sets; false if one
// of them is empty, or if that takes too long.
func (c *conflict) meets(sets [][]bit) ([]bit, bool) {
	const most = 12
	for size := range most {
		if set, ok := meeting(sets, nil, size); ok {
			return set, true
		}
	}
	return nil, false
}

func meeting(sets [][]bit, have []bit, more int) ([]bit, bool) {
	var open []bit
	for _, s := range sets {
		missed := !slices.ContainsFunc(s, func(b bit) bool { return slices.Contains(have, b) })
		if missed && (open == nil || len(s) < len(open)) {
			open = s
		}
	}
	if open == nil {
		return have, true
	}
	if more == 0 {
		return nil, false
	}
	for _, b := range open {
		if set, ok := meeting(sets, append(slices.Clone(have), b), more-1); ok {
			return set, true
		}
	}
	return nil, false
}

// irreducible drops constraints one by one as long as the rest is in conflict.
func (c *conflict) irreducible(every []uint64) []bit {
	c.left = visitsInAll
	set := slices.Clone(every)
	for i := range set {
		set[i] &= c.all[i] | 1<<windowEnds | 1<<planning | 1<<timeTaken
	}
	for _, b := range c.listed(set) {
		set[b.node] &^= 1 << b.which
		if c.possible(set) != no {
			set[b.node] |= 1 << b.which
		}
	}
	return c.listed(set)
}
