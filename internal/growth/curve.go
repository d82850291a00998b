package growth

// Curve is the share of something that bone has reached, against the distance
// that bone has grown. It never falls. Its zero value is of no use: it comes
// from a Clock.
type Curve struct {
	fullMM float64   // distance at which the share is 1
	step   float64   // width of a bucket of distance
	base   []float64 // share of the ramps that end before a bucket
	edge   []float64 // share at the lower edge of a bucket
	ramps  []ramp
	order  []int32 // the ramps that run through each bucket, one bucket behind the other
	first  []int   // where each bucket begins in order
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
	bucket := c.bucket(grownMM)
	return min(max(c.sum(bucket, grownMM), c.edge[bucket]), c.edge[bucket+1])
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
	var low float64
	high := c.fullMM
	for range halvings {
		if middle := (low + high) / 2; c.Share(middle) >= share {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

func (c *Curve) bucket(mm float64) int { return max(0, min(buckets-1, int(mm/c.step))) }

// sum adds up the ramps of a bucket and all that end before it.
func (c *Curve) sum(bucket int, mm float64) float64 {
	sum := c.base[bucket]
	for _, k := range c.order[c.first[bucket]:c.first[bucket+1]] {
		sum += c.ramps[k].at(mm)
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
	c := &Curve{fullMM: fullMM, step: fullMM / buckets, ramps: b.ramps}
	if fullMM == 0 {
		return c
	}
	c.base = make([]float64, buckets+1)
	c.edge = make([]float64, buckets+1)
	c.first = make([]int, buckets+1)
	c.base[0] = b.start
	ends := make([][2]int32, len(b.ramps)) // first and last bucket of each ramp
	for k, r := range b.ramps {
		low, high := c.bucket(r.from), c.bucket(r.to)
		ends[k] = [2]int32{int32(low), int32(high)}
		c.base[high+1] += r.share
		for bucket := low; bucket <= high; bucket++ {
			c.first[bucket+1]++
		}
	}
	for bucket := range buckets {
		c.base[bucket+1] += c.base[bucket]
		c.first[bucket+1] += c.first[bucket]
	}
	c.place(ends)
	for bucket := range buckets {
		c.edge[bucket] = min(1, c.sum(bucket, float64(bucket)*c.step))
		c.edge[bucket] = max(c.edge[bucket], c.edge[max(0, bucket-1)])
	}
	c.edge[buckets] = 1
	return c
}

// place lists every ramp in each bucket that it runs through.
func (c *Curve) place(ends [][2]int32) {
	c.order = make([]int32, c.first[buckets])
	next := make([]int, buckets)
	copy(next, c.first)
	for k, of := range ends {
		for bucket := of[0]; bucket <= of[1]; bucket++ {
			c.order[next[bucket]] = int32(k)
			next[bucket]++
		}
	}
}
