package protocol

import (
	"fmt"

	"graftclock/internal/graft"
)

// flags shows the surgeon what to weigh; no flag moves a date.
func (p *planner) flags() {
	rules := map[graft.Flag]graft.RuleID{
		graft.Smoker:               "flag-smoker",
		graft.ControlledDiabetes:   "flag-controlled-diabetes",
		graft.UncontrolledDiabetes: "flag-uncontrolled-diabetes",
		graft.AntiresorptiveDrug:   "flag-antiresorptive-drug",
		graft.Radiotherapy:         "flag-head-and-neck-radiotherapy",
		graft.PositivePressureMask: "flag-positive-pressure-mask",
		graft.Anticoagulant:        "flag-anticoagulant",
	}
	for n, f := range p.c.Patient.Flags {
		p.find(rules[f], fmt.Sprintf("patient.flags[%d]", n), "")
	}
}

// sinusHealth reports whether dates may be given at all: not while a surgery
// lies ahead in a sinus that is not known to be clear.
func (p *planner) sinusHealth() bool {
	known := true
	for n, s := range p.c.Sinuses {
		if s.Health != graft.NotClear && s.Health != graft.NotAssessed {
			continue
		}
		rule := graft.RuleID("sinus-health-past")
		if p.c.Ahead(p.on) {
			rule, known = "sinus-health", false
		}
		p.find(rule, fmt.Sprintf("sinuses[%d].health", n), fmt.Sprintf("The %s sinus: %s.", s.Side, s.Health))
	}
	return known
}

// membrane tells of the tears of a sinus's membrane, seen at surgery or later.
func (p *planner) membrane(s graft.Sinus, at string) {
	found := ""
	if s.Perforation != nil {
		found = p.tear(s.Side, *s.Perforation, at+".perforation", "")
	}
	for _, o := range p.c.Observations {
		if o.What == graft.LatePerforation && ofSinus(o, s.Side) {
			tear := graft.Perforation{SizeMM: o.SizeMM, Repaired: o.Repaired}
			found = p.tear(s.Side, tear, fmt.Sprintf("findings[%d]", o.AtIndex), ", seen on "+o.Day.String())
		}
	}
	if found != "" && s.Graft.Additive == graft.RhBMP2 {
		p.find("additive-rhbmp-2-torn-membrane", at+".graft.additive", found)
	}
}

// ofSinus reports whether an observation is of the sinus of a side, or of the
// only one there is.
func ofSinus(o graft.Observation, side graft.Side) bool { return o.Side == side || o.Side == "" }

// tear tells of one tear, which stands at a path of the record, and returns what
// was found.
func (p *planner) tear(side graft.Side, tear graft.Perforation, path, seen string) string {
	found := fmt.Sprintf("The %s sinus: a tear of %s mm%s.", side, number(tear.SizeMM), seen)
	rule := graft.RuleID("perforation-repaired")
	if !tear.Repaired {
		rule = "perforation-open"
	}
	p.find(rule, path, found)
	if tear.SizeMM >= p.rules.number("perforation-large") {
		p.find("perforation-large", path+".size_mm", found)
	}
	return found
}

// height names a graft whose height was not recorded.
func (p *planner) height(s graft.Sinus, at string) {
	if s.Graft.HeightMM == 0 {
		p.find("graft-height-unknown", at+".graft.height_mm", fmt.Sprintf("The %s sinus.", s.Side))
	}
}

func (p *planner) additive(s graft.Sinus, at string) {
	if rule, ok := additiveRules[s.Graft.Additive]; ok {
		p.find(rule, at+".graft.additive", "")
	}
}

func (p *planner) windowMeasured(s graft.Sinus, at string) {
	if s.Approach == graft.LateralWindow && s.Window == nil {
		w := p.rules.rule("window-size").Value.Parts
		p.find("window-size", at+".window", fmt.Sprintf("Assumed: %s mm long, %s mm high, lower edge %s mm above the floor.", number(w["length_mm"]), number(w["height_mm"]), number(w["lower_edge_mm"])))
	}
}

// implantFindings says what is assumed or odd of one implant's site.
func (p *planner) implantFindings(s seat) {
	if !s.MidlineRecorded {
		p.find("axis-on-midline", s.path+".off_midline_mm", fmt.Sprintf("Implant %d.", s.Tooth))
	}
	if limit := p.rules.number("clock-horizon"); s.clock.ToFull > limit {
		p.find("clock-horizon", s.path, fmt.Sprintf("Implant %d: %.2f months, past %s.", s.Tooth, s.clock.ToFull, number(limit)))
	}
	p.cover(s)
	if s.Placed == graft.WithTheGraft {
		p.conditions(s)
	}
}

// cover compares the implant's tip with the top of the graft, now and once it
// has shrunk.
func (p *planner) cover(s seat) {
	top, tip := s.sinus.Graft.HeightMM, s.GraftedMM()
	if top == 0 || tip == 0 {
		return
	}
	shrunk := top * p.rules.number("graft-shrinkage")
	switch {
	case tip > top:
		p.hold("graft-cover", s, s.path+".length_mm", fmt.Sprintf("Implant %d: its tip stands %s mm above the floor, the graft %s mm.", s.Tooth, number(tip), number(top)))
	case tip > shrunk:
		p.find("graft-shrinkage", s.path+".length_mm", fmt.Sprintf("Implant %d: its tip stands %s mm above the floor, the graft %s x %s = %.1f mm.", s.Tooth, number(tip), number(top), number(p.rules.number("graft-shrinkage")), shrunk))
	}
}

// hold adds a stop finding and holds back the gated steps of the restoration.
func (p *planner) hold(rule graft.RuleID, s seat, path, found string) {
	p.find(rule, path, found)
	p.held[s.Restoration] = true
}

// reEntry plans a second attempt after an aborted lift or a removed graft, and
// says why a sinus with an infection gets no dates.
func (p *planner) reEntry(s graft.Sinus, at string) {
	name := string(s.Side) + " sinus"
	again := graft.Milestone{Step: graft.ReEntry, For: name, Shift: graft.OnlyLater, SeenBy: everyone, Surgical: true, Visit: string(graft.Placement)}
	if removed, ok := p.observed(graft.GraftRemoved, s.Side); ok {
		months := p.rules.number("graft-removed-re-entry")
		period, sum := p.wait(months)
		because := p.rules.Reason("graft-removed-re-entry")
		because.Formula = sum
		since := removed.Day.Sub(p.c.Surgery.Day)
		period.Days += since
		because.Inputs = []graft.Input{{Name: "graft removed", Value: fmt.Sprintf("%s, day %d after surgery", removed.Day, since), Path: fmt.Sprintf("findings[%d]", removed.AtIndex)}}
		again.PatientSays = p.rules.rule("graft-removed-re-entry").Patient
		again.Waits = []graft.Wait{p.gated(graft.SurgeryDay, period, because)}
		p.find("graft-removed-re-entry", fmt.Sprintf("findings[%d]", removed.AtIndex), fmt.Sprintf("The graft of the %s was removed on %s.", name, removed.Day))
	} else if s.Outcome == graft.Aborted {
		again.PatientSays = p.rules.rule("aborted-re-entry").Patient
		again.Waits = []graft.Wait{p.windowed("aborted-re-entry", graft.SurgeryDay)}
		p.find("aborted-re-entry", at+".outcome", fmt.Sprintf("The lift of the %s was given up.", name))
	} else {
		return
	}
	id := p.add(again)
	p.imaging(id, "before re-entry", name)
}

// observed returns the last observation of a kind in a sinus.
func (p *planner) observed(what graft.Observed, side graft.Side) (graft.Observation, bool) {
	for n := len(p.c.Observations) - 1; n >= 0; n-- {
		o := p.c.Observations[n]
		if o.What == what && ofSinus(o, side) {
			return o, true
		}
	}
	return graft.Observation{}, false
}
