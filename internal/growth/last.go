package growth

import (
	"container/heap"
	"math"
)

// Direction is a side of an implant.
type Direction int

// The sides of an implant.
const (
	Apical  Direction = iota // its end in the graft
	Palatal                  // towards the palate
	Lateral                  // towards the cheek
	Mesial                   // towards smaller positions along the arch
	Distal                   // towards larger positions along the arch
)

// String is the direction in one lower-case word.
func (d Direction) String() string {
	return [...]string{"apical", "palatal", "lateral", "mesial", "distal"}[d]
}

// Last is the point of an implant's grafted side surface that lies farthest
// from bone. Where several are equally far, one at the apex and in the middle of
// a side is preferred, in the order palatal, lateral, mesial, distal. The zero
// value means that nothing has to form.
type Last struct {
	DistanceMM   float64   // to the nearest bone, mm, 0 or more; no point is a millionth farther
	OffMidlineMM float64   // the point across the sinus, mm, + laterally
	AtMM         float64   // the point along the arch, mm
	AboveFloorMM float64   // the point's height, mm, from 0 to the apex
	Side         Direction // the side it is on; Apical if it is at the apex and waits for the floor
	WaitsFor     Bone      // the nearest bone; of several, the first in the order of Bone
}

// search looks for the farthest point patch by patch, the most promising first.
// It ends when no patch left can hold a point that is farther than the best one
// known.
type search struct {
	implant  Implant
	angle, z float64 // the best point known
	best     float64 // its gap to bone
	queue    queue
	list     shortlist
}

// candidate is a patch to look into, and the bodies near it.
type candidate struct {
	patch
	near   []*body
	bound  float64 // no point of the patch is farther from bone
	angles bool    // the patch is better split between angles than between heights
}

// findLast runs the search over the grafted part of the implant.
func (c *Clock) findLast() Last {
	height := c.implant.GraftedMM()
	if height == 0 {
		return Last{}
	}
	s := search{implant: c.implant, best: math.Inf(-1)}
	all := pointers(c.bodies)
	for _, angle := range []float64{math.Pi, 0, -math.Pi / 2, math.Pi / 2} {
		s.try(angle, height, all)
	}
	for sector := range sectors {
		from, to := 2*math.Pi*float64(sector)/sectors, 2*math.Pi*float64(sector+1)/sectors
		s.consider(patch{from, to, 0, height}, all)
	}
	for left := patchLimit; left > 0 && s.mayHoldMore(); left-- {
		next := heap.Pop(&s.queue).(candidate)
		first, second := next.halves(next.angles)
		s.consider(first, next.near)
		s.consider(second, next.near)
	}
	return s.result(all)
}

// consider tries points of a patch and queues it if better ones may be in it.
func (s *search) consider(p patch, near []*body) {
	angle, z := p.middle()
	s.try(angle, p.top, near)
	least := s.try(angle, z, near)
	u, y := s.implant.around(angle, 1)
	near = s.list.narrow(near, u, y, z, least, p.reach(s.implant))
	if c := s.bound(p, near); s.exceeds(c.bound) {
		heap.Push(&s.queue, c)
	}
}

// mayHoldMore says that a queued patch may hold a better point.
func (s *search) mayHoldMore() bool { return len(s.queue) > 0 && s.exceeds(s.queue[0].bound) }

func (s *search) exceeds(bound float64) bool { return bound > max(0, s.best)+precisionMM }

// try keeps a point if it is farther from bone than the best one known, and
// returns its gap.
func (s *search) try(angle, z float64, near []*body) float64 {
	u, y := s.implant.around(angle, 1)
	_, gap := nearest(near, u, y, z)
	if gap > s.best+tieMM {
		s.angle, s.z, s.best = angle, z, gap
	}
	return gap
}

// bound finds a distance that no point of the patch exceeds. The patch lies in
// an upright prism over the ends of its arc and the point where their tangents
// meet; a body's gap is convex, so it is largest at a corner of the prism; and
// the least of these largest gaps bounds the patch. Where the floor alone limits
// the whole rim of the apex, this bound is already exact.
//
// What holds a bound above the gap in the middle of the patch is the rise from
// there of the body that gave the bound and of the body nearest there. Whether it
// is a rise with the angle or with the height says how to split the patch.
func (s *search) bound(p patch, near []*body) candidate {
	angle, z := p.middle()
	u, y := s.implant.around(angle, 1)
	u0, y0 := s.implant.around(p.from, 1)
	u1, y1 := s.implant.around(p.to, 1)
	u2, y2 := s.implant.around(angle, 1/math.Cos((p.to-p.from)/2))
	var highest, nearest rise
	bound, least := math.Inf(1), math.Inf(1)
	for _, b := range near {
		most := max(b.gap(u0, y0, p.bottom), b.gap(u1, y1, p.bottom), b.gap(u2, y2, p.bottom),
			b.gap(u0, y0, p.top), b.gap(u1, y1, p.top), b.gap(u2, y2, p.top))
		upright := max(b.gap(u, y, p.bottom), b.gap(u, y, p.top))
		middle := b.gap(u, y, z)
		this := rise{angles: most - upright, heights: upright - middle}
		if most < bound {
			bound, highest = most, this
		}
		if middle < least {
			least, nearest = middle, this
		}
	}
	return candidate{p, near, bound, highest.angles+nearest.angles >= highest.heights+nearest.heights}
}

// rise is how much a gap grows from the middle of a patch, with the angle and
// with the height.
type rise struct{ angles, heights float64 }

// result describes the point found. A search that was given up answers with the
// bound it had come to: later, never sooner.
func (s *search) result(all []*body) Last {
	farthest := s.best
	if s.mayHoldMore() {
		farthest = s.queue[0].bound
	}
	if farthest <= 0 {
		return Last{}
	}
	u, y := s.implant.around(s.angle, 1)
	last := Last{DistanceMM: farthest, OffMidlineMM: u, AtMM: y, AboveFloorMM: s.z, Side: side(s.angle)}
	for _, b := range all {
		if b.gap(u, y, s.z) <= s.best+2*precisionMM {
			last.WaitsFor = b.bone
			break
		}
	}
	if last.WaitsFor == Floor && s.z == s.implant.GraftedMM() {
		last.Side = Apical
	}
	return last
}

// side is the side of the implant that an angle looks to.
func side(angle float64) Direction {
	sin, cos := math.Sincos(angle)
	switch {
	case math.Abs(sin) > math.Abs(cos) && sin > 0:
		return Distal
	case math.Abs(sin) > math.Abs(cos):
		return Mesial
	case cos > 0:
		return Lateral
	}
	return Palatal
}

// queue is a heap of candidates, the largest bound first.
type queue []candidate

func (q queue) Len() int           { return len(q) }
func (q queue) Less(i, j int) bool { return q[i].bound > q[j].bound }
func (q queue) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(c any)        { *q = append(*q, c.(candidate)) }

// Pop removes the last candidate, as container/heap asks.
func (q *queue) Pop() any {
	last := (*q)[len(*q)-1]
	*q = (*q)[:len(*q)-1]
	return last
}
