package desk

import (
	"fmt"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
)

// AddFinding adds a finding to a case's record, by its keys, and makes a new
// revision by the protocol. It needs a surgeon. One about a step, such as a step left
// out, is about one open step of the plan.
func (k *Keeper) AddFinding(a Actor, id graft.CaseID, fields map[string]string, why string) (Live, error) {
	if err := a.needSurgeon("recording a finding"); err != nil {
		return Live{}, k.refused(a, id, "note", err)
	}
	return k.act(a, id, "note", func(t *turn) error {
		record, c, faults, err := casefile.AddFinding(recordName(t.live.Revision), t.live.Revision.Record, fields)
		if err != nil {
			return &graft.Refusal{Kind: graft.Invalid, Message: err.Error()}
		}
		if len(faults) > 0 {
			return faults
		}
		if err := t.live.hasOpen(c.Observations[len(c.Observations)-1]); err != nil {
			return err
		}
		return t.reviseTo("note", record, c, why)
	})
}

// hasOpen refuses a finding about a step that the plan does not have open, or has open
// more than once: it would stand in the record and change nothing.
func (l Live) hasOpen(o graft.Observation) error {
	if o.What != graft.LeftOut && o.What != graft.Attended {
		return nil
	}
	c := Choice{Step: o.Step, For: o.For, Which: o.Which}
	asked := graft.Milestone{Step: c.Step, For: c.For, Which: c.Which}.Title()
	refuse := func(says, allowed string) error {
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("the plan of %s has %s %s", l.Kept.Case, says, asked), Hint: allowed}
	}
	switch meant := l.openSteps(c.means); len(meant) {
	case 0:
		open := l.openSteps(func(m graft.Milestone) bool { return m.Step == c.Step })
		if len(open) == 0 {
			open = l.openSteps(func(graft.Milestone) bool { return true })
		}
		return refuse("no open", "open are: "+orElse(joined(titles(open)), "none"))
	case 1:
		return nil
	default:
		return refuse("several open steps that are", "say for whom, or which: "+joined(titles(meant)))
	}
}

// openSteps are the milestones of a kind that have not taken place.
func (l Live) openSteps(is func(graft.Milestone) bool) []graft.Milestone {
	var open []graft.Milestone
	for _, m := range l.Timeline.Milestones {
		if m.Attended.IsZero() && is(m) {
			open = append(open, m)
		}
	}
	return open
}
