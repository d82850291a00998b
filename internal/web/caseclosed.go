package web

import (
	"slices"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
)

// closedRun is a run of days on which the patient cannot come, or the clinic is
// closed, and why.
type closedRun struct {
	day.Span
	says, whole string // beside the drawing, and below it
}

// leastClosed is how many days in a row are shaded: a weekend with a holiday is none.
const leastClosed = 5

// closedRuns are the runs of closed days of a span, and the days on which the patient
// cannot come.
func (q *request) closedRuns(live desk.Live, span day.Span) []closedRun {
	var runs []closedRun
	if calendar, faults := q.keeper.Calendar(live.Case.Surgery.Day.Year()); len(faults) == 0 {
		runs = closedOf(calendar, span)
	}
	for _, away := range live.Case.Patient.Unavailable {
		if away.Days() >= leastClosed && !away.To.Before(span.From) && !away.From.After(span.To) {
			runs = append(runs, closedRun{away, "cannot come", "the patient cannot come"})
		}
	}
	slices.SortStableFunc(runs, func(a, b closedRun) int { return a.From.Sub(b.From) })
	return runs
}

func closedOf(calendar *clinic.Calendar, span day.Span) []closedRun {
	var runs []closedRun
	var run closedRun
	end := func() {
		if !run.From.IsZero() && run.Days() >= leastClosed {
			runs = append(runs, run)
		}
		run = closedRun{}
	}
	for at := span.From; !at.After(span.To); at = at.AddDays(1) {
		status, err := calendar.Status(at)
		if err != nil || len(status.Hours) > 0 {
			end()
			continue
		}
		if status.Why.Kind == clinic.WeeklyClosingDay {
			continue // a weekend ends no closure and begins none
		}
		if run.From.IsZero() {
			run.From, run.says, run.whole = at, "closed", "closed"
		}
		run.To = at
		if name := status.Why.Name; name != "" && (run.says == "closed" || status.Why.Kind == clinic.ClosedDays) {
			run.says, run.whole = name, name
		}
	}
	end()
	return runs
}
