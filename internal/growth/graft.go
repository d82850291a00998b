package growth

import (
	"fmt"
	"math"
)

// Graft is the share of the graft's volume that is in bone, against distance:
// of the body between the walls, from the floor to the graft's top, and between
// two ends along the arch in mm, fromMM mesial of toMM. It is good to about a
// thousandth; its FullMM is the largest distance met. It refuses a sinus whose
// graft top was not recorded.
func (c *Clock) Graft(fromMM, toMM float64) (*Curve, error) {
	if c.sinus.GraftTopMM == 0 {
		return nil, fmt.Errorf("graft volume: the height of the graft was not recorded")
	}
	if err := firstError(place("graft from", fromMM), above("graft to", toMM, fromMM)); err != nil {
		return nil, err
	}
	v := volume{clock: c, bodies: pointers(c.bodies)}
	first := block{
		middle: spot{0, (fromMM + toMM) / 2, c.sinus.GraftTopMM / 2},
		size:   spot{2, toMM - fromMM, c.sinus.GraftTopMM},
		part:   1,
	}
	v.lay(first)
	return v.curve(), nil
}

// spot is a point of the graft: across the sinus in half widths from the
// mid-line, so that blocks follow the walls; along the arch and upwards in mm.
type spot [axes]float64

// block is a piece of the graft with its size along each axis.
type block struct {
	middle, size spot
	part         float64 // of the net of blocks
}

// halves splits a block across an axis.
func (b block) halves(axis int) (first, second block) {
	b.part /= 2
	b.size[axis] /= 2
	first, second = b, b
	first.middle[axis] -= b.size[axis] / 2
	second.middle[axis] += b.size[axis] / 2
	return first, second
}

// volume collects the finished blocks of the graft, with volumes for shares.
type volume struct {
	clock  *Clock
	bodies []*body
	blocks []ramp
}

// gap is the gap to bone at a spot.
func (v *volume) gap(s spot) float64 {
	return least(v.bodies, s[0]*v.clock.WidthMM(s[2])/2, s[1], s[2])
}

// lay adds a block, or its halves if it is large or the gap in it bends too
// much; in the end the gap is taken to run straight along each axis, as in Held.
func (v *volume) lay(b block) {
	middle := v.gap(b.middle)
	least, most, mean := middle, middle, middle
	var square, sharp float64
	var longest, sharpest int
	for k := range b.middle {
		low, high := b.middle, b.middle
		low[k] -= b.size[k] / 2
		high[k] += b.size[k] / 2
		one, other := v.gap(low), v.gap(high)
		mean += (one - 2*middle + other) / (2 * axes)
		square += (other - one) * (other - one)
		least, most = min(least, one, other), max(most, one, other)
		if this := bend(one, middle, other); this > sharp {
			sharpest, sharp = k, this
		}
		if b.size[k]*v.scale(k) > b.size[longest]*v.scale(longest) {
			longest = k
		}
	}
	switch half := math.Sqrt(square) / 2; {
	case b.part > coarseBlock:
		v.layHalves(b, longest)
	case b.part > fineBlock && sharp*b.part > unevenBlock*(most-least):
		v.layHalves(b, sharpest)
	default:
		v.blocks = append(v.blocks, ramp{max(mean-half, min(least, 0)), mean + half, b.part * v.clock.WidthMM(b.middle[2])})
	}
}

func (v *volume) layHalves(b block, axis int) {
	first, second := b.halves(axis)
	v.lay(first)
	v.lay(second)
}

// scale is what one unit of an axis measures in mm, about.
func (v *volume) scale(axis int) float64 {
	if axis == 0 {
		return v.clock.WidthMM(v.clock.sinus.GraftTopMM/2) / 2
	}
	return 1
}

// curve turns volumes into shares.
func (v *volume) curve() *Curve {
	var whole, full float64
	for _, b := range v.blocks {
		whole += b.share
		full = max(full, b.to)
	}
	var c curveBuilder
	for _, b := range v.blocks {
		c.add(b.share/whole, b.from, b.to)
	}
	return c.build(full)
}
