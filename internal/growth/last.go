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
		s.try(angle, height, s.implant.line(angle, 1), all)
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
	around := s.implant.prism(p)
	angle, z := p.middle()
	s.try(angle, p.top, around.middle, near)
	least := s.try(angle, z, around.middle, near)
	near = s.list.narrow(near, around.middle.u, around.middle.y, z, least, p.reach(s.implant))
	if bound, by := s.bound(&around, near); s.exceeds(bound) {
		heap.Push(&s.queue, candidate{p, near, bound, risesWithAngle(&around, near, by)})
	}
}

// mayHoldMore says that a queued patch may hold a better point.
func (s *search) mayHoldMore() bool { return len(s.queue) > 0 && s.exceeds(s.queue[0].bound) }

func (s *search) exceeds(bound float64) bool { return bound > max(0, s.best)+precisionMM }

// try keeps a point if it is farther from bone than the best one known, and
// returns its gap.
func (s *search) try(angle, z float64, at line, near []*body) float64 {
	gap := least(near, at.u, at.y, z)
	if gap > s.best+tieMM {
		s.angle, s.z, s.best = angle, z, gap
	}
	return gap
}

// prism is an upright prism that a patch lies in: over the ends of its arc and
// the point where their tangents meet.
type prism struct {
	patch
	middle line          // in the middle of the arc
	edges  [corners]line // at the ends of the arc, and where their tangents meet
}

// line is an upright line, given by where it is seen from above.
type line struct{ u, y float64 }

// prism is the prism round a patch.
func (i Implant) prism(p patch) prism {
	angle, _ := p.middle()
	around := prism{patch: p, middle: i.line(angle, 1)}
	around.edges = [corners]line{i.line(p.from, 1), i.line(p.to, 1), i.line(angle, 1/math.Cos((p.to-p.from)/2))}
	return around
}

// line is the line of the implant's side surface at an angle; stretch moves it
// away from the axis by a factor.
func (i Implant) line(angle, stretch float64) line {
	u, y := i.around(angle, stretch)
	return line{u, y}
}

// most is the largest gap to a body, which is convex and so stands at a corner.
// Once a gap is enough, no other is looked at.
func (p *prism) most(b *body, enough float64) float64 {
	most := math.Inf(-1)
	for k := 0; k < corners && most < enough; k++ {
		edge := &p.edges[k]
		most = max(most, b.gap(edge.u, edge.y, p.top), b.gap(edge.u, edge.y, p.bottom))
	}
	return most
}

// bound finds a distance that no point of a patch exceeds: to each body that is
// the largest gap, and the least of these bounds the patch. Where the floor alone
// limits the whole rim of the apex, this is already exact. It also tells the body,
// and ends early with a bound that rules the patch out.
func (s *search) bound(p *prism, near []*body) (bound float64, by *body) {
	bound = math.Inf(1)
	for _, b := range near {
		if most := p.most(b, bound); most < bound {
			bound, by = most, b
		}
		if !s.exceeds(bound) {
			break
		}
	}
	return bound, by
}

// risesWithAngle says how to split a patch. What holds a bound above the gap in
// the middle of the patch is the rise from there of the body that gave the bound
// and of the body nearest there: with the angle, or else with the height.
func risesWithAngle(p *prism, near []*body, by *body) bool {
	_, z := p.patch.middle()
	u, y := p.middle.u, p.middle.y
	closest := nearest(near, u, y, z)
	var angles, heights float64
	for _, b := range [...]*body{by, closest} {
		upright := max(b.gap(u, y, p.bottom), b.gap(u, y, p.top))
		angles += p.most(b, math.Inf(1)) - upright
		heights += upright - b.gap(u, y, z)
	}
	return angles >= heights
}

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
