package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"graftclock/internal/drawing"
	"graftclock/internal/protocol"
)

// The sheet of the bands, in mm: who, the bars, the numbers in words.
const (
	bandWidthMM = 180.0
	whoMM       = 34.0
	barsMM      = 88.0
	rowMM       = 7.5
	barTallMM   = 2.6
)

// bandBar draws one row for each implant: the clock's answer with its band, from the
// quicker to the slower end. It takes one site at least.
func bandBar(sites []protocol.Site, id string) drawing.Drawing {
	f := bandFrame(sites)
	d := drawing.Drawing{ID: id, Title: "When bone holds each implant, and how far off that may be", WidthMM: bandWidthMM, HeightMM: f.bottom + rowMM}
	months := int(math.Round(barsMM / f.perX))
	top, bottom := f.at(0, float64(len(sites))), f.at(0, 0)
	for month := 0; month <= months; month += tickEvery(float64(months)) {
		x := f.at(float64(month), 0).X
		d.Add(drawing.Path{Points: drawing.Straight(x, top.Y, x, bottom.Y+marksMM), Line: softPen})
		d.Add(words(drawing.Point{X: x, Y: bottom.Y + marksMM + labelMM*1.1}, drawing.Middle, fmt.Sprint(month))...)
	}
	d.Add(drawing.Path{Points: drawing.Straight(bottom.X, bottom.Y, bottom.X+barsMM, bottom.Y), Line: firmPen})
	d.Add(words(drawing.Point{X: bottom.X + barsMM + rowMM/2, Y: bottom.Y + marksMM + labelMM*1.1}, drawing.Start, "months after surgery")...)
	var says []string
	for n, s := range sites {
		says = append(says, bandRow(&d, f, s, len(sites)-1-n))
	}
	d.Says = strings.Join(says, " ")
	return d
}

// bandFrame carries months, and rows from below upwards, to the sheet of the bands.
func bandFrame(sites []protocol.Site) frame {
	last := slices.MaxFunc(sites, func(a, b protocol.Site) int {
		return int(math.Copysign(1, a.Clock.BandHigh-b.Clock.BandHigh))
	}).Clock.BandHigh
	months := math.Max(1, math.Ceil(last))
	return frame{left: whoMM, bottom: marksMM + rowMM*float64(len(sites)), perX: barsMM / months, perY: rowMM}
}

// bandRow draws the row of one implant and says the same in a sentence.
func bandRow(d *drawing.Drawing, f frame, s protocol.Site, row int) string {
	c := s.Clock
	middle := float64(row) + 1.0/2
	low, high, best := f.at(c.BandLow, middle), f.at(c.BandHigh, middle), f.at(c.ToFull, middle)
	name := fmt.Sprint(c.Tooth)
	d.Add(drawing.Path{Name: "band-" + name, Points: drawing.Rectangle(low.X, low.Y-barTallMM/2, high.X-low.X, barTallMM), Closed: true, Fill: drawing.Hair, Line: thinPen},
		drawing.Path{Name: "full-" + name, Points: drawing.Straight(best.X, best.Y-barTallMM, best.X, best.Y+barTallMM), Line: heavyPen})
	base := best.Y + labelMM/3
	d.Add(drawing.Label{At: drawing.Point{X: marksMM, Y: base}, Text: name, SizeMM: labelMM, Bold: true})
	d.Add(words(drawing.Point{X: marksMM + 4*labelMM, Y: base}, drawing.Start, string(s.Sinus.Side)+" sinus")...)
	text := monthsTold(c.ToFull) + " months"
	if c.BandHigh == 0 {
		text = "0 months: nothing has to form"
	}
	if c.BandLow != c.BandHigh {
		text += ", band " + monthsTold(c.BandLow) + " to " + monthsTold(c.BandHigh)
	}
	d.Add(words(drawing.Point{X: whoMM + barsMM + rowMM/2, Y: base}, drawing.Start, text)...)
	return fmt.Sprintf("Implant %s is wholly held after %s.", name, text)
}
