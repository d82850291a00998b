package report

import (
	"fmt"
	"math"

	"graftclock/internal/drawing"
	"graftclock/internal/protocol"
)

// The sheet of a curve, in mm.
const (
	curveWidthMM = 60.0
	plotLeftMM   = 11.0
	plotWideMM   = 44.0
	plotTopMM    = 7.0
	plotTallMM   = 48.0
	bandTallMM   = 1.8 // of the band along the axis
	marksMM      = 0.8 // of a tick
	percent      = 100
	quarter      = 25 // per cent from one tick to the next
	perMonth     = 20 // points of the curve in a month
	mostTicks    = 12
)

// plot is the drawing of a curve in the making. Its frame carries months and shares.
type plot struct {
	drawing.Drawing
	frame
	site   protocol.Site
	months float64 // at the right edge
}

// curve draws the share of an implant that is held against the months since surgery:
// its path is named held. Marked are t50, t90 and t100, the share that the rules ask
// for, the gate for this implant, and the band.
func curve(s protocol.Site, id string) drawing.Drawing {
	d := &plot{site: s, frame: curveFrame(s), months: curveMonths(s)}
	d.ID, d.WidthMM = id, curveWidthMM
	d.Title = fmt.Sprintf("Implant %d: share held by bone, month by month", s.Implant.Tooth)
	d.Says = d.says()
	d.axes()
	d.band()
	d.asked()
	d.gate()
	d.held()
	d.marks()
	d.key()
	return d.Drawing
}

// curveMonths is the last month of the axis: a month past the gate at least.
func curveMonths(s protocol.Site) float64 {
	return math.Ceil(max(s.GateMonths+1, s.Clock.BandHigh))
}

// curveFrame carries months and a share from 0 to 1 to the sheet of a curve.
func curveFrame(s protocol.Site) frame {
	return frame{left: plotLeftMM, bottom: plotTopMM + plotTallMM, perX: plotWideMM / curveMonths(s), perY: plotTallMM}
}

func (d *plot) says() string {
	c := d.site.Clock
	text := fmt.Sprintf("On the day of surgery residual bone holds %.0f per cent of implant %d. ", d.site.Held(0)*percent, c.Tooth)
	if c.ToFull > 0 {
		text += fmt.Sprintf("Half is held after %s months, nine tenths after %s, all of it after %s (band %s to %s). ", monthsTold(c.T50), monthsTold(c.T90), monthsTold(c.ToFull), monthsTold(c.BandLow), monthsTold(c.BandHigh))
	}
	return text + fmt.Sprintf("The rules ask for %.0f per cent, held after %s months; %s is not before %s months for this implant.", d.site.Share*percent, monthsTold(c.ToShare), stepName(d.site.GateStep), monthsTold(d.site.GateMonths))
}

// axes draws the frame with its ticks.
func (d *plot) axes() {
	zero, far := d.at(0, 0), d.at(d.months, 1)
	d.Add(drawing.Path{Points: []drawing.Point{{X: zero.X, Y: far.Y}, zero, {X: far.X, Y: zero.Y}}, Line: firmPen})
	for share := quarter; share <= percent; share += quarter {
		p := d.at(0, float64(share)/percent)
		d.Add(drawing.Path{Points: drawing.Straight(p.X, p.Y, far.X, p.Y), Line: softPen})
	}
	for share := 0; share <= percent; share += quarter {
		p := d.at(0, float64(share)/percent)
		d.Add(words(drawing.Point{X: p.X - marksMM*2, Y: p.Y + labelMM/3}, drawing.End, fmt.Sprint(share))...)
	}
	every := tickEvery(d.months)
	for month := 0; month <= int(d.months); month += every {
		p := d.at(float64(month), 0)
		d.Add(drawing.Path{Points: drawing.Straight(p.X, p.Y, p.X, p.Y+marksMM), Line: firmPen})
		d.Add(words(drawing.Point{X: p.X, Y: p.Y + marksMM + labelMM*1.1}, drawing.Middle, fmt.Sprint(month))...)
	}
	d.Add(words(drawing.Point{X: marksMM * 2, Y: plotTopMM - labelMM}, drawing.Start, "% of the implant in bone")...)
	d.Add(words(drawing.Point{X: far.X, Y: zero.Y + marksMM + labelMM*1.1 + lineMM}, drawing.End, "months after surgery")...)
}

// tickEvery is how many months lie between two numbers of an axis.
func tickEvery(months float64) int {
	const long = 100
	if months >= long {
		months *= 2
	}
	return int(math.Ceil(months / mostTicks))
}

// band shades the stretch of the axis in which the clock's answer may lie.
func (d *plot) band() {
	from, to := d.at(d.site.Clock.BandLow, 0), d.at(d.site.Clock.BandHigh, 0)
	if from.X == to.X {
		return
	}
	d.Add(drawing.Path{Name: "band", Points: drawing.Rectangle(from.X, from.Y-bandTallMM, to.X-from.X, bandTallMM), Closed: true, Fill: drawing.Hair})
}

// asked is the share that the rules ask for.
func (d *plot) asked() {
	d.Add(drawing.Path{Name: "asked", Points: []drawing.Point{d.at(0, d.site.Share), d.at(d.months, d.site.Share)}, Line: dashedPen})
}

// gate is the earliest time of the step that waits for the implant.
func (d *plot) gate() {
	d.Add(drawing.Path{Name: "gate", Points: []drawing.Point{d.at(d.site.GateMonths, 0), d.at(d.site.GateMonths, 1)}, Line: axisPen})
}

// held is the curve itself.
func (d *plot) held() {
	path := drawing.Path{Name: "held", Line: heavyPen}
	for _, months := range curvePoints(d.site, d.months) {
		path.Points = append(path.Points, d.at(months, d.site.Held(months)))
	}
	d.Add(path)
}
