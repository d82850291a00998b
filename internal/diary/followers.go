package diary

import (
	"slices"

	"graftclock/internal/graft"
)

// parted tells apart what is placed first from what follows: a step that brings
// nobody in and from which nothing counts that is placed first, such as a call or
// an imaging decision. What follows never moves a visit.
func parted(milestones []graft.Milestone) (first, after []graft.Milestone) {
	decides := map[graft.MilestoneID]bool{}
	for again := true; again; {
		again = false
		for _, m := range milestones {
			if m.Visit == "" && !decides[m.ID] {
				continue
			}
			for _, w := range m.Waits {
				if !decides[w.From] {
					decides[w.From], again = true, true
				}
			}
		}
	}
	for _, m := range milestones {
		if m.Visit != "" || decides[m.ID] {
			first = append(first, m)
		} else {
			after = append(after, m)
		}
	}
	return first, after
}

// follow places what follows round a plan of all the rest, whose days are given
// now, and returns both in the order of the request.
func follow(r Request, c Clinic, plan Plan, after []graft.Milestone) Plan {
	rest := r
	rest.Milestones = slices.Clone(after)
	for _, m := range plan.Milestones {
		if !m.Placed.IsZero() {
			m.Attended = m.Placed
			rest.Milestones = append(rest.Milestones, m)
		}
	}
	followed := newTeller(solve(rest, c, mostStates)).plan()
	plan.Unplaced = append(plan.Unplaced, followed.Unplaced...)
	placed := append(followed.Milestones[:len(after):len(after)], plan.Milestones...)
	plan.Milestones = make([]graft.Milestone, len(r.Milestones))
	for n, m := range r.Milestones {
		plan.Milestones[n] = placed[slices.IndexFunc(placed, func(p graft.Milestone) bool { return p.ID == m.ID })]
	}
	return plan
}
