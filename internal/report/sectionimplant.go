package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"graftclock/internal/drawing"
	"graftclock/internal/growth"
)

const (
	toothMM  = 3.6 // size of the tooth's number
	crossMM  = 0.9 // half of the cross at the last point, on the sheet
	mostRows = 12  // months that are drawn at most; beyond, every second or third is
)

// take keeps months off a box.
func (d *section) take(b box) { d.taken = append(d.taken, b.grown(frontPen.WidthMM)) }

// midLine draws the mid-line where the axis is off it, or is only taken to be on it.
func (d *section) midLine() {
	off := d.site.Post.OffMidlineMM
	lines := []string{"mid-line; axis", strings.TrimSuffix(offText(off), " of the mid-line")}
	switch {
	case !d.site.Implant.MidlineRecorded:
		lines = []string{"mid-line; axis", "taken to be on it"}
	case off == 0:
		return
	}
	top := d.at(0, d.field.high)
	d.Add(drawing.Path{Name: "mid-line", Points: []drawing.Point{d.at(0, 0), top}, Line: axisPen})
	d.note(left, top, lines...)
}

// implant draws the implant over the fronts, broken where it is still to be placed.
func (d *section) implant() {
	p := d.site.Post
	corner := d.at(p.OffMidlineMM-p.DiameterMM/2, p.LengthMM-p.ResidualMM)
	width, height := p.DiameterMM*d.perX, p.LengthMM*d.perY
	pen, name := heavyPen, "implant"
	if planned(d.site) {
		pen, name = dashedPen, "planned implant"
	}
	d.midLine()
	d.Add(drawing.Path{Name: "implant", Points: drawing.Rectangle(corner.X, corner.Y, width, height), Closed: true, Line: pen, Fill: drawing.White})
	d.take(box{corner.X, corner.Y, corner.X + width, corner.Y + height})
	size := min(toothMM, width/2)
	d.Add(drawing.Label{Name: "tooth", At: drawing.Point{X: corner.X + width/2, Y: corner.Y + height/2 + size*ascent/2}, Text: strconv.Itoa(d.site.Implant.Tooth), SizeMM: size, Anchor: drawing.Middle, Bold: true})
	foot := d.at(p.OffMidlineMM-p.DiameterMM/2, min(-p.ResidualMM/2, p.LengthMM-p.ResidualMM))
	d.note(left, foot, name, fmt.Sprintf("%s x %s mm", told(p.LengthMM), told(p.DiameterMM)))
}

// last marks the point that bone reaches last; it may lie before or behind the
// section.
func (d *section) last() {
	last := d.site.Bone.Last()
	if last.DistanceMM == 0 {
		return
	}
	p := d.at(last.OffMidlineMM, last.AboveFloorMM)
	d.Add(drawing.Path{Name: "last", Points: drawing.Straight(p.X-crossMM, p.Y-crossMM, p.X+crossMM, p.Y+crossMM), Line: heavyPen},
		drawing.Path{Points: drawing.Straight(p.X-crossMM, p.Y+crossMM, p.X+crossMM, p.Y-crossMM), Line: heavyPen})
	d.take(box{p.X, p.Y, p.X, p.Y}.grown(crossMM))
	lines := []string{"reached last:", told(last.AboveFloorMM) + " mm above floor"}
	if away := last.AtMM - d.site.Post.AtMM; math.Abs(away) > nearMM {
		lines = append(lines, along(away))
	}
	lines = append(lines, "waits for the", last.WaitsFor.String())
	side := right
	if last.Side == growth.Palatal || last.OffMidlineMM < d.site.Post.OffMidlineMM-nearMM {
		side = left
	}
	d.note(side, p, lines...)
}
