package protocol

import (
	"fmt"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/growth"
)

// planner builds the timeline of one case.
type planner struct {
	rules *Rules
	c     graft.Case
	on    day.Day
	out   graft.Timeline
	held  map[string]bool // restorations whose gated steps are held back
}

// seat is an implant with its sinus, its place in the record and its clock.
type seat struct {
	graft.Implant
	sinus graft.Sinus
	path  string
	clock graft.ImplantClock
	bone  *growth.Clock
}

// Plan derives the milestones of a case as seen on one day: their waits and
// reasons, but no days, which are the diary's to give. The error is a fault of
// the geometry that the record's reader should have seen.
func Plan(c graft.Case, rules *Rules, on day.Day) (graft.Timeline, error) {
	p := &planner{rules: rules, c: c, on: on, held: map[string]bool{}}
	p.out = graft.Timeline{Case: c.ID, On: on, RulesVersion: rules.Version()}
	p.flags()
	if !rules.review.IsZero() && on.After(rules.review) {
		p.find("rules-review", "", "Review was due by "+rules.review.String()+".")
	}
	p.year()
	p.images()
	seats, err := p.seats()
	if err != nil {
		return p.out, err
	}
	if !p.sinusHealth() {
		return p.out, nil
	}
	p.firstWeeks()
	for _, name := range restorations(seats) {
		p.restoration(name, seatsOf(seats, name))
	}
	for n, s := range c.Sinuses {
		p.reEntry(s, fmt.Sprintf("sinuses[%d]", n))
	}
	p.attended()
	return p.out, nil
}

// year warns of a surgery so far from the day of planning that its year is
// likely a slip.
func (p *planner) year() {
	far, surgery := int(p.rules.number("surgery-far-away")), p.c.Surgery.Day
	if surgery.Before(p.on.AddMonths(-far)) || surgery.After(p.on.AddMonths(far)) {
		p.find("surgery-far-away", "surgery.day", fmt.Sprintf("Surgery on %s, planned on %s.", surgery, p.on))
	}
}

// seats runs the clock for every implant of every completed augmentation.
func (p *planner) seats() ([]seat, error) {
	var seats []seat
	for n, s := range p.c.Sinuses {
		at := fmt.Sprintf("sinuses[%d]", n)
		p.membrane(s, at)
		if s.Outcome != graft.Completed {
			p.holdAll(s)
			continue
		}
		p.additive(s, at)
		p.windowMeasured(s, at)
		p.height(s, at)
		for m, i := range s.Implants {
			path := fmt.Sprintf("%s.implants[%d]", at, m)
			c, bone, err := p.clockOf(s, path, i)
			if err != nil {
				return nil, err
			}
			p.out.Implants = append(p.out.Implants, c)
			seats = append(seats, seat{i, s, path, c, bone})
			p.implantFindings(seats[len(seats)-1])
		}
	}
	return seats, nil
}

// holdAll holds back restorations that also rest on implants of a sinus whose
// lift was given up.
func (p *planner) holdAll(s graft.Sinus) {
	for _, i := range s.Implants {
		p.held[i.Restoration] = true
	}
}

// restorations names the restorations in the order of the record.
func restorations(seats []seat) []string {
	var names []string
	for _, s := range seats {
		if !slices.Contains(names, s.Restoration) {
			names = append(names, s.Restoration)
		}
	}
	return names
}

func seatsOf(seats []seat, restoration string) []seat {
	var of []seat
	for _, s := range seats {
		if s.Restoration == restoration {
			of = append(of, s)
		}
	}
	return of
}

func (p *planner) find(rule graft.RuleID, path, found string) {
	p.out.Findings = append(p.out.Findings, p.rules.Finding(rule, path, found))
}

// add appends a milestone; its id is made of its step, whom and which it is for.
func (p *planner) add(m graft.Milestone) graft.MilestoneID {
	m.ID = graft.MilestoneIDOf(m.Step, m.For, m.Which)
	if m.Surgical {
		m.Waits[0].Because = append1(m.Waits[0].Because, p.rules.Reason("surgery-before-closure"))
	}
	p.out.Milestones = append(p.out.Milestones, m)
	return m.ID
}

// windowed returns the wait of a rule that is a window.
func (p *planner) windowed(rule graft.RuleID, from graft.MilestoneID) graft.Wait {
	w := p.rules.window(rule)
	return graft.Wait{From: from, NotBefore: w.NotBefore, Earliest: w.Earliest, Target: w.Target, Latest: w.Latest, Because: p.rules.Reason(rule)}
}

// gated returns the wait of a gate: not before it, best on it, and within the
// slack after it.
func (p *planner) gated(from graft.MilestoneID, gate day.Period, because graft.Reason) graft.Wait {
	slack := p.rules.period("gate-slack")
	latest := day.Period{Months: gate.Months + slack.Months, Days: gate.Days + slack.Days}
	return graft.Wait{From: from, NotBefore: gate, Earliest: gate, Target: gate, Latest: latest, Because: append1(because, p.rules.Reason("gate-slack"))}
}

// floor returns a wait that only forbids: the window as such comes from others.
// Whether an override may go below it is the rule's to say.
func (p *planner) floor(rule graft.RuleID, from graft.MilestoneID, period day.Period, because graft.Reason) graft.Wait {
	return graft.Wait{From: from, NotBefore: period, FloorOnly: true, Hard: p.rules.rule(rule).Hard, Because: because}
}

var everyone = []graft.Audience{graft.ForDesk, graft.ForSurgeon, graft.ForPatient}

// firstWeeks adds the visits that follow any surgery, augmented or aborted.
func (p *planner) firstWeeks() {
	p.add(graft.Milestone{Step: graft.PhoneCall, Shift: graft.Afterwards, SeenBy: []graft.Audience{graft.ForDesk},
		Waits: []graft.Wait{p.windowed("phone-call", graft.SurgeryDay)}})
	for _, v := range []struct {
		step graft.Step
		rule graft.RuleID
	}{{graft.WoundCheck, "wound-check"}, {graft.LateCheck, "late-check"}, {graft.HealingReview, "healing-review"}} {
		p.add(graft.Milestone{Step: v.step, Shift: graft.Nearest, SeenBy: everyone, Visit: string(v.step),
			PatientSays: p.rules.rule(v.rule).Patient, Waits: []graft.Wait{p.windowed(v.rule, graft.SurgeryDay)}})
	}
}

// attended marks the milestones that the record says took place. A day that fits
// no open step, or several, is told and not used.
func (p *planner) attended() {
	for _, o := range p.c.Observations {
		path := fmt.Sprintf("findings[%d]", o.AtIndex)
		if o.Day.After(p.on) {
			p.find("finding-ahead", path+".day", fmt.Sprintf("%s on %s, planned on %s.", o.What, o.Day, p.on))
		}
		if o.What == graft.LeftOut {
			p.leaveOut(o, path)
		}
		if o.What != graft.Attended {
			continue
		}
		if fits := p.openSteps(o); len(fits) == 1 {
			fits[0].Attended = o.Day
		} else {
			p.find("attended-unknown", path, fmt.Sprintf("%s on %s fits %d steps.", o.Step, o.Day, len(fits)))
		}
	}
}

// leaveOut takes a step out of the plan that the surgeon decided to do without,
// and the imaging decision that goes before it. A step that others wait for stays.
func (p *planner) leaveOut(o graft.Observation, path string) {
	fits := p.openSteps(o)
	if len(fits) != 1 {
		p.find("attended-unknown", path, fmt.Sprintf("%s, left out on %s, fits %d steps.", o.Step, o.Day, len(fits)))
		return
	}
	out := *fits[0]
	for _, m := range p.out.Milestones {
		if m.Step != graft.ImagingDecision && slices.ContainsFunc(m.Waits, func(w graft.Wait) bool { return w.From == out.ID }) {
			p.find("left-out-needed", path, fmt.Sprintf("%s waits for %s.", m.Title(), out.Title()))
			return
		}
	}
	p.out.Milestones = slices.DeleteFunc(p.out.Milestones, func(m graft.Milestone) bool {
		return m.ID == out.ID || m.Step == graft.ImagingDecision && slices.ContainsFunc(m.Waits, func(w graft.Wait) bool { return w.From == out.ID })
	})
	p.find("left-out", path, fmt.Sprintf("%s, on %s.", out.Title(), o.Day))
}

// openSteps returns the milestones that an attendance, or a step left out, may
// mean.
func (p *planner) openSteps(o graft.Observation) []*graft.Milestone {
	var fits []*graft.Milestone
	for n := range p.out.Milestones {
		m := &p.out.Milestones[n]
		if m.Step == o.Step && (o.For == "" || o.For == m.For) && (o.Which == "" || o.Which == m.Which) && m.Attended.IsZero() {
			fits = append(fits, m)
		}
	}
	return fits
}
