// Package growth is the bone clock. It answers when new bone, growing at a
// steady rate from the walls and the floor of an augmented maxillary sinus, has
// reached an implant. It decides one thing, the distance from each point of the
// implant to the nearest bone, exactly and without a grid, and divides it by a
// rate. It knows no rate, no limit and no rule: those are the caller's.
//
// Lengths are in mm. A point is (u, y, z): u across the sinus from its mid-line,
// + towards the lateral wall; y along the arch from the record's own origin, +
// distally; z upwards from the sinus floor.
package growth

import (
	"math"
	"sync"
)

// Clock knows one implant in one sinus. It never changes, so it may be used
// from several places at once. Its zero value is of no use: see New.
type Clock struct {
	sinus   Sinus
	implant Implant
	bodies  []body
	last    Last
	held    func() *Curve
}

// New measures an implant in a sinus. It refuses what has no shape, such as a
// width of 0, and lengths beyond a kilometre. It keeps no part of the record.
func New(s Sinus, i Implant) (*Clock, error) {
	if err := firstError(s.validate(), i.validate()); err != nil {
		return nil, err
	}
	s.Levels = sortedLevels(s.Levels)
	c := &Clock{sinus: s, implant: i, bodies: bodies(s)}
	c.last = c.findLast()
	c.held = sync.OnceValue(c.heldCurve)
	return c, nil
}

// DistanceMM is the distance in mm from a point to the nearest bone, 0 in bone.
// Any finite point may be asked for.
func (c *Clock) DistanceMM(u, y, z float64) float64 {
	nearest := math.Inf(1)
	for i := range c.bodies {
		nearest = min(nearest, c.bodies[i].gap(u, y, z))
	}
	return max(0, nearest)
}

// Last is the point of the implant that bone reaches last.
func (c *Clock) Last() Last { return c.last }

// WidthMM is the sinus width in mm at a height above the floor in mm.
func (c *Clock) WidthMM(aboveFloorMM float64) float64 {
	return widthAt(c.sinus.Levels, aboveFloorMM)
}

// Months is the time until bone has reached the whole implant, in months,
// rounded up at the second decimal. The rate is in mm a month. It is 0 when
// nothing has to form, and +Inf when something has to and the rate is not
// above 0.
func (c *Clock) Months(rateMMPerMonth float64) float64 {
	return RoundUp(months(c.last.DistanceMM, rateMMPerMonth))
}

// Held is the share of the implant's side surface, crest to apex, that is in
// bone after so many months: between 0 and 1, never falling. At 0 months it is
// the part in residual bone and in the walls; it is exactly 1 from the moment
// bone has reached Last. The rate is in mm a month; one that is not above 0
// adds nothing. The share is good to a thousandth as a rule, and to two
// thousandths in the worst case found.
func (c *Clock) Held(months, rateMMPerMonth float64) float64 {
	return c.held().Share(grown(months, rateMMPerMonth))
}

// MonthsTo is the time in months, not rounded, at which Held first comes to a
// share. It is 0 for a share that is held from the beginning, the time to Last
// for a share of 1 or more, and +Inf where Months is.
func (c *Clock) MonthsTo(share, rateMMPerMonth float64) float64 {
	return months(c.held().DistanceMM(share), rateMMPerMonth)
}

// RoundUp rounds months up at the second decimal, but lets rounding noise pass:
// 6.001 becomes 6.01, 6.0000000001 becomes 6.
func RoundUp(months float64) float64 {
	return max(0, math.Ceil(months*hundredths-roundingSlack)/hundredths)
}

func months(distanceMM, rateMMPerMonth float64) float64 {
	if distanceMM == 0 {
		return 0
	}
	return distanceMM / max(0, rateMMPerMonth)
}

func grown(months, rateMMPerMonth float64) float64 {
	if months <= 0 || rateMMPerMonth <= 0 {
		return 0
	}
	return months * rateMMPerMonth
}
