package growth

import "sort"

// Curve is the share of something that bone has reached, against the distance
// that bone has grown. It never falls. Its zero value is of no use: it comes
// from a Clock.
type Curve struct {
	fullMM  float64 // distance at which the share is 1
	step    float64 // width of a bucket of distance
	perMM   float64 // buckets per mm
	buckets []bucket
	ramps   []ramp
	order   []int32 // the ramps that begin or end in each bucket, one bucket behind the other
}

// bucket is a step of distance. The last one stands for all beyond.
type bucket struct {
	edge  float64 // share at its lower edge
	base  float64 // share at its lower edge of the ramps that neither begin nor end in it
	slope float64 // of the ramps that run right through it, in share per mm
	first int32   // where its ramps begin in order
}

// ramp is a share that bone reaches evenly between two distances.
type ramp struct{ from, to, share float64 }

// at is the part of the ramp reached at a distance.
func (r ramp) at(mm float64) float64 {
	switch {
	case mm >= r.to:
		return r.share
	case mm <= r.from:
		return 0
	}
	return r.share * (mm - r.from) / (r.to - r.from)
}

// Share is the share reached, from 0 to 1, once bone has grown by a distance in
// mm. At 0 it is what lies in bone already; from FullMM on it is exactly 1.
func (c *Curve) Share(grownMM float64) float64 {
	if grownMM >= c.fullMM {
		return 1
	}
	grownMM = max(0, grownMM)
	k := c.bucket(grownMM)
	return min(max(c.sum(k, grownMM), c.buckets[k].edge), c.buckets[k+1].edge)
}

// FullMM is the distance in mm at which the share becomes 1; 0 if all of it lies
// in bone.
func (c *Curve) FullMM() float64 { return c.fullMM }

// DistanceMM is the growth in mm at which a share is first reached: 0 for what
// lies in bone already, FullMM for 1 and more.
func (c *Curve) DistanceMM(share float64) float64 {
	if share >= 1 {
		return c.fullMM
	}
	if c.Share(0) >= share {
		return 0
	}
	k := sort.Search(buckets-1, func(k int) bool { return c.buckets[k+1].edge >= share })
	low, high := float64(k)*c.step, min(float64(k+1)*c.step, c.fullMM)
	for middle := (low + high) / 2; low < middle && middle < high; middle = (low + high) / 2 {
		if c.Share(middle) >= share {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

func (c *Curve) bucket(mm float64) int { return max(0, min(buckets-1, int(mm*c.perMM))) }

// sum adds up the ramps up to a distance in a bucket.
func (c *Curve) sum(k int, mm float64) float64 {
	here := &c.buckets[k]
	sum := here.base + here.slope*(mm-float64(k)*c.step)
	for _, r := range c.order[here.first:c.buckets[k+1].first] {
		sum += c.ramps[r].at(mm)
	}
	return sum
}

// curveBuilder gathers the ramps of a curve.
type curveBuilder struct {
	start float64 // share in bone
	ramps []ramp
}

// add puts a share in that bone reaches evenly between two distances, of which
// what is below 0 lies in bone.
func (b *curveBuilder) add(share, from, to float64) {
	if to <= 0 {
		b.start += share
		return
	}
	if from < 0 {
		inBone := share * from / (from - to)
		b.start += inBone
		from, share = 0, share-inBone
	}
	b.ramps = append(b.ramps, ramp{from, to, share})
}

// build sorts the ramps into buckets. The curve is full at the distance given,
// whatever the ramps say: they are drawn between points, it was searched for.
func (b *curveBuilder) build(fullMM float64) *Curve {
	c := &Curve{fullMM: fullMM, step: fullMM / buckets, perMM: buckets / fullMM, ramps: b.ramps}
	if fullMM == 0 {
		return c
	}
	c.buckets = make([]bucket, buckets+1)
	c.stack(b.start)
	c.place()
	for k := range buckets {
		here := &c.buckets[k]
		here.edge = max(min(1, c.sum(k, float64(k)*c.step)), c.buckets[max(0, k-1)].edge)
	}
	c.buckets[buckets].edge = 1
	return c
}

// stack adds every ramp up in the buckets after the one it begins in, and counts
// in first those that begin or end in a bucket or before.
func (c *Curve) stack(done float64) {
	var steps [buckets + 1]struct{ share, slope, foot float64 }
	for _, r := range c.ramps {
		low, high := c.bucket(r.from), c.bucket(r.to)
		steps[high+1].share += r.share
		c.buckets[low].first++
		if low == high {
			continue
		}
		c.buckets[high].first++
		if low+1 < high {
			slope := r.share / (r.to - r.from)
			steps[low+1].slope += slope
			steps[low+1].foot += slope * r.from
			steps[high].slope -= slope
			steps[high].foot -= slope * r.from
		}
	}
	var listed int32
	var slope, foot float64
	for k := range c.buckets {
		done += steps[k].share
		slope += steps[k].slope
		foot += steps[k].foot
		listed += c.buckets[k].first
		c.buckets[k] = bucket{base: done + slope*float64(k)*c.step - foot, slope: max(0, slope), first: listed}
	}
}

// place lists every ramp in the buckets in which it begins and ends.
func (c *Curve) place() {
	c.order = make([]int32, c.buckets[buckets].first)
	put := func(k, ramp int) {
		c.buckets[k].first--
		c.order[c.buckets[k].first] = int32(ramp)
	}
	for k, r := range c.ramps {
		low, high := c.bucket(r.from), c.bucket(r.to)
		put(low, k)
		if low != high {
			put(high, k)
		}
	}
}
