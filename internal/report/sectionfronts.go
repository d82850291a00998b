package report

import (
	"math"
	"strconv"

	"graftclock/internal/drawing"
)

const (
	crumbMM  = 0.5 // of the site: a shorter piece of a front is left out
	longMM   = 4.0 // of the site: a piece as long has a month of its own if there is room
	endMM    = 1.0 // of the site: a month stands as far from the end of its front if it can
	rowShare = 0.6 // of the graft's height: where months stand if they can
	sideCost = 2.0 // of the site: how far a month moves up or down to stand palatal, or off an end
)

// monthFront is the visible part of one month's front.
type monthFront struct {
	month  int
	pieces [][]spot
}

// fronts draws how far bone has grown after each month until it holds the implant.
func (d *section) fronts() []monthFront {
	most := math.Ceil(d.site.Clock.ToFull)
	if most == 0 || math.IsInf(most, 0) {
		return nil
	}
	var all []monthFront
	net := newNet(d.site, d.field.graft)
	for every, month := int(math.Ceil(most/mostRows)), 1; month*every <= int(most); month++ {
		front := monthFront{month: month * every}
		number := 0
		for _, whole := range net.front(d.site.GrownMM(float64(front.month))) {
			for _, part := range visible(whole, d.covered) {
				if length(part) < crumbMM {
					continue
				}
				number++
				front.pieces = append(front.pieces, part)
				d.Add(drawing.Path{Name: piece("front-"+strconv.Itoa(front.month), number), Points: d.onSheet(thinned(part)), Line: frontPen})
			}
		}
		if number > 0 {
			all = append(all, front)
		}
	}
	return all
}

// covered reports whether the implant is drawn over a point.
func (d *section) covered(p spot) bool {
	i := d.site.Post
	return math.Abs(p.u-i.OffMidlineMM) < i.DiameterMM/2 && p.z < i.LengthMM-i.ResidualMM
}

func (d *section) onSheet(spots []spot) []drawing.Point {
	points := make([]drawing.Point, len(spots))
	for k, p := range spots {
		points[k] = d.at(p.u, p.z)
	}
	return points
}

func length(piece []spot) float64 {
	sum := 0.0
	for k := 1; k < len(piece); k++ {
		sum += math.Hypot(piece[k].u-piece[k-1].u, piece[k].z-piece[k-1].z)
	}
	return sum
}

// months writes each front's month into it, and then into each other long piece of it
// that has room. A month that finds no room at all is written beside the section.
func (d *section) months(fronts []monthFront) {
	named := make([]int, len(fronts))
	for k, f := range fronts {
		label := drawing.Label{Name: "month-" + strconv.Itoa(f.month), Text: strconv.Itoa(f.month), SizeMM: monthMM, Anchor: drawing.Middle, Tone: drawing.Accent}
		if named[k] = d.month(label, f.pieces); named[k] < 0 {
			middle := f.pieces[0][len(f.pieces[0])/2]
			d.note(sideOf(middle.u), d.at(middle.u, middle.z), "month "+label.Text)
		}
	}
	for k, f := range fronts {
		for number, part := range f.pieces {
			if named[k] >= 0 && named[k] != number && length(part) >= longMM {
				d.month(drawing.Label{Text: strconv.Itoa(f.month), SizeMM: monthMM, Anchor: drawing.Middle, Tone: drawing.Accent}, [][]spot{part})
			}
		}
	}
}

// month writes a label into the best place on pieces of a front: near one row, rather
// palatal, and free. It returns the piece, or -1 if there is no room.
func (d *section) month(label drawing.Label, pieces [][]spot) (on int) {
	row, least, room := rowShare*d.field.graft, math.Inf(1), box{}
	on = -1
	for number, part := range pieces {
		for _, p := range part {
			cost := math.Abs(p.z - row)
			if p.u > 0 {
				cost += sideCost
			}
			if length([]spot{part[0], p}) < endMM || length([]spot{p, part[len(part)-1]}) < endMM {
				cost += sideCost
			}
			if cost >= least {
				continue
			}
			try := label
			try.At = d.at(p.u, p.z)
			try.At.Y += (ascent - descent) / 2 * label.SizeMM
			if b := boxOf(try); d.inGraft(b) && !b.meetsAny(d.taken) {
				label.At, room, least, on = try.At, b, cost, number
			}
		}
	}
	if on >= 0 {
		d.taken = append(d.taken, room)
		d.Add(drawing.Path{Points: room.outline(), Closed: true, Fill: drawing.White}, label)
	}
	return on
}

// inGraft reports whether a box lies between the walls, above the floor and below the
// graft's top.
func (d *section) inGraft(b box) bool {
	for _, corner := range []drawing.Point{{X: b.left, Y: b.top}, {X: b.right, Y: b.top}, {X: b.left, Y: b.bottom}, {X: b.right, Y: b.bottom}} {
		u, z := d.from(corner)
		if edge := heavyPen.WidthMM / d.perX; math.Abs(u) > d.site.Bone.WidthMM(z)/2-edge || z < edge || z > d.field.graft {
			return false
		}
	}
	return true
}
