package growth

import (
	"fmt"
	"math"
)

// Band is by how much the measurements and the rate may be off. The zero value
// is no band: see Months.
type Band struct {
	RateLow    float64 // the slowest rate as a factor of the rate, above 0
	RateHigh   float64 // the fastest rate as a factor of the rate, RateLow or more
	WidthMM    float64 // by how much a width may be off either way, mm, 0 or more
	ResidualMM float64 // by how much the residual bone may be off either way, mm, 0 or more
}

// Months is Clock.Months at the two ends of the band: soonest with the fastest
// rate, a narrower sinus and more residual bone; latest with the slowest rate, a
// wider sinus and less residual bone. A width keeps at least a hair and residual
// bone is never below 0. It refuses factors that are not above 0 or in the wrong
// order, and what New refuses.
func (b Band) Months(s Sinus, i Implant, rateMMPerMonth float64) (soonest, latest float64, err error) {
	if !(b.RateLow > 0 && b.RateHigh >= b.RateLow && b.RateHigh <= math.MaxFloat32) {
		return 0, 0, fmt.Errorf("band: rate factors %v to %v are not above 0 and in order", b.RateLow, b.RateHigh)
	}
	if err := firstError(within("band: width", b.WidthMM, 0), within("band: residual bone", b.ResidualMM, 0)); err != nil {
		return 0, 0, err
	}
	soon, err := b.shifted(s, i, -1)
	if err != nil {
		return 0, 0, err
	}
	late, err := b.shifted(s, i, 1)
	if err != nil {
		return 0, 0, err
	}
	return soon.Months(rateMMPerMonth * b.RateHigh), late.Months(rateMMPerMonth * b.RateLow), nil
}

// shifted is the clock at one end of the band: later with +1, sooner with -1.
func (b Band) shifted(s Sinus, i Implant, later float64) (*Clock, error) {
	if err := firstError(s.validate(), i.validate()); err != nil {
		return nil, err
	}
	levels := make([]Level, len(s.Levels))
	for k, l := range s.Levels {
		l.WidthMM = max(l.WidthMM+later*b.WidthMM, min(l.WidthMM, hairMM))
		levels[k] = l
	}
	s.Levels = levels
	i.ResidualMM = max(0, i.ResidualMM-later*b.ResidualMM)
	return New(s, i)
}
