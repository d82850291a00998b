package protocol

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// restoration adds the steps of one restoration, from placement to recall. All
// its implants are loaded together, so each gate waits for the slowest.
func (p *planner) restoration(name string, seats []seat) {
	if p.suspended(seats) || p.held[name] {
		return
	}
	placement := graft.SurgeryDay
	staged := slices.DeleteFunc(slices.Clone(seats), func(s seat) bool { return s.Placed != graft.Later })
	direct := slices.DeleteFunc(slices.Clone(seats), func(s seat) bool { return s.Placed == graft.Later })
	if len(staged) > 0 {
		placement = p.placement(name, staged)
	}
	var gates []graft.Wait
	if len(direct) > 0 {
		gates = append(gates, p.simultaneousGates(direct)...)
	}
	if len(staged) > 0 {
		gates = append(gates, p.gated(placement, p.rules.period("staged-uncovering"), p.rules.Reason("staged-uncovering")))
	}
	loading := p.fromUncovering(name, seats, placement, gates)
	p.afterLoading(name, loading)
}

// suspended reports whether an infection or a removed graft keeps a restoration
// from having dates, and says so once for each sinus.
func (p *planner) suspended(seats []seat) bool {
	suspended := false
	for n, s := range p.c.Sinuses {
		if !slices.ContainsFunc(seats, func(seat seat) bool { return seat.sinus.Side == s.Side }) {
			continue
		}
		if _, removed := p.observed(graft.GraftRemoved, s.Side); removed {
			suspended = true
		} else if o, infected := p.observed(graft.Infection, s.Side); infected {
			suspended = true
			p.find("infection", fmt.Sprintf("findings[%d]", o.AtIndex), fmt.Sprintf("The %s sinus, on %s: %s is suspended.", p.c.Sinuses[n].Side, o.Day, seats[0].Restoration))
		}
	}
	return suspended
}

// placement adds the placement of staged implants.
func (p *planner) placement(name string, staged []seat) graft.MilestoneID {
	clock := p.slowest(name, staged)
	floorRule := graft.RuleID("staged-placement-autogenous")
	for _, s := range staged {
		if s.sinus.Graft.Material != graft.Autogenous {
			floorRule = "staged-placement-other"
		}
	}
	floorReason := p.rules.Reason(floorRule)
	id := p.add(graft.Milestone{
		Step: graft.Placement, For: name, Shift: graft.OnlyLater, SeenBy: everyone, Surgical: true, Visit: string(graft.Placement),
		PatientSays: p.rules.rule(floorRule).Patient,
		Waits:       []graft.Wait{clock, p.gated(graft.SurgeryDay, p.rules.period(floorRule), floorReason)},
	})
	p.imaging(id, "before placement", name)
	return id
}

// simultaneousGates are the gates of uncovering for implants placed with the
// graft.
func (p *planner) simultaneousGates(direct []seat) []graft.Wait {
	return []graft.Wait{
		p.slowest(direct[0].Restoration, direct),
		p.gated(graft.SurgeryDay, p.rules.period("simultaneous-uncovering"), p.rules.Reason("simultaneous-uncovering")),
	}
}

// slowest is the wait for the implant that bone reaches last.
func (p *planner) slowest(name string, seats []seat) graft.Wait {
	last := slices.MaxFunc(seats, func(a, b seat) int {
		switch {
		case a.clock.ToShare < b.clock.ToShare:
			return -1
		case a.clock.ToShare > b.clock.ToShare:
			return 1
		}
		return 0
	})
	period, sum := p.wait(last.clock.ToShare)
	because := graft.Reason{
		Rule:    "share-to-hold",
		Says:    fmt.Sprintf("Implant %d must be held by bone.", last.Tooth),
		Formula: sum,
		Result:  fmt.Sprintf("%d days after surgery", period.Days),
		Because: []graft.Reason{last.clock.Reason},
	}
	if len(seats) > 1 {
		var others []string
		for _, s := range seats {
			others = append(others, fmt.Sprintf("%d: %.2f months", s.Tooth, s.clock.ToShare))
		}
		because.Says = fmt.Sprintf("The %s waits for its slowest implant, %d (%s).", name, last.Tooth, strings.Join(others, ", "))
	}
	for _, s := range seats {
		if s.Tooth != last.Tooth {
			because.Because = append(because.Because, s.clock.Reason)
		}
	}
	wait := p.gated(graft.SurgeryDay, period, because)
	wait.Short = fmt.Sprintf("implant %d held at %.2f months", last.Tooth, last.clock.ToShare)
	return wait
}

// fromUncovering adds uncovering (where an implant is submerged), impression and
// first loading, and returns the loading.
func (p *planner) fromUncovering(name string, seats []seat, placement graft.MilestoneID, gates []graft.Wait) graft.MilestoneID {
	throughTheGum := !slices.ContainsFunc(seats, func(s seat) bool { return s.Closure != graft.ThroughTheGum })
	impression := graft.Milestone{Step: graft.Impression, For: name, Shift: graft.OnlyLater, SeenBy: everyone, Visit: string(graft.Impression), PatientSays: p.rules.rule("impression").Patient}
	if throughTheGum {
		impression.Waits = gates
		impression.Waits[0].Because = append1(impression.Waits[0].Because, p.rules.Reason("impression-through-the-gum"))
		impression.Waits = append(impression.Waits, p.stability(seats)...)
		id := p.add(impression)
		p.imaging(id, "before impression", name)
		return p.loading(name, id, placement)
	}
	sentence := p.rules.rule("simultaneous-uncovering").Patient
	if placement != graft.SurgeryDay {
		sentence = p.rules.rule("staged-uncovering").Patient
	}
	uncovering := p.add(graft.Milestone{Step: graft.Uncovering, For: name, Shift: graft.OnlyLater, SeenBy: everyone, Surgical: true, Visit: string(graft.Uncovering), PatientSays: sentence, Waits: gates})
	p.imaging(uncovering, "before uncovering", name)
	impression.Waits = append([]graft.Wait{p.windowed("impression", uncovering)}, p.stability(seats)...)
	return p.loading(name, p.add(impression), placement)
}

// loading adds the first loading: after the impression, and later than the hard
// floor after placement.
func (p *planner) loading(name string, impression, placement graft.MilestoneID) graft.MilestoneID {
	hard := p.rules.period("loading-floor")
	hard.Days++ // later than the period, so the day after it
	because := p.rules.Reason("loading-floor")
	because.Formula = fmt.Sprintf("later than %s: %s", p.rules.rule("loading-floor").Value, hard.Words())
	id := p.add(graft.Milestone{
		Step: graft.FirstLoading, For: name, Shift: graft.OnlyLater, SeenBy: everyone, Visit: string(graft.FirstLoading),
		PatientSays: p.rules.rule("first-loading").Patient,
		Waits:       []graft.Wait{p.windowed("first-loading", impression), p.floor("loading-floor", placement, hard, because)},
	})
	p.imaging(id, "before first loading", name)
	return id
}

// afterLoading adds the definitive restoration, where the clinic works that way,
// and the recalls.
func (p *planner) afterLoading(name string, loading graft.MilestoneID) {
	if p.rules.number("provisional-first") == 1 {
		because := p.windowed("definitive-restoration", loading)
		because.Because = append1(because.Because, p.rules.Reason("provisional-first"))
		p.add(graft.Milestone{Step: graft.DefinitiveRestoration, For: name, Shift: graft.OnlyLater, SeenBy: everyone, Visit: string(graft.FirstLoading),
			PatientSays: p.rules.rule("definitive-restoration").Patient, Waits: []graft.Wait{because}})
	}
	recall := func(which day.Period, rule graft.RuleID, wait graft.Wait) {
		id := p.add(graft.Milestone{Step: graft.Recall, For: name, Which: which.Words(), Shift: graft.Nearest, SeenBy: everyone, Visit: string(graft.Recall),
			PatientSays: p.rules.rule(rule).Patient, Waits: []graft.Wait{wait}})
		if which == p.rules.period("imaging-recall") {
			p.imaging(id, "before recall at "+which.Words(), name)
		}
	}
	recall(p.rules.window("recall-first").Target, "recall-first", p.windowed("recall-first", loading))
	months := p.rules.periods("recall-months")
	for _, m := range months {
		recall(m, "recall-months", p.around(loading, m, "recall-months"))
	}
	every, until := p.rules.period("recall-every"), p.rules.period("recall-until")
	for m := months[len(months)-1].Months + every.Months; m <= until.Months; m += every.Months {
		recall(day.Period{Months: m}, "recall-every", p.around(loading, day.Period{Months: m}, "recall-every"))
	}
}

// around is the wait of a recall: its time with the slack on either side.
func (p *planner) around(from graft.MilestoneID, at day.Period, rule graft.RuleID) graft.Wait {
	early, late := int(p.rules.part("recall-slack", "early_days")), int(p.rules.part("recall-slack", "late_days"))
	first := day.Period{Months: at.Months, Days: at.Days - early}
	because := append1(p.rules.Reason(rule), p.rules.Reason("recall-slack"))
	if rule == "recall-every" {
		because = append1(because, p.rules.Reason("recall-until"))
	}
	return graft.Wait{From: from, NotBefore: first, Earliest: first, Target: at, Latest: day.Period{Months: at.Months, Days: at.Days + late}, Because: because}
}

// imaging adds the decision on an image before a gated step. It is for surgeon
// and desk; no image is booked by itself.
func (p *planner) imaging(gate graft.MilestoneID, which, name string) {
	wait := p.windowed("imaging-decision", gate)
	if strings.HasPrefix(which, "before recall") {
		wait.Because = append1(wait.Because, p.rules.Reason("imaging-recall"))
	}
	p.add(graft.Milestone{Step: graft.ImagingDecision, For: name, Which: which, Shift: graft.Earlier,
		SeenBy: []graft.Audience{graft.ForDesk, graft.ForSurgeon}, Role: "surgeon", Waits: []graft.Wait{wait}})
}
