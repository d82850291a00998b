package protocol

import (
	"fmt"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/growth"
)

// clockOf asks the bone clock about one implant of a completed augmentation.
func (p *planner) clockOf(s graft.Sinus, at string, i graft.Implant) (graft.ImplantClock, *growth.Clock, error) {
	housing, sized := p.housing(s, i)
	post := post(i)
	clock, err := growth.New(housing, post)
	if err != nil {
		return graft.ImplantClock{}, nil, fmt.Errorf("implant %d: %w", i.Tooth, err)
	}
	rate, additive := p.rules.number("growth-rate"), p.speedup(s.Graft.Additive)
	low, high, err := p.band(housing, post, rate, additive)
	if err != nil {
		return graft.ImplantClock{}, nil, fmt.Errorf("implant %d: band: %w", i.Tooth, err)
	}
	last := clock.Last()
	half, most := 1.0/2, 9.0/10
	c := graft.ImplantClock{
		Tooth:         i.Tooth,
		Side:          s.Side,
		Restoration:   i.Restoration,
		ToFull:        growth.RoundUp(additive.months(clock.Months(rate))),
		T50:           additive.months(clock.MonthsTo(half, rate)),
		T90:           additive.months(clock.MonthsTo(most, rate)),
		ResidualShare: min(1, i.ResidualMM/i.LengthMM),
		BandLow:       low,
		BandHigh:      high,
		LastHeightMM:  last.AboveFloorMM,
	}
	if c.ToFull > 0 {
		c.LastAspect, c.WaitsFor = last.Side.String(), last.WaitsFor.String()
	}
	share := p.rules.number("share-to-hold")
	c.ToShare = growth.RoundUp(additive.months(clock.MonthsTo(share, rate)))
	c.Reason = p.clockReason(c, s, at, i, last, additive, sized)
	return c, clock, nil
}

// post describes an implant to the bone clock.
func post(i graft.Implant) growth.Implant {
	post := growth.Implant{OffMidlineMM: i.OffMidlineMM, ResidualMM: i.ResidualMM, LengthMM: i.LengthMM, DiameterMM: i.DiameterMM}
	if i.AtMM != nil {
		post.AtMM = *i.AtMM
	}
	return post
}

// housing describes the sinus at one implant's site. Sized reports whether the
// window had to be assumed.
func (p *planner) housing(s graft.Sinus, i graft.Implant) (housing growth.Sinus, assumed bool) {
	housing.FrontWallAtMM = s.FrontWallAtMM
	housing.GraftTopMM = s.Graft.HeightMM
	for _, w := range s.Widths {
		housing.Levels = append(housing.Levels, growth.Level{WidthMM: w.MM, AboveFloorMM: max(0, w.LevelMM(i.ResidualMM))})
	}
	for _, septum := range s.Septa {
		housing.Septa = append(housing.Septa, growth.Septum{AtMM: septum.AtMM, HeightMM: septum.HeightMM})
	}
	switch {
	case s.Approach == graft.Transcrestal, s.Window != nil && s.Window.LidIsRepositioned:
	case s.Window != nil:
		housing.Window = &growth.Window{FromMM: s.Window.FromMM, ToMM: s.Window.ToMM, LowerEdgeMM: s.Window.LowerEdgeMM, HeightMM: s.Window.HeightMM}
	default:
		assumed = true
		middle := 0.0
		if i.AtMM != nil {
			middle = *i.AtMM
		}
		length := p.rules.part("window-size", "length_mm")
		housing.Window = &growth.Window{
			FromMM: middle - length/2, ToMM: middle + length/2,
			LowerEdgeMM: p.rules.part("window-size", "lower_edge_mm"),
			HeightMM:    p.rules.part("window-size", "height_mm"),
		}
	}
	return housing, assumed
}

// band is the clock's answer with everything at its quicker end and everything
// at its slower end.
func (p *planner) band(s growth.Sinus, i growth.Implant, rate float64, additive speedup) (low, high float64, err error) {
	band := growth.Band{
		RateLow:    p.rules.part("clock-band", "rate_low"),
		RateHigh:   p.rules.part("clock-band", "rate_high"),
		WidthMM:    p.rules.part("clock-band", "width_mm"),
		ResidualMM: p.rules.part("clock-band", "residual_mm"),
	}
	low, high, err = band.Months(s, i, rate)
	return growth.RoundUp(additive.months(low)), growth.RoundUp(additive.months(high)), err
}

// speedup is what an additive does to a wait.
type speedup struct {
	rule                         graft.RuleID // empty: no additive
	times, savesAtMost, notBelow float64
}

var additiveRules = map[graft.Additive]graft.RuleID{
	graft.PlateletRichFibrin: "additive-platelet-rich-fibrin",
	graft.RhPDGF:             "additive-rhpdgf-bb",
	graft.RhBMP2:             "additive-rhbmp-2",
}

func (p *planner) speedup(a graft.Additive) speedup {
	rule, ok := additiveRules[a]
	if !ok {
		return speedup{times: 1}
	}
	return speedup{rule, p.rules.part(rule, "times"), p.rules.part(rule, "saves_at_most_months"), p.rules.part(rule, "not_below_months")}
}

// months shortens a wait. It never lengthens one, and it keeps the order of
// waits, so that a share of the implant is reached no later than a larger one.
func (s speedup) months(plain float64) float64 {
	if s.times <= 1 {
		return plain
	}
	return min(plain, max(plain/s.times, plain-s.savesAtMost, s.notBelow))
}

// clockReason sets out the sum so that it can be checked with a pencil.
func (p *planner) clockReason(c graft.ImplantClock, s graft.Sinus, at string, i graft.Implant, last growth.Last, additive speedup, assumed bool) graft.Reason {
	r := graft.Reason{Rule: "growth-rate", Inputs: siteInputs(s, at, i)}
	rate := p.rules.number("growth-rate")
	if c.ToFull == 0 {
		r.Says = fmt.Sprintf("Residual bone and walls hold the whole of implant %d: nothing has to form.", i.Tooth)
		r.Formula = fmt.Sprintf("grafted length = max(0, %s - %s) = %s mm", mm(i.LengthMM), mm(i.ResidualMM), mm(i.GraftedMM()))
		r.Result = "0 months"
		return r
	}
	r.Says = fmt.Sprintf("Bone reaches the %s aspect of implant %d last, %.1f mm above the floor; it waits for the %s.", c.LastAspect, i.Tooth, c.LastHeightMM, c.WaitsFor)
	plain := last.DistanceMM / rate
	r.Formula = fmt.Sprintf("%.5f mm / %s mm a month = %.5f months", last.DistanceMM, number(rate), plain)
	if share := p.rules.number("share-to-hold"); share < 1 {
		r.Because = append(r.Because, p.rules.Reason("share-to-hold"))
		r.Formula += fmt.Sprintf("; %s of the implant is held at %.2f months", number(share), c.ToShare)
	}
	r.Result = fmt.Sprintf("%.2f months, rounded up (band %.2f to %.2f)", c.ToFull, c.BandLow, c.BandHigh)
	r.Because = append(r.Because, p.rules.Reason("growth-rate"), p.rules.Reason("width-at-its-level"))
	if additive.rule != "" {
		because := p.rules.Reason(additive.rule)
		if additive.times > 1 {
			because.Formula = fmt.Sprintf("min(%.3f, max(%.3f / %s, %.3f - %s, %s)) = %.3f months",
				plain, plain, number(additive.times), plain, number(additive.savesAtMost), number(additive.notBelow), additive.months(plain))
		}
		r.Because = append(r.Because, because)
	}
	if assumed {
		r.Because = append(r.Because, p.rules.Reason("window-size"))
	}
	return append1(r, p.rules.Reason("clock-band"))
}

func append1(r graft.Reason, because graft.Reason) graft.Reason {
	r.Because = append(r.Because, because)
	return r
}

// siteInputs lists the facts the clock used, with their units and their places.
func siteInputs(s graft.Sinus, at string, i graft.Implant) []graft.Input {
	sinus := at[:strings.LastIndex(at, ".implants")]
	inputs := []graft.Input{
		{Name: "residual bone", Value: mm(i.ResidualMM) + " mm", Path: at + ".residual_bone_mm"},
		{Name: "implant", Value: mm(i.LengthMM) + " x " + mm(i.DiameterMM) + " mm", Path: at},
		{Name: "axis off the mid-line", Value: mm(i.OffMidlineMM) + " mm", Path: at + ".off_midline_mm"},
	}
	for n, w := range s.Widths {
		inputs = append(inputs, graft.Input{Name: "sinus width", Value: fmt.Sprintf("%s mm at %s mm above the floor", mm(w.MM), mm(w.LevelMM(i.ResidualMM))), Path: fmt.Sprintf("%s.widths[%d]", sinus, n)})
	}
	if i.AtMM != nil {
		inputs = append(inputs, graft.Input{Name: "along the arch", Value: mm(*i.AtMM) + " mm", Path: at + ".at_mm"})
	}
	if w := s.Window; w != nil {
		lid := "lid removed"
		if w.LidIsRepositioned {
			lid = "lid repositioned: counts as wall"
		}
		inputs = append(inputs, graft.Input{Name: "window", Value: fmt.Sprintf("%s to %s mm, %s to %s mm above the floor, %s", mm(w.FromMM), mm(w.ToMM), mm(w.LowerEdgeMM), mm(w.LowerEdgeMM+w.HeightMM), lid), Path: sinus + ".window"})
	}
	if s.FrontWallAtMM != nil {
		inputs = append(inputs, graft.Input{Name: "front wall", Value: "at " + mm(*s.FrontWallAtMM) + " mm", Path: sinus + ".anterior_wall_at_mm"})
	}
	for n, septum := range s.Septa {
		inputs = append(inputs, graft.Input{Name: "septum", Value: fmt.Sprintf("at %s mm, %s mm high", mm(septum.AtMM), mm(septum.HeightMM)), Path: fmt.Sprintf("%s.septa[%d]", sinus, n)})
	}
	if s.Graft.HeightMM > 0 {
		inputs = append(inputs, graft.Input{Name: "graft", Value: mm(s.Graft.HeightMM) + " mm high, " + string(s.Graft.Material), Path: sinus + ".graft"})
	}
	return inputs
}

func mm(v float64) string { return number(v) }

// wait turns healing months into a wait in days, with the conversion as reason.
func (p *planner) wait(months float64) (day.Period, string) {
	period := day.HealingMonths(months)
	return period, fmt.Sprintf("%.2f months x %s days = %.2f, rounded up to %d days", months, number(day.DaysPerMonth), months*day.DaysPerMonth, period.Days)
}
