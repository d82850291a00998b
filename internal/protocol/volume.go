package protocol

import (
	"fmt"
	"math"
	"slices"

	"graftclock/internal/graft"
)

// Volumes returns, for each graft whose height was recorded, the share of its
// volume that new bone has reached when its slowest implant is fully held. The
// sum is some hundred times slower than the plan itself, so only those who want
// to see it ask for it.
func Volumes(c graft.Case, rules *Rules) ([]graft.GraftShare, error) {
	p := &planner{rules: rules, c: c, on: c.Surgery.Day, held: map[string]bool{}}
	seats, err := p.seats()
	if err != nil {
		return nil, err
	}
	var shares []graft.GraftShare
	for _, s := range c.Sinuses {
		of := slices.DeleteFunc(slices.Clone(seats), func(seat seat) bool { return seat.sinus.Side != s.Side })
		if s.Graft.HeightMM == 0 || len(of) == 0 {
			continue
		}
		share, err := volume(s, of)
		if err != nil {
			return nil, fmt.Errorf("graft of the %s sinus: %w", s.Side, err)
		}
		shares = append(shares, share)
	}
	return shares, nil
}

// volume takes the graft to reach along the arch from the first to the last edge
// of its implants and its window, and no further than its front wall.
func volume(s graft.Sinus, seats []seat) (graft.GraftShare, error) {
	slowest := seats[0]
	from, to := math.Inf(1), math.Inf(-1)
	for _, seat := range seats {
		if seat.clock.ToFull > slowest.clock.ToFull {
			slowest = seat
		}
		at := 0.0
		if seat.AtMM != nil {
			at = *seat.AtMM
		}
		from, to = min(from, at-seat.DiameterMM/2), max(to, at+seat.DiameterMM/2)
	}
	if s.Window != nil {
		from, to = min(from, s.Window.FromMM), max(to, s.Window.ToMM)
	}
	if s.FrontWallAtMM != nil {
		from = max(from, *s.FrontWallAtMM)
	}
	curve, err := slowest.bone.Graft(from, to)
	if err != nil {
		return graft.GraftShare{}, err
	}
	return graft.GraftShare{Side: s.Side, Months: slowest.clock.ToFull, Share: curve.Share(slowest.bone.Last().DistanceMM)}, nil
}
