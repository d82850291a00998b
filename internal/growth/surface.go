package growth

import "math"

// patch is a part of an implant's side surface: angles seen from above, from
// lateral through distal, and heights above the floor.
type patch struct{ from, to, bottom, top float64 }

// around is the point of the implant's side surface at an angle, seen from
// above; stretch moves it away from the axis by a factor.
func (i Implant) around(angle, stretch float64) (u, y float64) {
	sin, cos := math.Sincos(angle)
	radius := stretch * i.DiameterMM / 2
	return i.OffMidlineMM + radius*cos, i.AtMM + radius*sin
}

// middle is the angle and the height in the middle of a patch.
func (p patch) middle() (angle, z float64) {
	return (p.from + p.to) / 2, (p.bottom + p.top) / 2
}

// halves splits a patch between two angles, or between two heights.
func (p patch) halves(angles bool) (first, second patch) {
	angle, z := p.middle()
	first, second = p, p
	if angles {
		first.to, second.from = angle, angle
	} else {
		first.top, second.bottom = z, z
	}
	return first, second
}

// sides is the length of a patch round the implant and its height.
func (p patch) sides(i Implant) (around, upright float64) {
	return (p.to - p.from) * i.DiameterMM / 2, p.top - p.bottom
}

// reach is how far the points of a patch are from its middle at most.
func (p patch) reach(i Implant) float64 {
	around, upright := p.sides(i)
	return math.Sqrt(around*around+upright*upright) / 2
}

// nearest is the body nearest to a point, the first of several.
func nearest(bodies []*body, u, y, z float64) *body {
	var best *body
	least := math.Inf(1)
	for _, b := range bodies {
		if gap := b.gap(u, y, z); gap < least {
			best, least = b, gap
		}
	}
	return best
}

// least is the gap from a point to the nearest body.
func least(bodies []*body, u, y, z float64) float64 {
	least := math.Inf(1)
	for _, b := range bodies {
		if gap := b.gap(u, y, z); gap < least {
			least = gap
		}
	}
	return least
}

// shortlist holds, one list behind the other, the bodies that still matter in
// the patch being looked at and in those it is part of.
type shortlist []*body

// narrow appends those of some bodies that can be nearest within reach of a
// point, whose least gap is known, and returns them: a gap never changes by more
// than the way gone.
func (s *shortlist) narrow(bodies []*body, u, y, z, least, reach float64) []*body {
	mark := len(*s)
	for _, b := range bodies {
		if b.gap(u, y, z) <= least+2*reach {
			*s = append(*s, b)
		}
	}
	return (*s)[mark:]
}

// drop forgets the last list, once its patch is done.
func (s *shortlist) drop(list []*body) { *s = (*s)[:len(*s)-len(list)] }

func pointers(bodies []body) []*body {
	all := make([]*body, len(bodies))
	for i := range bodies {
		all[i] = &bodies[i]
	}
	return all
}
