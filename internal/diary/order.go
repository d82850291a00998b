package diary

import (
	"cmp"
	"slices"

	"graftclock/internal/graft"
)

// link puts the open milestones in the order of the search: each after those it
// counts from and, among those that are ready, by the earliest day it can have.
func (m *model) link() {
	m.minDay, m.maxDay = m.on, m.on
	waiting := make([]int, 0, len(m.nodes))
	for i := range m.nodes {
		if m.nodes[i].state == open {
			waiting = append(waiting, i)
		}
	}
	ready := make([]int, 0, len(m.nodes))
	for {
		waiting = slices.DeleteFunc(waiting, func(i int) bool {
			if !m.ready(i) {
				return false
			}
			m.anchor(i)
			ready = append(ready, i)
			return true
		})
		if len(ready) == 0 {
			break
		}
		m.take(&ready)
	}
	for _, i := range waiting {
		m.nodes[i].state = dangling
	}
}

// take gives the next place in the order to the first of those that are ready.
func (m *model) take(ready *[]int) {
	first := slices.MinFunc(*ready, func(a, b int) int {
		return cmp.Or(cmp.Compare(m.nodes[a].lo, m.nodes[b].lo), cmp.Compare(m.nodes[a].ID, m.nodes[b].ID))
	})
	*ready = slices.DeleteFunc(*ready, func(i int) bool { return i == first })
	m.nodes[first].order = len(m.order)
	m.order = append(m.order, first)
}

// ready reports whether all that the milestone counts from has its place.
func (m *model) ready(i int) bool {
	for _, w := range m.nodes[i].Waits {
		if w.From == graft.SurgeryDay {
			continue
		}
		j, there := m.byID[w.From]
		if !there || m.nodes[j].state != given && m.nodes[j].order < 0 {
			return false
		}
	}
	return len(m.nodes[i].Waits) > 0
}

// anchor reads the waits of a milestone whose anchors have their places, and
// works out between which days it can come.
func (m *model) anchor(i int) {
	n := &m.nodes[i]
	n.waits = make([]anchored, 0, len(n.Waits))
	for _, w := range n.Waits {
		a := anchored{Wait: w, from: -1}
		if w.From == graft.SurgeryDay {
			a.given = m.pointsOf(w, m.in(m.Surgery))
		} else if j := m.byID[w.From]; m.nodes[j].state == given {
			a.given = m.pointsOf(w, m.nodes[j].day)
		} else {
			a.from = j
		}
		n.waits = append(n.waits, a)
	}
	m.drop(n)
	for _, w := range n.waits {
		if w.from < 0 {
			continue
		}
		f := &m.nodes[w.from]
		if !slices.Contains(f.children, i) {
			f.children = append(f.children, i)
			n.anchors++
		}
		n.parent = w.from
		n.last = max(n.last, f.order)
	}
	if n.anchors > 1 {
		n.parent = -1
	}
	m.reach(i)
}
