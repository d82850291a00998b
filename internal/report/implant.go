package report

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// implant is the part of the page on one implant.
type implant struct {
	Heading  string
	Says     string // which aspect bone reaches last
	Facts    []fact // of the site
	Months   []fact
	Flags    []finding // of the implant and of its sinus
	Drawings []drawing.Drawing
}

func implants(r Report) []implant {
	var list []implant
	for _, site := range r.Sites {
		tooth := site.Implant.Tooth
		list = append(list, implant{
			Heading:  fmt.Sprintf("Implant %d, %s sinus, %s", tooth, site.Sinus.Side, graft.OneLine(site.Implant.Restoration)),
			Says:     graft.OneLine(site.Clock.Reason.Says),
			Facts:    siteFacts(site),
			Months:   months(r, site),
			Flags:    flags(r, site),
			Drawings: []drawing.Drawing{crossSection(site, fmt.Sprintf("section-%d", tooth)), curve(site, fmt.Sprintf("curve-%d", tooth))},
		})
	}
	return list
}

// noClock names the sinuses in which no implant waits for bone.
func noClock(r Report) []string {
	var lines []string
	for _, s := range r.Case.Sinuses {
		if !slices.ContainsFunc(r.Sites, func(site protocol.Site) bool { return site.Sinus.Side == s.Side }) {
			lines = append(lines, fmt.Sprintf("The %s sinus has no bone clock: augmentation %s.", s.Side, s.Outcome))
		}
	}
	return lines
}

// sinusOf is the path of a site's sinus in the record.
func sinusOf(s protocol.Site) string {
	sinus, _, _ := strings.Cut(s.Path, ".")
	return sinus
}

// siteFacts are the facts that the clock used and what else was recorded of the
// implant. Their places in the record stand with the reasons.
func siteFacts(site protocol.Site) []fact {
	var facts []fact
	for _, in := range site.Clock.Reason.Inputs {
		facts = append(facts, fact{Name: upperFirst(graft.OneLine(in.Name)), Value: graft.OneLine(in.Value)})
	}
	s, i := site.Sinus, site.Implant
	facts = append(facts,
		fact{Name: "Grafted length", Value: fmt.Sprintf("%.1f mm", i.GraftedMM())},
		fact{Name: "Approach", Value: string(s.Approach)},
		fact{Name: "Additive", Value: string(s.Graft.Additive)},
		fact{Name: "Placed", Value: string(i.Placed)})
	if i.Torque != nil {
		facts = append(facts, fact{Name: "Insertion torque", Value: fmt.Sprintf("%g Ncm", *i.Torque)})
	}
	return append(facts, fact{Name: "Soft tissue", Value: string(i.Closure)})
}

// months are the clock's answers and the gate that they lead to.
func months(r Report, s protocol.Site) []fact {
	const percent = 100
	c := s.Clock
	gate := "held back, see the findings"
	if m, there := r.Timeline.Find(graft.MilestoneIDOf(s.GateStep, s.Implant.Restoration, "")); there && !m.Window.Latest.IsZero() {
		gate = "not before " + spelled(m.Window.NotBefore)
	}
	return []fact{
		{Name: "Held on day 0", Value: fmt.Sprintf("%.0f %% of the implant, by residual bone", c.ResidualShare*percent)},
		{Name: "Half held (t50)", Value: fmt.Sprintf("%.2f months", c.T50)},
		{Name: "Nine tenths held (t90)", Value: fmt.Sprintf("%.2f months", c.T90)},
		{Name: "Wholly held (t100)", Value: fmt.Sprintf("%.2f months, band %.2f to %.2f", c.ToFull, c.BandLow, c.BandHigh)},
		{Name: "Share that the rules ask for", Value: fmt.Sprintf("%.0f %%, held at %.2f months", s.Share*percent, c.ToShare)},
		{Name: "Gate of this implant alone", Value: fmt.Sprintf("%s, %.2f months", stepName(s.GateStep), s.GateMonths)},
		{Name: upperFirst(stepName(s.GateStep)) + " of its restoration", Value: gate},
	}
}

// flags are the findings of an implant and of its sinus.
func flags(r Report, s protocol.Site) []finding {
	sinus, at, of := sinusOf(s), s.Path, r
	of.Timeline.Findings = nil
	for _, f := range r.Timeline.Findings {
		ofSinus := strings.HasPrefix(f.Path, sinus+".") && !strings.HasPrefix(f.Path, sinus+".implants")
		if ofSinus || f.Path == at || strings.HasPrefix(f.Path, at+".") {
			of.Timeline.Findings = append(of.Timeline.Findings, f)
		}
	}
	return findings(of)
}
