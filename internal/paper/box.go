package paper

import "graftclock/internal/drawing"

// boxed sets what is within between two strips of padding, which belong to the frame.
func (s *Sheet) boxed(b Box, within func()) {
	const paddingEm, sideEm = 0.45, 0.8
	f := &s.flow
	em := s.BodyMM()
	f.space(blockEm * em)
	frame := &frame{Box: b, x: f.x, width: f.width, padding: paddingEm * em}
	outside := *f
	from := len(f.strips)
	f.frames = append(f.frames[:len(f.frames):len(f.frames)], frame)
	f.x += b.LineMM + b.BarMM + sideEm*em
	f.width -= 2*b.LineMM + b.BarMM + 2*sideEm*em
	f.heading = drawing.Accent
	if b.Line != drawing.None {
		f.heading = b.Line
	}
	height := paddingEm*em + b.LineMM
	f.add(strip{height: height, bond: firm, opens: frame})
	f.fresh = true
	within()
	f.pending, f.turn = 0, false
	f.strips[len(f.strips)-1].bond = firm
	f.add(strip{height: height, closes: frame})
	f.x, f.width, f.frames, f.heading, f.fresh = outside.x, outside.width, outside.frames, outside.heading, false
	s.keepFrom(from)
}

// keep keeps what is within together.
func (s *Sheet) keep(within func()) {
	from := len(s.flow.strips)
	within()
	s.keepFrom(from)
}

// keepFrom glues the strips from one on to each other if they fit on one page.
func (s *Sheet) keepFrom(from int) {
	if strips := s.flow.strips[from:]; heightOf(strips) <= s.page.height {
		glue(strips)
	}
}

// beside fills a column for each block and puts them side by side.
func (s *Sheet) beside(shares []float64, within []func()) {
	if !s.divisible(shares, len(within), "blocks beside each other") {
		return
	}
	s.flow.space(blockEm * s.BodyMM())
	outside := s.flow
	columns := make([]flow, len(within))
	for i, place := range divide(shares, outside.x, outside.width, gutterEm*s.BodyMM()) {
		s.flow = flow{x: place.x, width: place.width, heading: outside.heading, fresh: true}
		within[i]()
		columns[i] = s.flow
	}
	s.flow = outside
	s.abreast(columns)
}

// abreast adds columns as one strip, or one below the other where that would be higher
// than a page.
func (s *Sheet) abreast(columns []flow) {
	var whole strip
	for _, column := range columns {
		marks, height := s.stack(column.strips)
		whole.marks = append(whole.marks, marks...)
		whole.height = max(whole.height, height)
	}
	if whole.height <= s.page.height {
		s.flow.add(whole)
		return
	}
	for _, column := range columns {
		s.flow.space(blockEm * s.BodyMM())
		for _, each := range column.strips {
			within := each.frames
			s.flow.add(each)
			last := &s.flow.strips[len(s.flow.strips)-1]
			last.frames = append(last.frames, within...)
		}
	}
}

// divisible reports whether shares of a width can be given to so many columns.
func (s *Sheet) divisible(shares []float64, count int, of string) bool {
	if len(shares) != count || count == 0 {
		s.fault("%d %s with %d shares of the width", count, of, len(shares))
		return false
	}
	for _, share := range shares {
		if !(share > 0) {
			s.fault("%s with the shares %v of the width", of, shares)
			return false
		}
	}
	return true
}

// place is where a column stands.
type place struct{ x, width float64 }

// divide shares a width out, with a gap between neighbours.
func divide(shares []float64, x, width, gap float64) []place {
	sum := 0.0
	for _, share := range shares {
		sum += share
	}
	places := make([]place, len(shares))
	free := width - gap*float64(len(shares)-1)
	for i, share := range shares {
		places[i] = place{x: x, width: free * share / sum}
		x += places[i].width + gap
	}
	return places
}
