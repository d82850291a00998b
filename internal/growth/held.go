package growth

import (
	"math"
	"slices"
)

// tile is a patch with its gaps to bone on a net of three by three points. Held
// takes the gap to run straight or slightly round between them and cuts a tile
// where it does not.
type tile struct {
	left, middle, right column
	bottom, top         float64
	share               float64 // of the grafted surface
}

// column is the three gaps at one angle, and where that angle is.
type column struct {
	angle, u, y    float64
	low, half, top float64
}

// tiling lays tiles on the grafted surface and collects the finished ones.
type tiling struct {
	implant Implant
	curve   curveBuilder
	list    shortlist
}

// heldCurve is the share of the whole side surface in bone against distance.
func (c *Clock) heldCurve() *Curve {
	t := tiling{implant: c.implant}
	t.curve.ramps = make([]ramp, 0, usualRamps)
	t.curve.add(min(c.implant.ResidualMM/c.implant.LengthMM, 1), 0, 0)
	if c.last.DistanceMM == 0 {
		return t.curve.build(0)
	}
	all := pointers(c.bodies)
	angles := c.sectorAngles()
	for i, to := range angles[1:] {
		from := angles[i]
		first := tile{top: c.implant.GraftedMM()}
		first.share = first.top / c.implant.LengthMM * (to - from) / (2 * math.Pi)
		first.left = t.column(from, &first, all)
		first.middle = t.column((from+to)/2, &first, all)
		first.right = t.column(to, &first, all)
		t.lay(&first, all)
	}
	return t.curve.build(c.last.DistanceMM)
}

// sectorAngles cuts the circle into equal sectors, and besides where the implant
// passes through a septum or the plane of another end, and through the mid-line,
// where the walls are equally far: there the gap turns.
func (c *Clock) sectorAngles() []float64 {
	var angles []float64
	for sector := range sectors + 1 {
		angles = append(angles, 2*math.Pi*float64(sector)/sectors)
	}
	for _, b := range c.bodies {
		for _, y := range []float64{b.from, b.to} {
			sine := 2 * (y - c.implant.AtMM) / c.implant.DiameterMM
			if distal := math.Asin(sine); math.Abs(sine) < 1 {
				angles = append(angles, math.Mod(distal+2*math.Pi, 2*math.Pi), math.Pi-distal)
			}
		}
	}
	cosine := -2 * c.implant.OffMidlineMM / c.implant.DiameterMM
	if distal := math.Acos(cosine); math.Abs(cosine) < 1 {
		angles = append(angles, distal, 2*math.Pi-distal)
	}
	slices.Sort(angles)
	return slices.Compact(angles)
}

// column measures a tile at an angle.
func (t *tiling) column(angle float64, of *tile, near []*body) column {
	c := column{angle: angle}
	c.u, c.y = t.implant.around(angle, 1)
	c.low = least(near, c.u, c.y, of.bottom)
	c.half = least(near, c.u, c.y, (of.bottom+of.top)/2)
	c.top = least(near, c.u, c.y, of.top)
	return c
}

// lay adds a tile to the curve, or else its halves: where the gap in it bends too
// much, and where it is so large that a small opening could hide between its
// points. The gap to one body alone hides nothing.
func (t *tiling) lay(of *tile, near []*body) {
	covers := patch{of.left.angle, of.right.angle, of.bottom, of.top}
	if len(near) > 1 {
		_, z := covers.middle()
		near = t.list.narrow(near, of.middle.u, of.middle.y, z, of.middle.half, covers.reach(t.implant))
		defer t.list.drop(near)
	}
	least, most := of.extremes()
	across, upright := of.bends()
	worst := max(across, upright)
	inBone := most+worst <= 0
	even := worst*of.share <= unevenShare*(most-max(0, least))
	switch {
	case len(near) > 1 && of.share > coarseTile:
		across, upright = covers.sides(t.implant)
	case inBone || even || of.share <= fineTile:
		t.finish(of)
		return
	}
	if across >= upright {
		t.splitAcross(of, near)
	} else {
		t.splitUpright(of, near)
	}
}

func (t *tiling) splitAcross(of *tile, near []*body) {
	first, second := *of, *of
	first.share, second.share = of.share/2, of.share/2
	first.right, second.left = of.middle, of.middle
	first.middle = t.column((of.left.angle+of.middle.angle)/2, of, near)
	second.middle = t.column((of.middle.angle+of.right.angle)/2, of, near)
	t.lay(&first, near)
	t.lay(&second, near)
}

func (t *tiling) splitUpright(of *tile, near []*body) {
	middle := (of.bottom + of.top) / 2
	lower, upper := *of, *of
	lower.share, upper.share = of.share/2, of.share/2
	lower.top, upper.bottom = middle, middle
	for _, c := range []struct{ lower, upper *column }{
		{&lower.left, &upper.left}, {&lower.middle, &upper.middle}, {&lower.right, &upper.right},
	} {
		c.lower.top, c.upper.low = c.lower.half, c.upper.half
		c.lower.half = least(near, c.lower.u, c.lower.y, (lower.bottom+lower.top)/2)
		c.upper.half = least(near, c.upper.u, c.upper.y, (upper.bottom+upper.top)/2)
	}
	t.lay(&lower, near)
	t.lay(&upper, near)
}

// finish adds the four quarters of a tile to the curve.
func (t *tiling) finish(of *tile) {
	quarter := of.share / 2 / 2
	l, m, r := &of.left, &of.middle, &of.right
	low, half, top := turn(l.low, m.low, r.low), turn(l.half, m.half, r.half), turn(l.top, m.top, r.top)
	left, middle, right := turn(l.low, l.half, l.top), turn(m.low, m.half, m.top), turn(r.low, r.half, r.top)
	t.curve.add(level(quarter, l.low, m.low, l.half, m.half, low+half+left+middle))
	t.curve.add(level(quarter, l.half, m.half, l.top, m.top, half+top+left+middle))
	t.curve.add(level(quarter, m.low, r.low, m.half, r.half, low+half+middle+right))
	t.curve.add(level(quarter, m.half, r.half, m.top, r.top, half+top+middle+right))
}

// level is the ramp that stands for a rectangle given by the gaps at its corners
// and the turns along its four edges: with the mean under the parabolas there,
// and as wide as a plane spreads its share.
func level(share, low0, low1, top0, top1, turns float64) (_, from, to float64) {
	mean := (low0+low1+top0+top1)/2/2 - sag*turns/2
	across, upright := (low1+top1-low0-top0)/2, (top0+top1-low0-low1)/2
	half := math.Sqrt(across*across+upright*upright) / 2
	return share, mean - half, mean + half
}

// bends is how much the gap bends with the angle and with the height.
func (t *tile) bends() (across, upright float64) {
	l, m, r := &t.left, &t.middle, &t.right
	across = max(bend(l.low, m.low, r.low), bend(l.half, m.half, r.half), bend(l.top, m.top, r.top))
	upright = max(bend(l.low, l.half, l.top), bend(m.low, m.half, m.top), bend(r.low, r.half, r.top))
	return across, upright
}

// bend is how far three equidistant values are from a straight line, and turn on
// which side besides: above 0 where the middle one is too small.
func bend(a, b, c float64) float64 { return math.Abs(turn(a, b, c)) }

func turn(a, b, c float64) float64 { return a - 2*b + c }

func (t *tile) extremes() (least, most float64) {
	least, most = t.middle.half, t.middle.half
	for _, c := range [...]*column{&t.left, &t.middle, &t.right} {
		for _, gap := range [...]float64{c.low, c.half, c.top} {
			if gap < least {
				least = gap
			}
			if gap > most {
				most = gap
			}
		}
	}
	return least, most
}
