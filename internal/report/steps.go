package report

import (
	"fmt"
	"slices"

	"graftclock/internal/graft"
)

// step is one row of the table of dates. Its anchor leads to its reasons.
type step struct {
	Anchor, Step, For string
	Window            []string // not before, earliest, target, latest
	Placed, Stands    string
	Override          string // the surgeon's own day, beside the computed one
}

func steps(r Report) []step {
	var list []step
	for n, m := range inOrder(r.Timeline.Milestones) {
		s := step{Anchor: anchor(n), Step: stepTitle(m), For: graft.OneLine(m.For), Placed: spelled(m.Placed), Stands: graft.OneLine(r.Stands[m.ID]), Override: overrideText(m)}
		if m.Placed.IsZero() {
			s.Placed = "no date"
		}
		w := m.Window
		s.Window = []string{w.NotBefore.String(), w.Earliest.String(), w.Target.String(), w.Latest.String()}
		if w.Latest.IsZero() {
			s.Window = []string{"-", "-", "-", "-"}
		}
		list = append(list, s)
	}
	return list
}

// anchor names the reasons of the n-th step of the page.
func anchor(n int) string { return fmt.Sprintf("why-%d", n+1) }

// stepTitle is the step and which of several it is: "recall 3 months".
func stepTitle(m graft.Milestone) string {
	title := stepName(m.Step)
	if m.Which != "" {
		title += " " + graft.OneLine(m.Which)
	}
	return title
}

func overrideText(m graft.Milestone) string {
	o := m.Override
	if o == nil {
		return ""
	}
	return fmt.Sprintf("Override: set to %s by %s on %s. Reason: %s. Computed: not before %s, target %s.",
		spelled(o.Day), graft.OneLine(o.By), spelled(o.On), graft.OneLine(o.Why), o.Computed.NotBefore, o.Computed.Target)
}

// inOrder sorts milestones by their days, those without one last.
func inOrder(milestones []graft.Milestone) []graft.Milestone {
	list := slices.Clone(milestones)
	slices.SortStableFunc(list, func(a, b graft.Milestone) int {
		switch {
		case a.Placed.IsZero() && b.Placed.IsZero():
			return 0
		case a.Placed.IsZero():
			return 1
		case b.Placed.IsZero():
			return -1
		}
		return a.Placed.Sub(b.Placed)
	})
	return list
}
