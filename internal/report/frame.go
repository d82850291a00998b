package report

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/drawing"
)

// The hand that draws: the same sizes and lines in every drawing of the page.
const (
	labelMM  = 2.4  // size of type
	monthMM  = 2.2  // of the months on the bone fronts
	lineMM   = 3.1  // from one line of words to the next
	ascent   = 0.76 // of type above its baseline, as a share of its size
	descent  = 0.24 // and below
	decimals = 2    // to which a length is told
)

// The pens, from heavy to soft. Lines of a kind are told apart by how they are broken.
var (
	heavyPen  = drawing.Line{Tone: drawing.Ink, WidthMM: 0.5}
	firmPen   = drawing.Line{Tone: drawing.Ink, WidthMM: 0.35}
	thinPen   = drawing.Line{Tone: drawing.Ink, WidthMM: 0.15}
	softPen   = drawing.Line{Tone: drawing.Hair, WidthMM: 0.15}
	frontPen  = drawing.Line{Tone: drawing.Accent, WidthMM: 0.25}
	dottedPen = drawing.Line{Tone: drawing.Ink, WidthMM: 0.5, Dash: []float64{0.5, 0.9}}
	dashedPen = drawing.Line{Tone: drawing.Ink, WidthMM: 0.35, Dash: []float64{1.8, 1}}
	axisPen   = drawing.Line{Tone: drawing.Ink, WidthMM: 0.18, Dash: []float64{3, 0.8, 0.6, 0.8}}
)

// frame carries a place in units of its own, across and upwards, to the sheet: mm of
// a site, or months and a share.
type frame struct {
	left, bottom float64 // of the origin on the sheet, mm
	perX, perY   float64 // mm on the sheet for one unit
}

// at is a place on the sheet.
func (f frame) at(x, y float64) drawing.Point {
	return drawing.Point{X: f.left + x*f.perX, Y: f.bottom - y*f.perY}
}

// from is the inverse of at.
func (f frame) from(p drawing.Point) (x, y float64) {
	return (p.X - f.left) / f.perX, (f.bottom - p.Y) / f.perY
}

// box is an upright rectangle on the sheet, in mm.
type box struct{ left, top, right, bottom float64 }

// boxOf is the room that a label takes, estimated generously: no common typeface is
// wider.
func boxOf(l drawing.Label) box {
	width := drawing.TextWidth(l.Text, l.SizeMM, l.Bold)
	left := l.At.X - width*[...]float64{0, 1.0 / 2, 1}[l.Anchor]
	return box{left, l.At.Y - ascent*l.SizeMM, left + width, l.At.Y + descent*l.SizeMM}
}

// grown is the box with a margin round it.
func (b box) grown(mm float64) box { return box{b.left - mm, b.top - mm, b.right + mm, b.bottom + mm} }

// outline is the box as a closed path.
func (b box) outline() []drawing.Point {
	return drawing.Rectangle(b.left, b.top, b.right-b.left, b.bottom-b.top)
}

func (b box) meets(other box) bool {
	return b.left < other.right && other.left < b.right && b.top < other.bottom && other.top < b.bottom
}

func (b box) meetsAny(others []box) bool { return slices.ContainsFunc(others, b.meets) }

// told writes a length or a number of months without needless digits.
func told(v float64) string {
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if text = strings.TrimRight(strings.TrimRight(text, "0"), "."); text == "-0" {
		return "0"
	}
	return text
}

// monthsTold writes months as the timeline does.
func monthsTold(months float64) string { return strconv.FormatFloat(months, 'f', decimals, 64) }

// circle is a closed path round a point.
func circle(at drawing.Point, radiusMM float64) []drawing.Point {
	const corners = 24
	points := make([]drawing.Point, corners)
	for k := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / corners)
		points[k] = drawing.Point{X: at.X + radiusMM*cos, Y: at.Y + radiusMM*sin}
	}
	return points
}

// fitted breaks lines of words that are wider than a column.
func fitted(lines []string, widthMM float64) []string {
	var all []string
	for _, text := range lines {
		line := ""
		for _, word := range strings.Fields(text) {
			if longer := strings.TrimSpace(line + " " + word); drawing.TextWidth(longer, labelMM, false) <= widthMM || line == "" {
				line = longer
				continue
			}
			all, line = append(all, line), word
		}
		all = append(all, line)
	}
	return all
}

// words are the lines of a label, one below the other, the first at a point.
func words(at drawing.Point, anchor drawing.Anchor, lines ...string) []drawing.Shape {
	shapes := make([]drawing.Shape, len(lines))
	for n, text := range lines {
		shapes[n] = drawing.Label{At: drawing.Point{X: at.X, Y: at.Y + float64(n)*lineMM}, Text: text, SizeMM: labelMM, Anchor: anchor}
	}
	return shapes
}
