package diary

import "slices"

// answer says whether days can be found; it may be too much work to tell.
type answer int

const (
	no answer = iota
	yes
	unknown
)

// possible tells whether days can be found that break nothing of a set.
// Milestones of which nothing is enforced, and that no such counts from, can
// always have a day and are left out.
func (c *conflict) possible(set []uint64) answer {
	wanted := make([]bool, len(c.nodes))
	for k := len(c.order) - 1; k >= 0; k-- {
		i := c.order[k]
		wanted[i] = wanted[i] || c.part[i] && set[i] != 0
		for _, w := range c.nodes[i].waits {
			if wanted[i] && w.from >= 0 {
				wanted[w.from] = true
			}
		}
	}
	return c.find(wanted, set)
}

// find finds days for the wanted milestones that break nothing of a set, and notes
// in broken what they break beside it.
func (c *conflict) find(wanted []bool, set []uint64) answer {
	clear(c.broken)
	c.visits = min(c.left, visitsATest)
	c.left -= costATest
	for _, group := range c.groups(wanted, set) {
		c.failed.reset()
		if !c.place(group, 0, set) {
			if c.visits < 0 {
				return unknown
			}
			return no
		}
	}
	c.overlaps(wanted, set)
	return yes
}

// overlaps notes which visits break their time because others of the patient have
// it.
func (c *conflict) overlaps(wanted []bool, set []uint64) {
	byDay := map[int][]int{}
	for _, i := range c.order {
		n := &c.nodes[i]
		if wanted[i] && n.visit && c.cur[i] >= c.on && (c.stay[i] || c.mask(i, c.cur[i])&(1<<timeTaken) == 0 && c.mask(i, c.cur[i])>>firstObstacle == 0) {
			byDay[c.cur[i]] = append(byDay[c.cur[i]], i)
		}
	}
	for _, on := range byDay {
		items := make([]item, len(on))
		for k, i := range on {
			items[k] = item{day: c.cur[i], kind: c.nodes[i].kind}
			if c.stay[i] {
				items[k] = c.nodes[i].staying()
			}
		}
		if len(on) == 1 || c.together(items) {
			continue
		}
		for _, i := range on {
			if !c.stay[i] && set[i]>>timeTaken&1 == 0 {
				c.broken[i] |= 1 << timeTaken
			}
		}
	}
}

// groups splits the wanted milestones into such as have nothing to do with each
// other: they count from nothing in common, and not both need a time.
func (c *conflict) groups(wanted []bool, set []uint64) [][]int {
	root := make([]int, len(c.nodes))
	for i := range root {
		root[i] = i
	}
	join := func(a, b int) {
		from, to := root[a], root[b]
		for i := range root {
			if root[i] == from {
				root[i] = to
			}
		}
	}
	timed := -1
	for _, i := range c.order {
		if !wanted[i] {
			continue
		}
		for _, w := range c.nodes[i].waits {
			if w.from >= 0 {
				join(i, w.from)
			}
		}
		if c.nodes[i].visit && (set[i]>>timeTaken&1 == 1 || c.nodes[i].booked != nil) {
			if timed >= 0 {
				join(i, timed)
			}
			timed = i
		}
	}
	byRoot := map[int]int{}
	var groups [][]int
	for _, i := range c.order {
		if !wanted[i] {
			continue
		}
		g, ok := byRoot[root[i]]
		if !ok {
			g = len(groups)
			byRoot[root[i]] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], i)
	}
	return groups
}

// place finds days for the milestones of a group from a place on.
func (c *conflict) place(group []int, p int, set []uint64) bool {
	if p == len(group) {
		return true
	}
	at := c.failed.find(c.state(group, p, set))
	if c.failed.states[at].exact {
		return false
	}
	i := group[p]
	c.frames[i] = c.frame(i)
	ok := c.tryStay(group, p, set) || c.tryDays(group, p, set)
	if !ok && c.visits >= 0 {
		c.failed.states[at].exact = true
	}
	return ok
}

func (c *conflict) tryStay(group []int, p int, set []uint64) bool {
	i := group[p]
	n := &c.nodes[i]
	if !c.mayStay(n, c.frames[i]) {
		return false
	}
	c.cur[i], c.stay[i], c.broken[i] = n.bookday, true, 0
	ok := c.roomFor(group[:p+1], set) && c.place(group, p+1, set)
	c.stay[i] = ok
	return ok
}

func (c *conflict) tryDays(group []int, p int, set []uint64) bool {
	i := group[p]
	r := c.days(i)
	if set[i]>>windowEnds&1 == 1 {
		r.last = r.to
	}
	if set[i]>>planning&1 == 1 {
		r.first = r.from
	}
	return c.tryRun(group, p, set, r, true) || c.tryRun(group, p, set, r, false)
}

// tryRun tries the days of a run that break nothing at all, or the others.
func (c *conflict) tryRun(group []int, p int, set []uint64, r run, clean bool) bool {
	i := group[p]
	for d := r.first; d <= r.last && c.visits >= 0; d++ {
		v := c.breaks(i, d, r)
		c.visits--
		c.left--
		if v&set[i] != 0 || (v == 0) != clean {
			continue
		}
		c.cur[i], c.stay[i], c.broken[i] = d, false, v
		if c.roomFor(group[:p+1], set) && c.place(group, p+1, set) {
			return true
		}
	}
	return false
}

// item is the time that a milestone takes on its day under a set; false if none.
func (c *conflict) item(i int, set []uint64) (item, bool) {
	n := &c.nodes[i]
	switch {
	case !n.visit || c.cur[i] < c.on:
		return item{}, false
	case c.stay[i]:
		return n.staying(), true
	case set[i]>>timeTaken&1 == 0 || c.mask(i, c.cur[i])>>firstObstacle != 0:
		return item{}, false
	}
	return item{day: c.cur[i], kind: n.kind}, true
}

// roomFor reports whether the last of the milestones finds its time beside those
// before it.
func (c *conflict) roomFor(placed []int, set []uint64) bool {
	own, ok := c.item(placed[len(placed)-1], set)
	if !ok {
		return true
	}
	items := []item{own}
	for _, j := range placed[:len(placed)-1] {
		if it, ok := c.item(j, set); ok && it.day == own.day {
			items = append(items, it)
		}
	}
	return len(items) == 1 || c.together(items)
}

// state writes what the rest of a group depends on.
func (c *conflict) state(group []int, p int, set []uint64) []int32 {
	c.key = append(c.key[:0], int32(p))
	for _, j := range group[:p] {
		if slices.ContainsFunc(group[p:], func(k int) bool { return c.counts(k, j) }) {
			c.key = append(c.key, int32(j), int32(c.cur[j]))
		}
	}
	for _, j := range group[:p] {
		if it, ok := c.item(j, set); ok {
			c.key = append(c.key, int32(it.day), int32(it.kind), int32(it.from), int32(it.until))
		}
	}
	return c.key
}

func (c *conflict) counts(i, j int) bool {
	for _, w := range c.nodes[i].waits {
		if w.from == j {
			return true
		}
	}
	return false
}
