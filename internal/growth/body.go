package growth

import "math"

// Bone names a surface that new bone grows from.
type Bone int

// The bones, in the order in which one of several that arrive together is named.
const (
	Floor       Bone = iota // the sinus floor: the residual crest
	PalatalWall             // the wall towards the palate
	LateralWall             // the wall towards the cheek, where it was not opened
	FrontWall               // the anterior wall
	SeptumWall              // either face of a septum
)

// String is the bone's name in lower-case words.
func (b Bone) String() string {
	return [...]string{"floor", "palatal wall", "lateral wall", "front wall", "septum"}[b]
}

// body is one convex piece of bone. It fills the heights bottom to top and the
// arch between from and to, any of them infinite. With side 0 it goes right
// across the sinus; with side +1 or -1 it is what lies beyond the lateral or the
// palatal wall, whose face leads straight from nearBottom to nearTop, measured
// from the mid-line.
//
// What lies beyond a wall is bone, not air: a point there is in bone, the edges
// of a window are as thick as need be, and a wider sinus only takes bone away.
type body struct {
	bone                 Bone
	side                 float64
	bottom, top          float64
	nearBottom, nearTop  float64
	from, to             float64
	leanU, leanZ, length float64 // the face's direction upwards, of length 1, and its length
}

// wall is the body beyond one stretch of a wall.
func wall(bone Bone, side float64, s stretch) body {
	b := body{
		bone: bone, side: side, bottom: s.bottom, top: s.top,
		nearBottom: s.nearBottom, nearTop: s.nearTop,
		from: math.Inf(-1), to: math.Inf(1),
	}
	if s.nearBottom != s.nearTop {
		b.length = math.Hypot(s.nearTop-s.nearBottom, s.top-s.bottom)
		b.leanU, b.leanZ = (s.nearTop-s.nearBottom)/b.length, (s.top-s.bottom)/b.length
	}
	return b
}

// partition is a body that goes right across the sinus.
func partition(bone Bone, bottom, top, from, to float64) body {
	return body{bone: bone, bottom: bottom, top: top, from: from, to: to}
}

// gap is the distance from a point to the body in mm, negative inside it. It is
// convex: over a box its largest value stands at a corner.
func (b *body) gap(u, y, z float64) float64 {
	return joined(b.section(u, z), larger(b.from-y, y-b.to))
}

// section is the gap in the cross-section of the sinus.
func (b *body) section(u, z float64) float64 {
	below, above := b.bottom-z, z-b.top
	upright := larger(below, above)
	if b.side == 0 {
		return upright
	}
	u *= b.side
	if b.length == 0 {
		return joined(b.nearBottom-u, upright)
	}
	du, dz := u-b.nearBottom, z-b.bottom
	face := dz*b.leanU - du*b.leanZ
	along := du*b.leanU + dz*b.leanZ
	switch {
	case face > 0 && along >= 0 && along <= b.length:
		return face
	case face <= 0 && upright <= 0:
		return larger(face, upright)
	}
	return min(edge(b.nearBottom-u, below), edge(b.nearTop-u, above))
}

// edge is the distance to a level surface that begins at an edge: short of the
// edge by ahead, above or below it by upright.
func edge(ahead, upright float64) float64 {
	if ahead <= 0 {
		return math.Abs(upright)
	}
	return math.Sqrt(ahead*ahead + upright*upright)
}

// joined is the gap to what two sets at right angles have in common.
func joined(a, b float64) float64 {
	if a > 0 && b > 0 {
		return math.Sqrt(a*a + b*b)
	}
	return larger(a, b)
}

// larger is max for what is never NaN, which saves asking.
func larger(a, b float64) float64 {
	if a > b {
		return a
	}
	return b
}
