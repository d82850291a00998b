// Package diary gives the milestones of a case their days: it adds up their
// waits, walks to a day that fits by each step's own direction and keeps the
// chain from the days actually given. It knows when a clinic can see somebody,
// not why a step is due.
package diary

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Clinic is what the diary asks about days. Each answer says why not, as a front
// desk would.
type Clinic interface {
	// Fits reports whether a visit of the given kind can be had that day.
	Fits(d day.Day, visit string) (fits bool, why string)
	// FitsRole reports whether somebody of the role is in on an open day.
	FitsRole(d day.Day, role string) (fits bool, why string)
	// FitsAny reports whether the clinic is open.
	FitsAny(d day.Day) (fits bool, why string)
	// ClosedRunAfter counts the closed days that follow a day.
	ClosedRunAfter(d day.Day) int
}

// Request is a case's milestones with what else decides their days.
type Request struct {
	Milestones  []graft.Milestone
	Surgery     day.Day
	On          day.Day    // the day of planning: nothing is placed before it that can still wait
	Unavailable []day.Span // days the patient cannot come
	Closure     int        // no operation on the last open day before so many closed days; 0: no such rule
	FirmWithin  day.Period // slots this near are booked, later windows are held
}

// Unplaced is a milestone that got no day.
type Unplaced struct {
	ID     graft.MilestoneID
	Says   string // what is in the way and the nearest days on both sides
	Passed bool   // placed after all, but its whole window lies in the past
}

// placer works through one request.
type placer struct {
	Request
	clinic Clinic
	given  map[graft.MilestoneID]day.Day
	failed []Unplaced
}

// Place gives every milestone its window and, where there is one, its day. The
// milestones come back in the order they went in, whatever days they came with;
// a milestone that waits for one without a day has neither window nor day. A day
// attended is a fact: it stands, and carries the chain, whatever it waited for.
func Place(r Request, clinic Clinic) ([]graft.Milestone, []Unplaced) {
	p := &placer{Request: r, clinic: clinic, given: map[graft.MilestoneID]day.Day{graft.SurgeryDay: r.Surgery}}
	placed := make([]graft.Milestone, len(r.Milestones))
	for i, m := range r.Milestones {
		placed[i] = undated(m)
		if !m.Attended.IsZero() {
			p.given[m.ID] = m.Attended
		}
	}
	done := make([]bool, len(placed))
	for progress := true; progress; {
		progress = false
		for i := range placed {
			if !done[i] && p.ready(placed[i]) {
				p.place(&placed[i])
				done[i], progress = true, true
			}
		}
	}
	for i := range placed {
		if !done[i] && !placed[i].Attended.IsZero() {
			attend(&placed[i])
		}
	}
	return placed, p.failed
}

// undated returns the milestone without what an earlier plan gave it.
func undated(m graft.Milestone) graft.Milestone {
	m.Window, m.Placed, m.Firm, m.Why, m.Reasons = graft.Window{}, day.Day{}, false, "", nil
	return m
}

// attend puts a milestone on the day it was attended.
func attend(m *graft.Milestone) {
	m.Placed, m.Why = m.Attended, "attended"
	m.Reasons = append(m.Reasons, graft.Reason{Says: "Recorded as attended on " + Long(m.Attended) + "."})
}

// ready reports whether every day the milestone counts from is known.
func (p *placer) ready(m graft.Milestone) bool {
	for _, w := range m.Waits {
		if _, known := p.given[w.From]; !known {
			return false
		}
	}
	return true
}

func (p *placer) place(m *graft.Milestone) {
	m.Window, m.Why, m.Reasons = p.window(*m)
	if !m.Attended.IsZero() {
		attend(m)
		return
	}
	passed := m.Window.Latest.Before(p.On)
	search := p.search(m, passed)
	found, ok := search.best()
	if !ok {
		p.failed = append(p.failed, Unplaced{ID: m.ID, Says: search.failure()})
		return
	}
	m.Placed = found
	m.Firm = !found.After(p.On.Add(p.FirmWithin))
	m.Reasons = append(m.Reasons, search.reason(found))
	m.Why += search.moved(found)
	p.given[m.ID] = found
	if passed {
		p.failed = append(p.failed, Unplaced{ID: m.ID, Passed: true, Says: fmt.Sprintf("Its window ended on %s.", Long(m.Window.Latest))})
	}
}

// Long writes a day with its weekday and month spelled out.
func Long(d day.Day) string { return d.Time().Format("Monday 2 January 2006") }
