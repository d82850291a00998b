package diary

import "slices"

// How many states a search may explore: for a plan or one part of it, for parts that
// are placed anew, and for all the days that are offered of one visit. Two restorations of one patient take some
// hundreds for a plan, three up to a million, of which a second holds some 200,000.
const (
	mostStates   = 50_000
	mostOfPart   = 5_000
	mostOffering = 100_000

	daysOfState = 20 // that a state is reckoned to try; only windows of months make it more
)

// parts puts a plan together part by part, where it is too much to try everything. A
// part is all that counts, over others, from each other: the steps of a restoration,
// or one step that counts from the surgery alone. Each part gets the best days beside
// those that the others have.
type parts struct {
	r     Request
	c     Clinic
	known *model  // which knows the days
	parts [][]int // milestones, the parts that come first before the others
	days  []int
	stay  []bool

	explored, looked int // states, and days in them
	most, again      int // states that a part may take: at first, and placed anew
}

func newParts(r Request, c Clinic) *parts {
	p := &parts{r: r, c: c, known: newModel(r, c, true), most: mostStates, again: mostOfPart}
	p.days, p.stay = slices.Clone(p.known.cur), make([]bool, len(p.known.nodes))
	p.split()
	return p
}

// split finds the parts.
func (p *parts) split() {
	m := p.known
	part := make([]int, len(m.nodes))
	for i := range part {
		part[i] = i
	}
	for _, i := range m.order {
		for _, w := range m.nodes[i].Waits {
			j, there := m.byID[w.From]
			if !there || m.nodes[j].state != open {
				continue
			}
			for k, from := 0, part[i]; k < len(part); k++ {
				if part[k] == from {
					part[k] = part[j]
				}
			}
		}
	}
	at := map[int]int{}
	for _, i := range m.order {
		if _, known := at[part[i]]; !known {
			at[part[i]] = len(p.parts)
			p.parts = append(p.parts, nil)
		}
		p.parts[at[part[i]]] = append(p.parts[at[part[i]]], i)
	}
}

// solve places the parts one after the other, and then each anew beside all others
// until nothing gets better by that, and so two by two. It returns the search that
// knows the plan.
func (p *parts) solve() (*joint, cost) {
	for n, part := range p.parts {
		p.place(part, p.most)
		for _, i := range part { // where the part itself is too much, step by step
			if p.days[i] == noDay {
				p.place([]int{i}, mostStates)
			}
		}
		for _, other := range p.parts[:n] {
			p.place(slices.Concat(other, part), p.again)
		}
	}
	p.improve(p.parts)
	p.improve(p.pairs())
	s, total := p.whole()
	s.explored, s.looked = s.explored+p.explored, s.looked+p.looked
	return s, total
}

// whole returns the search that knows the plan that was put together.
func (p *parts) whole() (*joint, cost) {
	s := p.search(true, func(m *model) {
		for _, i := range p.known.order {
			m.held[i] = fixed{on: true, stay: p.stay[i], day: p.days[i]}
		}
	})
	s.inParts = true
	return s, s.run()
}

// from changes a plan by as little as it takes to have a milestone on a day: what
// counts from it is placed anew, step by step, and all else stays.
func (p *parts) from(i, d int, days []int, stay []bool) (*joint, cost) {
	p.days, p.stay = slices.Clone(days), slices.Clone(stay)
	p.days[i], p.stay[i] = d, false
	var after []int
	for _, k := range p.known.order {
		if p.known.descends(k, i) {
			p.days[k], p.stay[k] = noDay, false
			after = append(after, k)
		}
	}
	for _, k := range after {
		p.place([]int{k}, mostStates)
	}
	return p.whole()
}

// improve places parts anew until nothing gets better by that.
func (p *parts) improve(parts [][]int) {
	const rounds = 4
	for range rounds {
		before := slices.Clone(p.days)
		for _, part := range parts {
			p.place(part, p.again)
		}
		if slices.Equal(before, p.days) {
			break
		}
	}
}

// pairs joins the parts two by two.
func (p *parts) pairs() [][]int {
	var pairs [][]int
	for n, one := range p.parts {
		for _, other := range p.parts[n+1:] {
			pairs = append(pairs, slices.Concat(one, other))
		}
	}
	return pairs
}

// place gives a part its best days beside the others, if so many states find them.
func (p *parts) place(part []int, most int) {
	for _, mayLack := range []bool{false, true} {
		s := p.search(mayLack, func(m *model) { p.hold(m, part, p.days, p.stay) })
		s.most = most
		total := s.run()
		p.explored, p.looked = p.explored+s.explored, p.looked+s.looked
		if s.tired() {
			return
		}
		if total >= never {
			continue
		}
		s.walk(total)
		for _, i := range part {
			p.days[i], p.stay[i] = s.cur[i], s.stay[i]
		}
		return
	}
}

// search is one with some milestones held.
func (p *parts) search(mayLack bool, hold func(*model)) *joint {
	m := bareModel(p.r, p.c)
	m.mayLack, m.shared = mayLack, p.known
	hold(m)
	m.link()
	m.hold()
	return newJoint(m)
}

// of returns the part of a milestone.
func (p *parts) of(i int) []int {
	return p.parts[slices.IndexFunc(p.parts, func(part []int) bool { return slices.Contains(part, i) })]
}

// hold holds all but a part on the days of a plan, and leaves out what has none.
func (p *parts) hold(m *model, part []int, days []int, stay []bool) {
	for _, i := range p.known.order {
		switch {
		case slices.Contains(part, i):
		case days[i] == noDay:
			m.nodes[i].state = dangling
		default:
			m.held[i] = fixed{on: true, stay: stay[i], day: days[i]}
		}
	}
}
