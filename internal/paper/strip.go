package paper

import (
	"slices"

	"graftclock/internal/drawing"
)

// mark is one thing that is printed: a piece of text from the left end of its baseline,
// or a path. x counts from the left margin of the page, y from the top of the strip, and
// later of the page. A mark with neither only gives its tag a place among the others, and
// the area of a picture.
type mark struct {
	x, y  float64
	tag   *tag // nil: an ornament, which is not read
	piece *piece
	path  *drawing.Path
	scale float64       // of the path
	area  drawing.Point // width and height of a picture
	back  bool          // lies behind the watermark
}

// strip is as much of the page, over the whole width, as is never divided.
type strip struct {
	gap    float64 // above it, except at the top of a page
	height float64
	marks  []mark
	frames []*frame // in which it lies, the outermost first
	opens  *frame   // whose upper padding it is
	closes *frame   // whose lower padding it is
	bond   bond     // to the next strip
	turn   bool     // begins a page
	head   []strip  // printed above it where it begins a page: the head of its table
}

// bond is how firmly a strip holds on to the next. Where what is held together is higher
// than a page, a light bond gives way first.
type bond int

const (
	free bond = iota
	light
	firm
)

// frame is a box at its place.
type frame struct {
	Box
	x, width, padding float64
}

// extent is how much of the height of a stack a frame takes, and whether it begins and
// ends there.
type extent struct {
	frame          *frame
	top, bottom    float64
	opened, closed bool
}

// flow is a column that is being filled.
type flow struct {
	x, width float64
	strips   []strip
	pending  float64 // gap before the next strip
	fresh    bool    // at the top of a box or a column, or below a heading: no block leaves a gap of its own
	turn     bool
	frames   []*frame
	heading  drawing.Tone // of the headings
}

// add puts strips at the end of the column.
func (f *flow) add(strips ...strip) {
	for _, next := range strips {
		next.gap += f.pending
		next.turn = next.turn || f.turn
		next.frames = slices.Clone(f.frames)
		f.strips = append(f.strips, next)
		f.pending, f.fresh, f.turn = 0, false, false
	}
}

// space leaves at least so much room between the last block and the next.
func (f *flow) space(mm float64) {
	if !f.fresh {
		f.pending = max(f.pending, mm)
	}
}

// glue keeps strips together.
func glue(strips []strip) {
	for i := range len(strips) - 1 {
		strips[i].bond = firm
	}
}

// stack puts strips one below the other: their marks, counted from the top of the first,
// with what the frames need in front, and the height of all.
func (s *Sheet) stack(strips []strip) (marks []mark, height float64) {
	var extents []*extent
	find := func(f *frame) *extent {
		for _, e := range extents {
			if e.frame == f {
				return e
			}
		}
		extents = append(extents, &extent{frame: f, top: height})
		return extents[len(extents)-1]
	}
	for i, each := range strips {
		if i > 0 {
			height += each.gap
		}
		for _, f := range each.frames {
			e := find(f)
			e.bottom = height + each.height
			e.opened, e.closed = e.opened || each.opens == f, e.closed || each.closes == f
		}
		for _, m := range each.marks {
			m.y += height
			marks = append(marks, m)
		}
		height += each.height
	}
	var behind []mark
	for _, e := range extents {
		behind = append(behind, e.marks()...)
	}
	return append(behind, marks...), height
}

// heightOf is the height of a stack of strips.
func heightOf(strips []strip) (height float64) {
	for i, each := range strips {
		if i > 0 {
			height += each.gap
		}
		height += each.height
	}
	return height
}

// marks draws a frame around its extent. Where it goes on from page to page it has no
// edge, and reaches a little beyond the text.
func (e *extent) marks() (marks []mark) {
	f := e.frame
	if !e.opened {
		e.top -= f.padding
	}
	if !e.closed {
		e.bottom += f.padding
	}
	put := func(p drawing.Path) { marks = append(marks, mark{path: &p, scale: 1}) }
	if f.Fill != drawing.None {
		put(drawing.Path{Points: drawing.Rectangle(f.x, e.top, f.width, e.bottom-e.top), Closed: true, Fill: f.Fill})
		marks[0].back = true
	}
	if f.BarMM > 0 {
		put(drawing.Path{Points: drawing.Rectangle(f.x, e.top, f.BarMM, e.bottom-e.top), Closed: true, Fill: f.barTone()})
	}
	if f.LineMM > 0 && f.Line != drawing.None {
		for _, p := range e.border() {
			put(p)
		}
	}
	return marks
}

// border is the line around a frame: all of it, or what belongs to this page.
func (e *extent) border() []drawing.Path {
	f := e.frame
	half := f.LineMM / 2
	left, right, top, bottom := f.x+half, f.x+f.width-half, e.top, e.bottom
	line := drawing.Line{Tone: f.Line, WidthMM: f.LineMM}
	if f.Dashed {
		const lengths = 3
		line.Dash = []float64{lengths * f.LineMM, lengths * f.LineMM}
	}
	if e.opened {
		top += half
	}
	if e.closed {
		bottom -= half
	}
	round := drawing.Rectangle(left, top, right-left, bottom-top)
	switch {
	case e.opened && e.closed:
		return []drawing.Path{{Points: round, Closed: true, Line: line}}
	case e.opened:
		return []drawing.Path{{Points: []drawing.Point{round[3], round[0], round[1], round[2]}, Line: line}}
	case e.closed:
		return []drawing.Path{{Points: []drawing.Point{round[0], round[3], round[2], round[1]}, Line: line}}
	}
	return []drawing.Path{{Points: drawing.Straight(left, top, left, bottom), Line: line}, {Points: drawing.Straight(right, top, right, bottom), Line: line}}
}

func (b Box) barTone() drawing.Tone {
	if b.Bar == drawing.None {
		return drawing.Accent
	}
	return b.Bar
}
