package report

import (
	"cmp"
	"fmt"
	"slices"

	"graftclock/internal/drawing"
)

// The two columns of words beside a section.
const (
	left = iota
	right
)

const (
	noteGapMM = 1.4 // between two notes
	stubMM    = 1.2 // of a leader that runs level, beside its words
	leaderMM  = 4.2 // from the field to the words
	edgeMM    = 0.5 // that stays free at the edge of the sheet
	dotMM     = 0.4 // radius of the dot at a leader's end
	footMM    = 4.2 // from one row of the foot to the next
	sampleMM  = 8.0 // of a line in the foot
)

// note is some words beside the section and what they are about.
type note struct {
	lines []string
	at    drawing.Point
	reach float64 // how far above and below it stretches; 0: a point, which gets a dot
}

func sideOf(u float64) int {
	if u < 0 {
		return left
	}
	return right
}

func (d *section) note(side int, at drawing.Point, lines ...string) {
	d.notes[side] = append(d.notes[side], note{lines: lines, at: at})
}

// layNotes sets the words of both columns, each as near to its subject as the others
// let it, and returns where they and the field end.
func (d *section) layNotes() (bottom float64) {
	edges := [...]float64{d.at(-d.field.half, 0).X, d.at(d.field.half, 0).X}
	bottom = d.at(0, d.field.low).Y
	sides := [...]struct {
		away   float64
		anchor drawing.Anchor
	}{{-1, drawing.End}, {1, drawing.Start}}
	for side, notes := range d.notes {
		slices.SortStableFunc(notes, func(a, b note) int { return cmp.Compare(a.at.Y, b.at.Y) })
		x := edges[side] + sides[side].away*leaderMM
		for k := range notes {
			notes[k].lines = fitted(notes[k].lines, min(x, d.WidthMM-x)-edgeMM)
		}
		for k, top := range tops(notes, headMM, bottom) {
			n := notes[k]
			d.leader(n, x, sides[side].away, top+heightOf(n)/2)
			d.Add(words(drawing.Point{X: x, Y: top + ascent*lineMM}, sides[side].anchor, n.lines...)...)
			bottom = max(bottom, top+heightOf(n))
		}
	}
	d.Add(words(drawing.Point{X: edges[left], Y: headMM - 1.5}, drawing.Start, "palatal")...)
	d.Add(words(drawing.Point{X: edges[right], Y: headMM - 1.5}, drawing.End, "lateral")...)
	return bottom
}

func heightOf(n note) float64 { return float64(len(n.lines)) * lineMM }

// tops are the upper edges of notes in order of height: first each beside its subject,
// then pushed down past the one above, then back up from the bottom as far as there is
// room.
func tops(notes []note, least, most float64) []float64 {
	tops := make([]float64, len(notes))
	free := least
	for k, n := range notes {
		tops[k] = max(free, n.at.Y-heightOf(n)/2)
		free = tops[k] + heightOf(n) + noteGapMM
	}
	ceiling := max(most, least+total(notes))
	for k := len(notes) - 1; k >= 0; k-- {
		tops[k] = min(tops[k], ceiling-heightOf(notes[k]))
		ceiling = tops[k] - noteGapMM
	}
	return tops
}

// total is the height of notes one below the other.
func total(notes []note) float64 {
	sum := -noteGapMM
	for _, n := range notes {
		sum += heightOf(n) + noteGapMM
	}
	return sum
}

// leader joins words to their subject.
func (d *section) leader(n note, x, away, y float64) {
	to := drawing.Point{X: n.at.X, Y: max(n.at.Y-n.reach, min(n.at.Y+n.reach, y))}
	points := []drawing.Point{{X: x - away*stubMM/2, Y: y}, {X: x - away*stubMM*3/2, Y: y}, to}
	d.Add(drawing.Path{Points: points, Line: thinPen})
	if n.reach == 0 {
		d.Add(drawing.Path{Points: circle(n.at, dotMM), Closed: true, Fill: drawing.Ink})
	}
}

// foot adds the scale bar and the key below everything, and ends the drawing.
func (d *section) foot(y float64) {
	x := columnMM
	y += footMM + noteGapMM
	to := x + barMM*d.perX
	d.Add(drawing.Path{Name: "scale-bar", Points: []drawing.Point{{X: x, Y: y - 1}, {X: x, Y: y}, {X: to, Y: y}, {X: to, Y: y - 1}}, Line: firmPen})
	d.Add(words(drawing.Point{X: to + stubMM, Y: y}, drawing.Start, told(barMM)+" mm; scale "+told(d.perX)+" : 1 at full size")...)
	if d.site.Clock.ToFull > 0 {
		y = d.key(y, frontPen, "new bone after so many months, cut by this plane")
	}
	y = d.key(y, dottedPen, "wall beyond the measured levels")
	if from := d.site.SavesFrom; from > 0 {
		y += footMM
		d.Add(words(drawing.Point{X: x, Y: y}, drawing.Start, fmt.Sprintf("%s saves nothing before month %s", d.site.Sinus.Graft.Additive, told(from)))...)
	}
	if front := d.site.Housing.FrontWallAtMM; front != nil {
		y += footMM
		d.Add(words(drawing.Point{X: x, Y: y}, drawing.Start, "front wall "+along(*front-d.site.Post.AtMM)+" of this section")...)
	}
	d.HeightMM = y + footMM/2
}

// key adds a row that says what a line means.
func (d *section) key(y float64, pen drawing.Line, says string) float64 {
	y += footMM
	d.Add(drawing.Path{Points: drawing.Straight(columnMM, y-labelMM/3, columnMM+sampleMM, y-labelMM/3), Line: pen})
	d.Add(words(drawing.Point{X: columnMM + sampleMM + stubMM, Y: y}, drawing.Start, says)...)
	return y
}
