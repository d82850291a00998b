package paper

import "graftclock/internal/drawing"

// draw sets a drawing as one strip: its paths as vectors, its labels as text.
func (s *Sheet) draw(d drawing.Drawing, maxWidthMM float64) {
	if !(d.WidthMM > 0 && d.HeightMM > 0) {
		s.fault("drawing %q of %g mm x %g mm", d.ID, d.WidthMM, d.HeightMM)
		return
	}
	width := s.flow.width
	if maxWidthMM > 0 {
		width = min(width, maxWidthMM)
	}
	scale := min(1, width/d.WidthMM, s.page.height/d.HeightMM)
	var figure *tag
	if d.Title != "" {
		figure = &tag{kind: "Figure", alt: s.odd.clean(d.Title + ". " + d.Says)}
	}
	picture := strip{height: d.HeightMM * scale}
	picture.marks = []mark{{x: s.flow.x, tag: figure, area: drawing.Point{X: d.WidthMM * scale, Y: d.HeightMM * scale}}}
	for _, shape := range d.Shapes {
		switch shape := shape.(type) {
		case drawing.Path:
			picture.marks = append(picture.marks, mark{x: s.flow.x, tag: figure, path: &shape, scale: scale})
		case drawing.Label:
			picture.marks = append(picture.marks, s.label(shape, figure, scale)...)
		}
	}
	s.flow.space(paragraphEm * s.BodyMM())
	s.flow.add(picture)
}

// label sets the words of a drawing around their point.
func (s *Sheet) label(l drawing.Label, figure *tag, scale float64) []mark {
	st := style{face: regular, size: l.SizeMM * scale, tone: l.Tone, tag: figure}
	if l.Bold {
		st.face = bold
	}
	if l.Tone == drawing.None {
		st.tone = drawing.Ink
	}
	var words line
	for _, r := range s.odd.clean(l.Text) {
		if r == '\n' {
			r = space
		}
		words.pieces = join(words.pieces, piece{style: st, text: string(r), width: st.advance(r)})
		words.width += st.advance(r)
	}
	if last := len(words.pieces) - 1; last >= 0 {
		words.pieces[last].text += " " // parts it from the next label where the text is copied
	}
	before := [...]float64{drawing.Start: 0, drawing.Middle: 0.5, drawing.End: 1}[l.Anchor]
	return words.marks(s.flow.x+l.At.X*scale-before*words.width, l.At.Y*scale)
}
