package protocol

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// stability returns what the last measurement of each implant asks of the
// impression: nothing, to measure again, or to leave the implant alone.
func (p *planner) stability(seats []seat) []graft.Wait {
	var waits []graft.Wait
	for _, s := range seats {
		o, measured := p.lastStability(s.Tooth)
		if !measured {
			continue
		}
		at := fmt.Sprintf("findings[%d].isq", o.AtIndex)
		found := fmt.Sprintf("Implant %d: ISQ %d on %s.", s.Tooth, o.ISQ, o.Day)
		input := []graft.Input{{Name: "stability of implant " + fmt.Sprint(s.Tooth), Value: fmt.Sprintf("ISQ %d on %s", o.ISQ, o.Day), Path: at}}
		switch isq := float64(o.ISQ); {
		case isq >= p.rules.number("stability-go"):
			p.find("stability-go", at, found)
		case isq >= p.rules.number("stability-decide"):
			p.find("stability-decide", at, found)
			waits = append(waits, p.since(o, "stability-again", input))
		default:
			p.find("stability-hold", at, found)
			waits = append(waits, p.since(o, "stability-hold", input))
		}
	}
	return waits
}

// since is a floor that counts from the day of an observation.
func (p *planner) since(o graft.Observation, rule graft.RuleID, inputs []graft.Input) graft.Wait {
	because := p.rules.Reason(rule)
	because.Inputs = inputs
	period := p.rules.period(rule)
	return p.floor(rule, graft.SurgeryDay, day.Period{Days: o.Day.Add(period).Sub(p.c.Surgery.Day)}, because)
}

func (p *planner) lastStability(tooth int) (graft.Observation, bool) {
	var last graft.Observation
	for _, o := range p.c.Observations {
		if o.What == graft.Stability && o.Tooth == tooth && !o.Day.Before(last.Day) {
			last = o
		}
	}
	return last, last.Tooth != 0
}
