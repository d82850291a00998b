package diary

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Undisturbed dates milestones by their waits alone: each on its target, or on the
// day it was attended, whatever any clinic does and however many trips that makes.
// A milestone that waits for one without a day has none.
func Undisturbed(milestones []graft.Milestone, surgery day.Day) []graft.Milestone {
	s := &sums{Request{Milestones: milestones}, map[graft.MilestoneID]day.Day{graft.SurgeryDay: surgery}}
	dated := make([]graft.Milestone, len(milestones))
	done := make([]bool, len(milestones))
	for i, m := range milestones {
		dated[i] = undated(m)
		if !m.Attended.IsZero() {
			s.given[m.ID] = m.Attended
		}
	}
	for progress := true; progress; {
		progress = false
		for i := range dated {
			if m := &dated[i]; !done[i] && s.ready(*m) {
				done[i], progress = true, true
				m.Window, m.Why, m.Reasons = s.window(*m)
				if m.Attended.IsZero() {
					m.Placed = m.Window.Target
					s.given[m.ID] = m.Placed
				}
			}
		}
	}
	for i := range dated {
		if !dated[i].Attended.IsZero() {
			attend(&dated[i])
		}
	}
	return dated
}
