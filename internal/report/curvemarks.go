package report

import (
	"fmt"
	"math"
	"slices"

	"graftclock/internal/drawing"
	"graftclock/internal/protocol"
)

// A curve is drawn point by point: steepShare is how far it may rise from one to the
// next, unless they are as near as leapMonths, where it leaps.
const (
	steepShare = 0.02
	leapMonths = 1e-3
	keyMM      = 3.7 // from one row of the key to the next
)

// curvePoints are the months at which a curve is drawn: evenly, at its marks, and
// nearer to each other where it is steep.
func curvePoints(s protocol.Site, to float64) []float64 {
	even := []float64{s.Clock.T50, s.Clock.T90, s.Clock.ToFull}
	for k := range int(to*perMonth) + 1 {
		even = append(even, float64(k)/perMonth)
	}
	slices.Sort(even)
	even = slices.Compact(slices.DeleteFunc(even, func(m float64) bool { return m > to }))
	points := even[:1:1]
	for _, m := range even[1:] {
		points = append(points, between(s, points[len(points)-1], m)...)
	}
	return points
}

// between are the points after one month up to another.
func between(s protocol.Site, from, to float64) []float64 {
	middle := (from + to) / 2
	if s.Held(to)-s.Held(from) <= steepShare || to-from <= leapMonths {
		return []float64{to}
	}
	return append(between(s, from, middle), between(s, middle, to)...)
}

// mark is a point of the curve with its name.
type mark struct {
	name          string
	months, share float64
}

// marksOf are t50, t90 and t100 where the implant clock has them. What is held from
// the beginning is marked at the share held then.
func marksOf(s protocol.Site) []mark {
	const half, most = 1.0 / 2, 9.0 / 10
	start := s.Held(0)
	return []mark{
		{"t50", s.Clock.T50, max(half, start)},
		{"t90", s.Clock.T90, max(most, start)},
		{"t100", s.Clock.ToFull, 1},
	}
}

// marks rings the marked points of the curve and names them beside it, in one label
// where two would not find room.
func (d *plot) marks() {
	var labels []drawing.Label
	for _, m := range marksOf(d.site) {
		p := d.at(m.months, m.share)
		d.Add(drawing.Path{Name: m.name, Points: circle(p, marksMM), Closed: true, Line: firmPen, Fill: drawing.White})
		label := d.markLabel(p, m.name)
		if last := len(labels) - 1; last >= 0 && boxOf(label).meets(boxOf(labels[last])) {
			labels[last] = d.markLabel(p, labels[last].Text+", "+m.name)
			continue
		}
		labels = append(labels, label)
	}
	for _, label := range labels {
		d.Add(drawing.Path{Points: boxOf(label).outline(), Closed: true, Fill: drawing.White}, label)
	}
}

// markLabel stands below the curve, to the right of its point.
func (d *plot) markLabel(p drawing.Point, text string) drawing.Label {
	return drawing.Label{Text: text, SizeMM: labelMM, At: drawing.Point{X: p.X + 2*marksMM, Y: p.Y + lineMM}}
}

// key says below the plot what its lines and its shade mean.
func (d *plot) key() {
	c := d.site.Clock
	y := d.at(0, 0).Y + 4*lineMM
	row := func(says string, sample ...drawing.Shape) {
		d.Add(sample...)
		d.Add(words(drawing.Point{X: plotLeftMM, Y: y}, drawing.Start, says)...)
		y += keyMM
	}
	ring := drawing.Point{X: plotLeftMM / 2, Y: y - labelMM/3}
	row(fmt.Sprintf("t50 %s, t90 %s, t100 %s", monthsTold(c.T50), monthsTold(c.T90), monthsTold(c.ToFull)),
		drawing.Path{Points: circle(ring, marksMM), Closed: true, Line: firmPen, Fill: drawing.White})
	line := func(pen drawing.Line) drawing.Shape {
		return drawing.Path{Points: drawing.Straight(marksMM, y-labelMM/3, plotLeftMM-2*marksMM, y-labelMM/3), Line: pen}
	}
	if c.BandLow != c.BandHigh {
		shade := drawing.Rectangle(marksMM, y-labelMM/3-bandTallMM/2, plotLeftMM-3*marksMM, bandTallMM)
		row("t100 in the band "+monthsTold(c.BandLow)+" to "+monthsTold(c.BandHigh), drawing.Path{Points: shade, Closed: true, Fill: drawing.Hair})
	}
	row(fmt.Sprint(c.Tooth)+": "+stepName(d.site.GateStep)+" not before "+monthsTold(d.site.GateMonths), line(axisPen))
	row("the rules ask for "+told(d.site.Share*percent)+" %", line(dashedPen))
	d.HeightMM = math.Ceil(y - keyMM + descent*labelMM + marksMM)
}
