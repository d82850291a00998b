package report

import (
	"cmp"
	"math"
	"slices"

	"graftclock/internal/drawing"
	"graftclock/internal/growth"
	"graftclock/internal/protocol"
)

// bracketMM is how deep the bracket beside a window is, and how far outside the
// field it stands, on the sheet.
const bracketMM = 1.2

// window brackets the heights of the access window beside the section: firm where the
// section goes through it, dashed where it does not or where it was only assumed.
func (d *section) window() {
	w, there := windowOf(d.site)
	if !there {
		return
	}
	low, high := d.at(d.field.half, w.LowerEdgeMM), d.at(d.field.half, w.LowerEdgeMM+w.HeightMM)
	pen := firmPen
	if d.site.WindowAssumed || d.windowAway(w) != 0 {
		pen = dashedPen
	}
	x := low.X + bracketMM
	bracket := []drawing.Point{{X: x, Y: low.Y}, {X: x + bracketMM, Y: low.Y}, {X: x + bracketMM, Y: high.Y}, {X: x, Y: high.Y}}
	d.Add(drawing.Path{Name: "window", Points: bracket, Line: pen})
	middle := drawing.Point{X: x + bracketMM, Y: (low.Y + high.Y) / 2}
	d.notes[right] = append(d.notes[right], note{lines: d.windowLines(w), at: middle, reach: (low.Y - high.Y) / 2})
}

// windowAway is how far the section is from the window along the arch, + where the
// window lies distal; 0 where the section goes through it.
func (d *section) windowAway(w growth.Window) float64 {
	return max(0, w.FromMM-d.site.Post.AtMM) + min(0, w.ToMM-d.site.Post.AtMM)
}

func (d *section) windowLines(w growth.Window) []string {
	lines := []string{"window, " + told(w.LowerEdgeMM) + " to", told(w.LowerEdgeMM+w.HeightMM) + " mm up"}
	if d.site.WindowAssumed {
		lines = append(lines, "(assumed)")
	}
	if d.site.Housing.Window == nil {
		lines = append(lines, "lid put back:", "counts as wall")
	}
	if away := d.windowAway(w); away != 0 {
		lines = append(lines, along(away))
	}
	return lines
}

// windowText says the same in one line.
func (d *section) windowText() string {
	w, there := windowOf(d.site)
	if !there {
		return "no window"
	}
	text := "the window reaches from " + told(w.LowerEdgeMM) + " to " + told(w.LowerEdgeMM+w.HeightMM) + " mm above the floor"
	if d.site.WindowAssumed {
		text = "the window was not measured: assumed " + text[len("the window "):]
	}
	if d.site.Housing.Window == nil {
		text += " and its lid was put back, so it counts as wall"
	}
	if away := d.windowAway(w); away != 0 {
		text += ", " + along(away) + " of this section"
	}
	return text
}

// septaNear are the septa that are near enough to matter to the implant, the nearest
// first.
func septaNear(s protocol.Site) []growth.Septum {
	reach := s.Bone.Last().DistanceMM + s.Post.DiameterMM/2
	away := func(p growth.Septum) float64 { return math.Abs(p.AtMM - s.Post.AtMM) }
	near := slices.DeleteFunc(slices.Clone(s.Housing.Septa), func(p growth.Septum) bool { return away(p) > reach })
	slices.SortStableFunc(near, func(a, b growth.Septum) int { return cmp.Compare(away(a), away(b)) })
	return near
}

// septa draws the ridges of the septa that are near, seen along the arch.
func (d *section) septa() {
	for n, p := range septaNear(d.site) {
		from, to := d.wallAt(-1, p.HeightMM), d.wallAt(1, p.HeightMM)
		d.Add(drawing.Path{Name: piece("septum", n+1), Points: []drawing.Point{from, to}, Line: axisPen})
		d.take(box{from.X, from.Y, to.X, to.Y})
		lines := []string{"septum", told(p.HeightMM) + " mm high", "in this section"}
		if away := p.AtMM - d.site.Post.AtMM; away != 0 {
			lines[2] = along(away)
		}
		d.note(right, drawing.Point{X: to.X - tickMM, Y: to.Y}, lines...)
	}
}

// graftTop draws the lifted membrane where its height was recorded; where not, a
// broken line ends what is drawn.
func (d *section) graftTop() {
	height, pen, lines := d.site.Housing.GraftTopMM, firmPen, []string{"graft top", told(d.site.Housing.GraftTopMM) + " mm above floor"}
	if height == 0 {
		height, pen, lines = d.field.graft, dashedPen, []string{"graft top", "not recorded"}
	}
	from, to := d.wallAt(-1, height), d.wallAt(1, height)
	d.Add(drawing.Path{Name: "graft-top", Points: []drawing.Point{from, to}, Line: pen})
	d.take(box{from.X, from.Y, to.X, to.Y})
	d.note(right, drawing.Point{X: to.X - tickMM, Y: to.Y}, lines...)
}
