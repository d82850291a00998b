package diary

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// pointsOf adds a wait up from a day.
func (m *model) pointsOf(w graft.Wait, from int) points {
	d := m.out(from)
	p := points{notBefore: m.in(d.Add(w.NotBefore))}
	if w.FloorOnly {
		return p
	}
	add := func(q day.Period) int {
		if q == w.NotBefore {
			return p.notBefore
		}
		return m.in(d.Add(q))
	}
	p.earliest, p.target, p.latest = add(w.Earliest), add(w.Target), add(w.Latest)
	return p
}

// at returns the points of a wait with the milestone it counts from on a day.
func (m *model) at(w *anchored, from int) points {
	if w.from < 0 {
		return w.given
	}
	f := &m.nodes[w.from]
	n := from - f.lo
	if n < 0 || from > f.hi {
		return m.pointsOf(w.Wait, from)
	}
	if w.known == nil {
		w.known, w.has = make([]points, f.hi-f.lo+1), make([]bool, f.hi-f.lo+1)
	}
	if !w.has[n] {
		w.known[n], w.has[n] = m.pointsOf(w.Wait, from), true
	}
	return w.known[n]
}

// drop leaves out open waits that never bind, so that nothing is kept for them.
func (m *model) drop(n *node) {
	if m.keepAll || len(n.waits) < 2 || n.override != nil || n.booked != nil {
		return
	}
	kept := n.waits[:0]
	for i := range n.waits {
		if w := &n.waits[i]; w.from < 0 || !m.covered(n, w, len(kept), i) {
			kept = append(kept, *w)
		}
	}
	n.waits = kept
}

// covered reports whether another wait of the milestone that is no floor asks for
// as much at every point, on whatever days both count from. Of the waits before
// it only those that are kept count.
func (m *model) covered(n *node, w *anchored, kept, at int) bool {
	late := m.at(w, m.nodes[w.from].hi)
	for j := range n.waits {
		o := &n.waits[j]
		if o.FloorOnly || j == at || j >= kept && j < at {
			continue
		}
		early := o.given
		if o.from >= 0 {
			early = m.at(o, m.nodes[o.from].lo)
		}
		if w.FloorOnly && late.notBefore <= min(early.notBefore, early.earliest) {
			return !m.mayLack || o.from >= 0 && m.descends(o.from, w.from)
		}
	}
	return false
}

// descends reports whether a milestone counts, over others, from another.
func (m *model) descends(i, from int) bool {
	for _, w := range m.nodes[i].waits {
		if w.from == from || w.from >= 0 && m.descends(w.from, from) {
			return true
		}
	}
	return false
}

// frame adds up the waits of a milestone as window does, with its anchors on the
// days they have.
func (m *model) frame(i int) frame {
	n := &m.nodes[i]
	return m.frameOf(n, func(w *anchored) points {
		if w.from < 0 {
			return w.given
		}
		return m.at(w, m.cur[w.from])
	})
}

func (m *model) frameOf(n *node, at func(*anchored) points) frame {
	raw, floor := m.sum(n, at)
	w := raw
	if behind := floor - w.earliest; behind > 0 {
		w.points = points{m.in(day.Day{}), floor, w.target + behind, w.latest + behind}
	}
	w.notBefore = max(w.notBefore, floor)
	if n.override != nil {
		w.override(m.in(n.override.Day))
	}
	return w
}

// sum adds up the waits before their floor is looked at.
func (m *model) sum(n *node, at func(*anchored) points) (w frame, floor int) {
	none := m.in(day.Day{})
	w = frame{points{none, none, none, none}, none}
	floor = none
	for i := range n.waits {
		a := &n.waits[i]
		p := at(a)
		if a.Hard {
			w.floor = max(w.floor, p.notBefore)
		}
		if a.FloorOnly {
			floor = max(floor, p.notBefore)
			continue
		}
		w.notBefore, w.earliest = max(w.notBefore, p.notBefore), max(w.earliest, p.earliest)
		w.target, w.latest = max(w.target, p.target), max(w.latest, p.latest)
	}
	w.earliest = max(w.notBefore, w.earliest)
	w.target = max(w.earliest, w.target)
	w.latest = max(w.target, w.latest)
	return w, floor
}

// override moves the window so that it begins on the surgeon's own day and ends as long
// after that as after its target, never below the hard floor.
func (w *frame) override(own int) {
	d := max(own, w.floor)
	w.latest += d - w.target
	w.notBefore, w.earliest, w.target = d, d, d
}

// reach works out between which days a milestone can come. A floor moves the end
// of a window by at most as much as it can lie behind the window's start.
func (m *model) reach(i int) {
	n := &m.nodes[i]
	early, lowest := m.sum(n, func(w *anchored) points { return m.end(w, true) })
	late, highest := m.sum(n, func(w *anchored) points { return m.end(w, false) })
	n.lo, n.hi = max(early.earliest, lowest), late.latest+max(0, highest-early.earliest)
	ends := early.latest
	if n.override != nil {
		own := m.in(n.override.Day)
		n.lo = max(own, early.floor)
		n.hi = max(n.hi+max(0, max(own, late.floor)-early.target), own, late.floor)
		ends, n.loose = n.lo, true // its window ends no sooner than it begins
	}
	switch {
	case ends >= m.on:
		n.lo = max(n.lo, m.on)
	case m.lateTo >= 0:
		n.lo, n.hi, n.loose = m.on, max(n.hi, m.lateTo), true
	}
	if n.booked != nil {
		n.lo, n.hi, n.loose = min(n.lo, n.bookday), max(n.hi, n.bookday), true
	}
	if h := m.held[i]; h.on && h.day != noDay {
		n.lo, n.hi, n.loose = h.day, h.day, true
	}
	n.hi = max(n.hi, n.lo)
	m.minDay, m.maxDay = min(m.minDay, n.lo), max(m.maxDay, n.hi)
}

// end returns the points of a wait with its anchor on its first or last day.
func (m *model) end(w *anchored, first bool) points {
	switch {
	case w.from < 0:
		return w.given
	case first:
		return m.at(w, m.nodes[w.from].lo)
	}
	return m.at(w, m.nodes[w.from].hi)
}
