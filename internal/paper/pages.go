package paper

import "slices"

// pager fills pages of one height with strips.
type pager struct {
	height float64
	pages  [][]strip
	page   []strip // the one that is being filled
	filled float64
}

// fits reports whether strips still fit on the page, with the head of their table if they
// begin it.
func (p *pager) fits(group []strip) bool {
	above := group[0].gap
	if len(p.page) == 0 {
		above = heightOf(group[0].head)
	}
	return p.filled+above+heightOf(group) <= p.height+rounding
}

func (p *pager) put(group []strip) {
	if len(p.page) == 0 {
		p.page = repeated(group[0].head, group[0].frames)
	}
	p.page = append(p.page, group...)
	p.filled = heightOf(p.page)
}

func (p *pager) turn() {
	if len(p.page) > 0 {
		p.pages = append(p.pages, p.page)
	}
	p.page, p.filled = nil, 0
}

// paginate shares the strips out over pages: as many as fit on each, those that hold on to
// each other not divided. There is always at least one page.
func (s *Sheet) paginate() [][]strip {
	p := &pager{height: s.page.height}
	for _, group := range groups(s.flow.strips) {
		if group[0].turn || !p.fits(group) {
			p.turn()
		}
		for len(group) > 0 {
			part := len(group)
			for part > 1 && !p.fits(group[:part]) {
				part--
			}
			part = yielding(group, part)
			p.put(group[:part])
			if group = group[part:]; len(group) > 0 {
				p.turn()
			}
		}
	}
	if p.turn(); len(p.pages) == 0 {
		return [][]strip{nil}
	}
	return p.pages
}

const rounding = 1e-6 // mm

// repeated is the head of a table once more, which nobody needs to have read again.
func repeated(head []strip, frames []*frame) []strip {
	again := slices.Clone(head)
	for i := range again {
		again[i].marks = unread(again[i].marks)
		again[i].frames = frames
	}
	return again
}

// unread makes marks an ornament.
func unread(marks []mark) []mark {
	marks = slices.Clone(marks)
	for i := range marks {
		marks[i].tag = nil
	}
	return marks
}

// yielding is where a group of strips is divided of which only so many fit on a page:
// behind the last of them whose bond is not firm, if there is one.
func yielding(group []strip, fit int) int {
	if fit == len(group) {
		return fit
	}
	for i := fit; i > 0; i-- {
		if group[i-1].bond != firm {
			return i
		}
	}
	return fit
}

// groups are the strips that hold on to each other.
func groups(strips []strip) (all [][]strip) {
	from := 0
	for i, each := range strips {
		if each.bond == free || i+1 == len(strips) {
			all = append(all, strips[from:i+1])
			from = i + 1
		}
	}
	return all
}
