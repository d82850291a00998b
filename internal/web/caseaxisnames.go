package web

import (
	"cmp"
	"slices"
	"strings"

	"graftclock/internal/drawing"
)

// The words beside the axis of a case, in mm. Nothing of them is cut: what is too long
// for its column goes on in the next row.
const (
	axisWord   = 3.0             // size of the type
	axisSink   = 0.35 * axisWord // of its baseline below the middle of a row
	axisRow    = 3.8             // height of a row
	axisApart  = 0.6             // between two names
	axisNumber = 4.2             // from the left of a number to its right
	axisIndent = 5.4             // and to the words
)

// axisName is what is said of a day, in a row or more. It is moved away from others.
type axisName struct {
	at     float64 // where it belongs
	x      float64 // where its lead begins
	y      float64 // the middle of its first row
	number string
	text   string
	rows   []string
	bold   bool
	tone   drawing.Tone
}

// height is the room that a name takes.
func (n axisName) height() float64 { return float64(len(n.rows))*axisRow + axisApart }

func (d *axisDrawing) name(n axisName) {
	n.rows = evenRows(n.text, d.WidthMM-d.nameX-axisIndent, n.bold)
	d.names = append(d.names, n)
}

// evenRows breaks a text into as few rows as a width asks for, and these as even as can
// be, so that no word is left alone.
func evenRows(text string, width float64, bold bool) []string {
	rows := rowsOf(text, width, bold)
	for width--; len(rows) > 1 && width > 0; width-- {
		narrower := rowsOf(text, width, bold)
		if len(narrower) > len(rows) {
			break
		}
		rows = narrower
	}
	return rows
}

// rowsOf breaks a text into rows of a width: between words, and within a word that is
// wider than a row.
func rowsOf(text string, width float64, bold bool) []string {
	fits := func(row string) bool { return drawing.TextWidth(row, axisWord, bold) <= width }
	var rows []string
	row := ""
	for _, word := range strings.Fields(text) {
		if longer := strings.TrimSpace(row + " " + word); fits(longer) {
			row = longer
			continue
		}
		if row != "" {
			rows, row = append(rows, row), ""
		}
		for _, r := range word {
			if row != "" && !fits(row+string(r)) {
				rows, row = append(rows, row), ""
			}
			row += string(r)
		}
	}
	return append(rows, row)
}

// write writes the names, each with a hairline from the day it belongs to.
func (d *axisDrawing) write() {
	total := 0.0
	for _, n := range d.names {
		total += n.height()
	}
	bottom := max(d.y(d.to)+axisRow, axisTop+total)
	spread(d.names, axisTop, bottom)
	d.HeightMM = bottom + axisFoot
	var leads []drawing.Shape
	for _, n := range d.names {
		left := d.nameX - 0.8
		if n.number == "" {
			left += axisIndent
			leads = append(leads, drawing.Path{Points: drawing.Straight(d.nameX-0.8, n.y, left, n.y), Line: axisHair})
		}
		leads = append(leads, drawing.Path{Points: []drawing.Point{{X: n.x, Y: n.at}, {X: d.edge(), Y: n.at}, {X: d.nameX - 0.8, Y: n.y}}, Line: axisHair})
		d.rows(n)
	}
	d.Shapes = slices.Concat(leads, d.Shapes)
}

func (d *axisDrawing) rows(n axisName) {
	label := drawing.Label{At: drawing.Point{X: d.nameX + axisNumber, Y: n.y + axisSink}, Text: n.number, SizeMM: axisWord, Anchor: drawing.End}
	if n.number != "" {
		d.Add(label)
	}
	label.Anchor, label.Bold, label.Tone, label.At.X = drawing.Start, n.bold, n.tone, d.nameX+axisIndent
	for _, row := range n.rows {
		label.Text = row
		d.Add(label)
		label.At.Y += axisRow
	}
}

// spread moves names apart between two heights, all together as little as it can: names
// that would touch form a block, which stands where its names on average belong.
func spread(names []axisName, top, bottom float64) {
	slices.SortStableFunc(names, func(a, b axisName) int { return cmp.Compare(a.at, b.at) })
	type block struct{ wanted, count float64 } // places above which nothing would stand
	var blocks []block
	above := 0.0
	for _, n := range names {
		b := block{n.at - above, 1}
		above += n.height()
		for len(blocks) > 0 && blocks[len(blocks)-1].wanted >= b.wanted {
			last := blocks[len(blocks)-1]
			b = block{(last.wanted*last.count + b.wanted*b.count) / (last.count + b.count), last.count + b.count}
			blocks = blocks[:len(blocks)-1]
		}
		blocks = append(blocks, b)
	}
	y, n := 0.0, 0
	for _, b := range blocks {
		for range int(b.count) {
			names[n].y = y + min(max(b.wanted, top), bottom-above)
			y += names[n].height()
			n++
		}
	}
}
