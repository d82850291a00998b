package diary

// bounds are what the search knows beforehand of the cost of what is to come, trips
// apart. They are exact for every milestone that counts from one open milestone or
// none, as long as nothing is gained by sharing days.
type bounds struct {
	m     *model
	least [][]cost // by milestone and day of the one it counts from; 0: unknown, else one more
	rest  [][]cost // by milestone and its own day: of all that counts from it alone
	lacks []cost   // of a milestone and all that counts from it, without a day
	known *bounds  // of the plan with nothing held; nil: none
	above []bool   // a milestone that is held, or one that such a one counts from
}

func newBounds(m *model) *bounds {
	b := &bounds{m: m, least: make([][]cost, len(m.nodes)), rest: make([][]cost, len(m.nodes)), lacks: make([]cost, len(m.nodes))}
	for k := len(m.order) - 1; k >= 0; k-- {
		i := m.order[k]
		b.lacks[i] = m.lackCost(i)
		for _, c := range m.nodes[i].children {
			if m.nodes[c].parent == i {
				b.lacks[i] = b.lacks[i].plus(b.lacks[c])
			}
		}
	}
	return b
}

// lackCost is what it costs to leave one milestone without a day.
func (m *model) lackCost(i int) cost {
	if m.nodes[i].booked != nil {
		return oneUnplaced + oneMoved
	}
	return oneUnplaced
}

// under returns the least cost of a milestone and all that counts from it alone,
// with the one that it counts from on a day.
func (b *bounds) under(c, parentDay int) cost {
	n := &b.m.nodes[c]
	if parentDay == noDay {
		return b.lacks[c]
	}
	if b.known != nil && !b.above[c] {
		return b.known.under(c, parentDay)
	}
	f := &b.m.nodes[n.parent]
	at := parentDay - f.lo
	if at < 0 || parentDay > f.hi {
		return b.work(c, parentDay)
	}
	if b.least[c] == nil {
		b.least[c] = make([]cost, f.hi-f.lo+1)
	}
	if b.least[c][at] == 0 {
		b.least[c][at] = b.work(c, parentDay) + 1
	}
	return b.least[c][at] - 1
}

func (b *bounds) work(c, parentDay int) cost {
	p := b.m.nodes[c].parent
	was := b.m.cur[p]
	b.m.cur[p] = parentDay
	v := b.of(c, b.m.frame(c))
	b.m.cur[p] = was
	return v
}

// of is under for a milestone whose window is known.
func (b *bounds) of(i int, w frame) cost {
	m, n := b.m, &b.m.nodes[i]
	switch h := m.held[i]; {
	case h.on && h.day == noDay:
		return b.lacks[i]
	case h.on && h.stay:
		return m.inSum(h.day).plus(b.after(i, h.day))
	case h.on:
		return m.dayCost(n, m.choices(n, w), h.day).plus(b.after(i, h.day))
	}
	best := never
	if m.mayLack {
		best = b.lacks[i]
	}
	if m.mayStay(n, w) {
		best = min(best, m.inSum(n.bookday).plus(b.after(i, n.bookday)))
	}
	c := m.choices(n, w)
	for k := range c.count() {
		d := c.nth(k)
		own := m.dayCost(n, c, d)
		if own>>distanceAt > best>>distanceAt {
			break
		}
		if m.fits(n.kind, d, c.past) {
			best = min(best, own.plus(b.after(i, d)))
		}
	}
	return best
}

// dayCost is what it costs to give a milestone a day, trips apart.
func (m *model) dayCost(n *node, c choice, d int) cost {
	v := cost(c.distance(d))<<distanceAt + m.inSum(d)
	if c.overdue && m.wait > 0 {
		v += oneTrip * cost((d-c.first)/m.wait)
	}
	if n.booked != nil {
		v += oneMoved
	}
	return v
}

// inSum is the part of a day in the sum of days.
func (m *model) inSum(d int) cost { return cost(d - m.minDay) }

// after returns the least cost of all that counts from a milestone alone, with it
// on a day.
func (b *bounds) after(i, d int) cost {
	n := &b.m.nodes[i]
	if len(n.children) == 0 {
		return 0
	}
	at := d - n.lo
	if d == noDay || at < 0 || d > n.hi {
		return b.add(i, d)
	}
	if b.rest[i] == nil {
		b.rest[i] = make([]cost, n.hi-n.lo+1)
	}
	if b.rest[i][at] == 0 {
		b.rest[i][at] = b.add(i, d) + 1
	}
	return b.rest[i][at] - 1
}

func (b *bounds) add(i, d int) cost {
	var v cost
	for _, c := range b.m.nodes[i].children {
		if b.m.nodes[c].parent == i {
			v = v.plus(b.under(c, d))
		}
	}
	return v
}

// reuse takes bounds over from the plan with nothing held, for all but the held
// milestones and those they count from, if the two see the other waits alike.
func (b *bounds) reuse(known *bounds) {
	m, o := b.m, known.m
	if m.mayLack != o.mayLack || m.minDay < o.minDay {
		return
	}
	for i := range m.nodes {
		if m.nodes[i].parent != o.nodes[i].parent || len(m.nodes[i].waits) != len(o.nodes[i].waits) {
			return
		}
	}
	m.minDay = o.minDay
	b.known, b.above = known, make([]bool, len(m.nodes))
	for k, h := range m.held {
		for i := k; h.on && i >= 0; i = m.nodes[i].parent {
			b.above[i] = true
		}
	}
}
