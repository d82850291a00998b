package paper

import "graftclock/internal/drawing"

// The room between blocks and the sizes of the headings, as multiples of the body's
// size.
const (
	blockEm     = 0.7 // around boxes, tables and drawings
	paragraphEm = 0.3
	itemEm      = 0.12
	beneathEm   = 0.25 // between a heading and what follows
	gutterEm    = 1.4  // between columns
	pairEm      = 0.6  // between the two parts of a line of the head
	largeSize   = 1.5
	headingGap  = 1.2 // from baseline to baseline, at most, as a multiple of the size
	lowest      = 3   // level of heading
)

func headingSize(level int) float64  { return [...]float64{1.7, 1.2, 1.05}[level-1] }
func aboveHeading(level int) float64 { return [...]float64{0.9, 0.9, 0.7}[level-1] }

// body is the style of the text.
func (s *Sheet) body(within *tag) style {
	return style{face: regular, size: s.BodyMM(), tone: drawing.Ink, tag: within}
}

func (s *Sheet) heading(level int, text string) {
	if level < 1 || level > lowest || level > s.headings+1 {
		s.fault("heading %q of level %d after one of level %d", text, level, s.headings)
		return
	}
	s.headings = level
	st := s.body(&tag{kind: [...]string{"H1", "H2", "H3"}[level-1]})
	st.face, st.size, st.tone = serif, headingSize(level)*s.BodyMM(), s.flow.heading
	s.flow.space(aboveHeading(level) * s.BodyMM())
	strips := s.strips(s.balanced(text, s.flow.width, st))
	for i := range strips {
		strips[i].bond = light
	}
	s.flow.add(strips...)
	s.flow.pending, s.flow.fresh = beneathEm*s.BodyMM(), true
}

func (s *Sheet) paragraph(runs []Run) {
	s.flow.space(paragraphEm * s.BodyMM())
	s.flow.add(together(s.strips(s.wrap(runs, s.flow.width, s.body(&tag{kind: "P"}))))...)
}

func (s *Sheet) large(text string) {
	st := s.body(&tag{kind: "P"})
	st.face, st.size = serif, largeSize*s.BodyMM()
	s.flow.space(paragraphEm * s.BodyMM())
	strips := s.strips(s.balanced(text, s.flow.width, st))
	glue(strips)
	s.flow.add(strips...)
}

// strips makes a strip of each line, at the left edge of the column.
func (s *Sheet) strips(lines []line) []strip { return setAt(lines, s.flow.x) }

func setAt(lines []line, x float64) []strip {
	strips := make([]strip, len(lines))
	for i, l := range lines {
		strips[i] = strip{height: l.height, marks: l.marks(x, 0)}
	}
	return strips
}

// marks are the pieces of a line whose top left corner is at x, y.
func (l line) marks(x, y float64) []mark {
	marks := make([]mark, len(l.pieces))
	for i := range l.pieces {
		marks[i] = mark{x: x, y: y + l.baseline, tag: l.pieces[i].tag, piece: &l.pieces[i]}
		x += l.pieces[i].width
	}
	return marks
}

// together keeps the first two lines of a paragraph on one page, and the last two.
func together(strips []strip) []strip {
	if last := len(strips) - 1; last > 0 {
		strips[0].bond, strips[last-1].bond = light, light
	}
	return strips
}
