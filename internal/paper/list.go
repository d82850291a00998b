package paper

import "graftclock/internal/drawing"

const (
	bullet      = "•"
	indentEm    = 1.1 // from the bullet to the text
	narrowestEm = 15  // a column of a list
)

func (s *Sheet) list(items []Item, columns int) {
	if len(items) == 0 {
		return
	}
	em := s.BodyMM()
	root := &tag{kind: "L"}
	s.flow.space(paragraphEm * em)
	shares := make([]float64, max(1, min(columns, len(items))))
	for i := range shares {
		shares[i] = 1
	}
	places := divide(shares, s.flow.x, s.flow.width, gutterEm*em)
	for len(places) > 1 && places[0].width < narrowestEm*em {
		places = divide(shares[:len(places)-1], s.flow.x, s.flow.width, gutterEm*em)
	}
	if len(places) > 1 {
		if side := s.columns(items, root, places); heightOfAll(side) <= s.page.height {
			s.abreast(side)
			return
		}
	}
	for i, item := range items {
		if i > 0 {
			s.flow.space(itemEm * em)
		}
		s.flow.add(s.item(item, root, place{s.flow.x, s.flow.width})...)
	}
}

// columns shares items out over columns of about the same height.
func (s *Sheet) columns(items []Item, root *tag, places []place) []flow {
	gap := itemEm * s.BodyMM()
	heights := make([]float64, len(items))
	sum := 0.0
	for i, item := range items {
		heights[i] = heightOf(s.item(item, root, places[0]))
		sum += heights[i] + gap
	}
	limit := sum / float64(len(places))
	for fill(heights, gap, limit)[len(items)-1] >= len(places) {
		limit += gap
	}
	columns := make([]flow, len(places))
	for i, column := range fill(heights, gap, limit) {
		to := &columns[column]
		if len(to.strips) > 0 {
			to.space(gap)
		}
		to.add(s.item(items[i], root, places[column])...)
	}
	return columns
}

// fill gives each item a column such that none is higher than the limit, unless by one
// item alone.
func fill(heights []float64, gap, limit float64) []int {
	columns := make([]int, len(heights))
	column, filled := 0, 0.0
	for i, height := range heights {
		if filled > 0 && filled+gap+height > limit {
			column, filled = column+1, 0
		}
		if filled > 0 {
			filled += gap
		}
		filled += height
		columns[i] = column
	}
	return columns
}

func heightOfAll(columns []flow) (highest float64) {
	for _, column := range columns {
		highest = max(highest, heightOf(column.strips))
	}
	return highest
}

// item sets one item with the items inside it: the bullet, and the text to its right.
func (s *Sheet) item(item Item, root *tag, at place) []strip {
	em := s.BodyMM()
	li := &tag{kind: "LI", parent: root}
	label, text := &tag{kind: "Lbl", parent: li}, &tag{kind: "LBody", parent: li}
	st := s.body(label)
	st.tone = drawing.Accent
	inside := place{at.x + indentEm*em, at.width - indentEm*em}
	lines := s.wrap(item.Runs, inside.width, s.body(text))
	if len(lines) == 0 {
		lines = []line{s.measured(line{}, s.body(text))}
	} else {
		st.size = lines[0].pieces[0].size
	}
	strips := setAt(lines, inside.x)
	dot := line{pieces: []piece{{style: st, text: bullet + " "}}, baseline: lines[0].baseline}
	strips[0].marks = append(dot.marks(at.x, 0), strips[0].marks...)
	strips = together(strips)
	if len(item.Inside) > 0 {
		list := &tag{kind: "L", parent: text}
		strips[len(strips)-1].bond = light
		for _, each := range item.Inside {
			below := s.item(each, list, inside)
			below[0].gap = itemEm * em
			strips = append(strips, below...)
		}
	}
	return strips
}
