package web

import (
	"fmt"
	"hash/fnv"
	"slices"
	"time"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// past lists the visits and the calls of a step, newest first.
func (q *request) past(live desk.Live, id graft.MilestoneID) []pastLine {
	type at struct {
		time.Time
		pastLine
	}
	var list []at
	for _, v := range live.Visits {
		if v.Milestone != id {
			continue
		}
		says := capital(string(v.State))
		if !v.Day.IsZero() {
			says += ": " + slotWords(v.Slot)
		} else if !v.Window.Latest.IsZero() {
			says += ": " + longSpan(v.Window.Earliest, v.Window.Latest)
		}
		list = append(list, at{v.At, pastLine{q.when(v.At), v.By, withWhy(says, v.Why)}})
	}
	for _, c := range live.Contacts {
		if c.Milestone == id {
			list = append(list, at{c.At, pastLine{q.when(c.At), c.By, withWhy("Call: "+string(c.Outcome), c.Says)}})
		}
	}
	slices.SortStableFunc(list, func(a, b at) int { return b.Compare(a.Time) })
	lines := make([]pastLine, len(list))
	for n := range list {
		lines[n] = list[n].pastLine
	}
	return lines
}

func withWhy(says, why string) string {
	if why == "" {
		return says
	}
	return says + " (" + spelled(why) + ")"
}

// when writes a moment by the clinic's clock.
func (q *request) when(at time.Time) string {
	if zone, err := time.LoadLocation(q.keeper.Clinic.Zone); err == nil {
		at = at.In(zone)
	}
	return at.Format("Mon 2 January 2006, 15:04")
}

// anchorOf names a step's place in the list of its case, for its whole life.
func anchorOf(id graft.MilestoneID) string {
	sum := fnv.New32a()
	sum.Write([]byte(id))
	return fmt.Sprintf("step-%08x", sum.Sum32())
}
