package protocol

import (
	"fmt"

	"graftclock/internal/graft"
)

// Review looks at the days the diary has given and adds what lies outside the
// published ranges. It moves nothing.
func (r *Rules) Review(t *graft.Timeline, surgery graft.Surgery) {
	for _, m := range t.Milestones {
		switch m.Step {
		case graft.Placement:
			r.reviewRange(t, surgery, m, "placement-range")
		case graft.FirstLoading:
			r.reviewRange(t, surgery, m, "loading-range")
		}
	}
}

func (r *Rules) reviewRange(t *graft.Timeline, surgery graft.Surgery, m graft.Milestone, rule graft.RuleID) {
	if m.Placed.IsZero() {
		return
	}
	least, most := int(r.part(rule, "least_months")), int(r.part(rule, "most_months"))
	if m.Placed.Before(surgery.Day.AddMonths(least)) || m.Placed.After(surgery.Day.AddMonths(most)) {
		found := fmt.Sprintf("%s on %s, %d days after surgery; the range is %d to %d months.", m.Title(), m.Placed, m.Placed.Sub(surgery.Day), least, most)
		t.Findings = append(t.Findings, r.Finding(rule, "", found))
	}
}
