package letter

import (
	"cmp"
	"slices"
	"strconv"
	"unicode/utf8"

	"graftclock/internal/day"
	"graftclock/internal/drawing"
	"graftclock/internal/graft"
)

// The drawing of the time from the surgery to the first teeth, in mm. Large print has
// larger words, and for them more height.
const (
	pathWidth  = 182.0
	pathInset  = 5.0  // of the axis, left and right
	pathMarkMM = 1.5  // half the width of a visit's mark
	pathWordMM = 3.5  // size of the words
	pathBarMM  = 5.0  // of the sign of the months of growth
	pathLarge  = 1.75 // times as large in large print
	pathDigit  = 0.72 // width of a bold digit, in sizes of the words
	pathMost   = 24   // months at most: later visits are in the list alone
)

// pathDrawing is what the drawing is made of.
type pathDrawing struct {
	drawing.Drawing
	words   *wording
	from    day.Day
	days    int     // from the surgery to the end of the axis
	size    float64 // of the words, mm
	axis    float64 // height of the axis
	lastEnd []float64
	healed  bool // the months of growth are shaded
}

// fillPath draws the healing months, the visits by the numbers they have in the list, and
// the day of planning. There is none without a visit in the first months.
func (s *sheet) fillPath(l Letter, w *wording) {
	d := pathDrawing{words: w, from: l.Case.Surgery.Day, size: pathWordMM}
	if s.Large {
		d.size *= pathLarge
	}
	months := pathMonths(l)
	if months == 0 {
		return
	}
	end := d.from.AddMonths(months)
	d.days = end.Sub(d.from)
	d.ID, d.Title, d.Says = "path", w.Path.Heading, w.Path.Says
	d.WidthMM = pathWidth
	d.draw(l, s.Visits, months)
	s.Path, s.Drawn = d.Drawing, d.SVG()
}

// pathMonths is how many whole months the axis has: to the first teeth or, in a case
// without, to the last visit; 0 if nothing lies on it.
func pathMonths(l Letter) int {
	var last, teeth day.Day
	for _, m := range upcoming(l) {
		at := shownDay(l, m)
		if at.IsZero() {
			continue
		}
		last = day.Max(last, at)
		if m.Step == graft.FirstLoading {
			teeth = day.Max(teeth, at)
		}
	}
	if !teeth.IsZero() {
		last = teeth
	}
	if last.IsZero() {
		return 0
	}
	months := 1
	for months < pathMost && l.Case.Surgery.Day.AddMonths(months).Before(last) {
		months++
	}
	return months
}

func (d *pathDrawing) x(at day.Day) float64 {
	return pathInset + (d.WidthMM-2*pathInset)*float64(at.Sub(d.from))/float64(d.days)
}

func (d *pathDrawing) inside(at day.Day) bool {
	return !at.IsZero() && !at.Before(d.from) && at.Sub(d.from) <= d.days
}

func (d *pathDrawing) draw(l Letter, visits []visit, months int) {
	marks := d.marks(l, visits)
	rows := 0
	for _, m := range marks {
		rows = max(rows, m.row+1)
	}
	line := d.size * 1.25
	d.axis = line + float64(rows)*line + 2*pathMarkMM
	d.heals(l)
	d.months(months, line)
	d.today(l)
	for _, m := range marks {
		d.stem(m, line)
	}
	for _, m := range marks {
		d.mark(m, line)
	}
	d.HeightMM = d.legend(d.axis+2*pathMarkMM+d.size+2*line, line) + pathMarkMM
}

// heals shades the months in which the bone grows: from the surgery to the first day on
// which the slowest may go on, with implants that follow later or, without any, with
// uncovering or loading.
func (d *pathDrawing) heals(l Letter) {
	var until day.Day
	for _, gate := range []graft.Step{graft.Placement, graft.Uncovering, graft.FirstLoading} {
		for _, m := range l.Timeline.Milestones {
			if m.Step == gate {
				until = day.Max(until, m.Window.NotBefore)
			}
		}
		if !until.IsZero() {
			break
		}
	}
	if !d.inside(until) {
		return
	}
	left, right := d.x(d.from), d.x(until)
	d.Add(drawing.Path{Name: "heals", Points: drawing.Rectangle(left, d.axis, right-left, 2*pathMarkMM), Closed: true, Fill: drawing.Hair})
	d.healed = true
}

func (d *pathDrawing) months(months int, line float64) {
	d.Add(drawing.Path{Name: "axis", Points: drawing.Straight(pathInset, d.axis, d.WidthMM-pathInset, d.axis), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.4}})
	every := 1
	for room := (d.WidthMM - 2*pathInset) / float64(months); room*float64(every) < 2*d.size; {
		every++
	}
	for n := 0; n <= months; n++ {
		x := d.x(d.from.AddMonths(n))
		d.Add(drawing.Path{Points: drawing.Straight(x, d.axis, x, d.axis+2*pathMarkMM), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.2}})
		if n%every == 0 {
			d.Add(drawing.Label{At: drawing.Point{X: x, Y: d.axis + 2*pathMarkMM + d.size}, Text: strconv.Itoa(n), SizeMM: d.size, Anchor: drawing.Middle})
		}
	}
	d.Add(drawing.Label{At: drawing.Point{X: pathInset, Y: d.axis + 2*pathMarkMM + d.size + line}, Text: d.words.Path.Months, SizeMM: d.size})
}

func (d *pathDrawing) today(l Letter) {
	if !d.inside(l.Timeline.On) || l.Timeline.On == d.from {
		return
	}
	x := d.x(l.Timeline.On)
	d.Add(drawing.Path{Name: "today", Points: drawing.Straight(x, d.size*1.3, x, d.axis+2*pathMarkMM), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.3, Dash: []float64{1.2, 0.8}}},
		d.near(x, d.size, d.words.Path.Today))
}

// near is a label in the middle over a place, moved inside where it would leave the drawing.
func (d *pathDrawing) near(x, y float64, text string) drawing.Label {
	anchor := drawing.Middle
	switch half := d.width(text) / 2; {
	case x < half:
		x, anchor = 0, drawing.Start
	case x > d.WidthMM-half:
		x, anchor = d.WidthMM, drawing.End
	}
	return drawing.Label{At: drawing.Point{X: x, Y: y}, Text: text, SizeMM: d.size, Anchor: anchor}
}

// pathMark is one visit on the axis. A number that would cover its neighbour's goes one
// row up.
type pathMark struct {
	n, row int
	x      float64
	booked bool
}

func (d *pathDrawing) marks(l Letter, visits []visit) []pathMark {
	var marks []pathMark
	for _, v := range visits {
		if !d.inside(v.at) {
			continue
		}
		m := pathMark{n: v.N, x: d.x(v.at), booked: v.booked}
		half := d.size * pathDigit * float64(len(strconv.Itoa(v.N))) / 2
		for m.row < len(d.lastEnd) && d.lastEnd[m.row] > m.x-half {
			m.row++
		}
		if m.row == len(d.lastEnd) {
			d.lastEnd = append(d.lastEnd, 0)
		}
		d.lastEnd[m.row] = m.x + half + d.size*0.3
		marks = append(marks, m)
	}
	slices.SortStableFunc(marks, func(a, b pathMark) int { return cmp.Compare(a.x, b.x) })
	return marks
}

// stem leads from a visit up to a number that is not right above it.
func (d *pathDrawing) stem(m pathMark, line float64) {
	if m.row > 0 {
		d.Add(drawing.Path{Points: drawing.Straight(m.x, d.top(m, line)+d.size*0.15, m.x, d.axis-pathMarkMM), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.15}})
	}
}

// top is the height of a visit's number.
func (d *pathDrawing) top(m pathMark, line float64) float64 {
	return d.axis - 2*pathMarkMM - float64(m.row)*line
}

// mark draws a visit: booked it is full, planned it is open. Its number stands on white,
// which hides a line that passes below: that of today, or one to a number further up.
func (d *pathDrawing) mark(m pathMark, line float64) {
	number, top := strconv.Itoa(m.n), d.top(m, line)
	half := d.size * pathDigit * float64(len(number)) / 2
	d.Add(drawing.Path{Points: drawing.Rectangle(m.x-half, top-d.size*0.8, 2*half, d.size*0.9), Closed: true, Fill: drawing.White},
		dot("visit-"+number, m.x, d.axis, m.booked),
		drawing.Label{At: drawing.Point{X: m.x, Y: top}, Text: number, SizeMM: d.size, Anchor: drawing.Middle, Bold: true})
}

// dot is a diamond, full for a booked visit and open for a planned one.
func dot(name string, x, y float64, booked bool) drawing.Path {
	fill := drawing.White
	if booked {
		fill = drawing.Ink
	}
	return drawing.Path{Name: name, Closed: true, Fill: fill, Line: drawing.Line{Tone: drawing.Ink, WidthMM: 0.4},
		Points: []drawing.Point{{X: x, Y: y - pathMarkMM}, {X: x + pathMarkMM, Y: y}, {X: x, Y: y + pathMarkMM}, {X: x - pathMarkMM, Y: y}}}
}

// legend says what the marks mean, in as many lines as it needs, and returns where the
// last one stands.
func (d *pathDrawing) legend(y, line float64) float64 {
	type entry struct {
		text string
		sign func(x, y float64) drawing.Shape
	}
	diamond := func(booked bool) func(x, y float64) drawing.Shape {
		return func(x, y float64) drawing.Shape { return dot("", x+pathMarkMM, y-d.size/3, booked) }
	}
	entries := []entry{{d.words.Status.Booked, diamond(true)}, {d.words.Status.Planned, diamond(false)}}
	if d.healed {
		bar := func(x, y float64) drawing.Shape {
			return drawing.Path{Points: drawing.Rectangle(x, y-d.size/3-pathMarkMM, pathBarMM, 2*pathMarkMM), Closed: true, Fill: drawing.Hair}
		}
		entries = append(entries, entry{d.words.Path.Heals, bar})
	}
	x := pathInset
	for _, e := range entries {
		room := pathBarMM + pathMarkMM + d.width(e.text)
		if x > pathInset && x+room > d.WidthMM {
			x, y = pathInset, y+line
		}
		d.Add(e.sign(x, y), drawing.Label{At: drawing.Point{X: x + pathBarMM + pathMarkMM, Y: y}, Text: e.text, SizeMM: d.size})
		x += room + 3*pathMarkMM
	}
	return y
}

// width is how wide a text is, generously.
func (d *pathDrawing) width(text string) float64 {
	const em = 0.64
	return em * d.size * float64(utf8.RuneCountInString(text))
}
