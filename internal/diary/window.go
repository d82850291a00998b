package diary

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// sums adds up waits from the days given.
type sums struct {
	Request
	given map[graft.MilestoneID]day.Day
}

// undated returns the milestone without what an earlier plan gave it.
func undated(m graft.Milestone) graft.Milestone {
	m.Window, m.Placed, m.Firm, m.Why, m.Reasons = graft.Window{}, day.Day{}, false, "", nil
	m.Floor, m.Override, m.Slot, m.Booked, m.Overdue = day.Day{}, nil, graft.Slot{}, false, false
	return m
}

// ready reports whether every day the milestone counts from is known.
func (p *sums) ready(m graft.Milestone) bool {
	for _, w := range m.Waits {
		if _, known := p.given[w.From]; !known {
			return false
		}
	}
	return len(m.Waits) > 0
}

// attend puts a milestone on the day it was attended.
func attend(m *graft.Milestone) {
	m.Placed, m.Why = m.Attended, "attended"
	m.Reasons = append(m.Reasons, graft.Reason{Says: "Recorded as attended on " + Long(m.Attended) + "."})
}

// Long writes a day with its weekday and month spelled out.
func Long(d day.Day) string { return d.Time().Format("Monday 2 January 2006") }

// window adds up the waits of a milestone. The latest of them binds, point by
// point, and no point comes out before the one it follows, for 60 days are more
// than two months in February and fewer in July. A floor bounds the window; one
// that lies behind the window's start moves the whole of it.
func (p *sums) window(m graft.Milestone) (w graft.Window, why string, reasons []graft.Reason) {
	var floor, binding day.Day
	for _, wait := range m.Waits {
		from := p.given[wait.From]
		notBefore := from.Add(wait.NotBefore)
		reasons = append(reasons, p.sum(wait, notBefore))
		if notBefore.After(binding) {
			binding, why = notBefore, p.short(wait)
		}
		if wait.FloorOnly {
			floor = day.Max(floor, notBefore)
			continue
		}
		w.NotBefore = day.Max(w.NotBefore, notBefore)
		w.Earliest = day.Max(w.Earliest, from.Add(wait.Earliest))
		w.Target = day.Max(w.Target, from.Add(wait.Target))
		w.Latest = day.Max(w.Latest, from.Add(wait.Latest))
	}
	w.Earliest = day.Max(w.NotBefore, w.Earliest)
	w.Target = day.Max(w.Earliest, w.Target)
	w.Latest = day.Max(w.Target, w.Latest)
	if behind := floor.Sub(w.Earliest); !floor.IsZero() && behind > 0 {
		w = graft.Window{Earliest: floor, Target: w.Target.AddDays(behind), Latest: w.Latest.AddDays(behind)}
		reasons = append(reasons, graft.Reason{Says: fmt.Sprintf("The floor lies %s behind the start of the window, so the whole window moves with it.", day.Period{Days: behind}.Words())})
	}
	w.NotBefore = day.Max(w.NotBefore, floor)
	return w, why, reasons
}

// sum is the reason of one wait with the dates in.
func (p *sums) sum(w graft.Wait, notBefore day.Day) graft.Reason {
	from := p.anchor(w).Title()
	start := p.given[w.From]
	r := graft.Reason{Rule: w.Because.Rule, Says: fmt.Sprintf("Not before %s.", Long(notBefore)), Because: []graft.Reason{w.Because}}
	r.Formula = fmt.Sprintf("%s (%s) + %s = %s", start, from, w.NotBefore.Words(), notBefore)
	if !w.FloorOnly && (w.Target != w.NotBefore || w.Latest != w.NotBefore) {
		r.Formula += fmt.Sprintf("; target + %s = %s; latest + %s = %s", w.Target.Words(), start.Add(w.Target), w.Latest.Words(), start.Add(w.Latest))
	}
	return r
}

// anchor is the milestone that a wait counts from; the surgery is one without a
// day of its own.
func (p *sums) anchor(w graft.Wait) graft.Milestone {
	for _, m := range p.Milestones {
		if m.ID == w.From {
			return m
		}
	}
	return graft.Milestone{Step: graft.Step(w.From)}
}

// short says in half a line what a wait waits for.
func (p *sums) short(w graft.Wait) string {
	if w.Short != "" {
		return w.Short
	}
	step := string(p.anchor(w).Step)
	if target := w.Target; w.FloorOnly {
		return w.NotBefore.Words() + " after " + step
	} else if target.Months <= 0 && target.Days <= 0 && target != (day.Period{}) {
		return day.Period{Months: -target.Months, Days: -target.Days}.Words() + " before " + step
	} else {
		return target.Words() + " after " + step
	}
}
