package protocol

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/growth"
)

// Site is one implant of a completed augmentation with all that the bone clock
// knows of it. It never changes, so it may be used from several places at once.
// Its zero value is of no use: it comes from Sites.
type Site struct {
	Path    string // of the implant in the record: sinuses[0].implants[1]
	Sinus   graft.Sinus
	Implant graft.Implant
	Clock   graft.ImplantClock

	Bone          *growth.Clock
	Housing       growth.Sinus   // as the clock used it; Window is nil also where the lid was put back
	Post          growth.Implant // as the clock used it
	WindowAssumed bool           // the window was not measured: Housing has that of the rules

	RateMMPerMonth float64    // of bone, without an additive
	Share          float64    // of the implant that must be held, above 0, at most 1
	GateStep       graft.Step // what waits for the implant: placement, uncovering or impression
	GateMonths     float64    // the earliest it may be, for this implant alone, in months after surgery
	SavesFrom      float64    // before so many months the additive saves nothing, then at once; 0: it does not leap

	additive speedup
}

// Sites returns the site of every implant that the bone clock can time, in the
// order of the record: none of a sinus whose lift was given up. The error is a
// fault of the geometry that the record's reader should have seen.
func Sites(c graft.Case, r *Rules) ([]Site, error) {
	p := &planner{rules: r, c: c}
	var sites []Site
	for n, s := range c.Sinuses {
		if s.Outcome != graft.Completed {
			continue
		}
		for m, i := range s.Implants {
			site, err := p.site(s, fmt.Sprintf("sinuses[%d].implants[%d]", n, m), i)
			if err != nil {
				return nil, err
			}
			sites = append(sites, site)
		}
	}
	return sites, nil
}

func (p *planner) site(s graft.Sinus, path string, i graft.Implant) (Site, error) {
	clock, bone, err := p.clockOf(s, path, i)
	if err != nil {
		return Site{}, err
	}
	site := Site{
		Path: path, Sinus: s, Implant: i, Clock: clock, Bone: bone, Post: post(i),
		RateMMPerMonth: p.rules.number("growth-rate"),
		Share:          p.rules.number("share-to-hold"),
		additive:       p.speedup(s.Graft.Additive),
	}
	site.Housing, site.WindowAssumed = p.housing(s, i)
	if from := site.additive.notBelow; site.additive.plain(from) > from {
		site.SavesFrom = from
	}
	step, floor := gateOf(s, i)
	site.GateStep = step
	site.GateMonths = max(clock.ToShare, inMonths(p.rules.period(floor)))
	return site, nil
}

// gateOf is the step that waits for an implant of a sinus, and the rule that no
// implant of its kind may go below.
func gateOf(s graft.Sinus, i graft.Implant) (graft.Step, graft.RuleID) {
	switch {
	case i.Placed == graft.Later && s.Graft.Material == graft.Autogenous:
		return graft.Placement, "staged-placement-autogenous"
	case i.Placed == graft.Later:
		return graft.Placement, "staged-placement-other"
	case i.Closure == graft.ThroughTheGum:
		return graft.Impression, "simultaneous-uncovering"
	}
	return graft.Uncovering, "simultaneous-uncovering"
}

// inMonths is a period in months of the bone clock.
func inMonths(p day.Period) float64 { return float64(p.Months) + float64(p.Days)/day.DaysPerMonth }

// Months is what a wait in months takes with the site's additive.
func (s Site) Months(plain float64) float64 { return s.additive.months(plain) }

// GrownMM is how far bone has grown into the graft so many months after surgery,
// in mm: the largest distance whose wait is over by then. It is 0 before surgery
// and never falls. With an additive that saves nothing below some months it leaps
// at those.
func (s Site) GrownMM(months float64) float64 {
	return max(0, s.additive.plain(months)*s.RateMMPerMonth)
}

// Held is the share of the implant that is in bone so many months after surgery,
// from 0 to 1, never falling. It is exactly 1 from Clock.ToFull on, which may lie
// a rounding error before the moment itself.
func (s Site) Held(months float64) float64 {
	if months >= s.Clock.ToFull {
		return 1
	}
	return s.Bone.Held(s.additive.plain(months), s.RateMMPerMonth)
}

// plain is the inverse of months: the longest plain wait that is over after so
// many months.
func (s speedup) plain(months float64) float64 {
	if s.times <= 1 || months < s.notBelow {
		return months
	}
	return max(months, min(months*s.times, months+s.savesAtMost))
}
