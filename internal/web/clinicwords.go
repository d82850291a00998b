package web

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
)

// forGood is how the clinic file writes that a run of days has no end.
var forGood = " to " + day.Last.String()

// stateWords says how what a change is about stands in a clinic.
func stateWords(change casefile.ClinicChange, c casefile.Clinic) string {
	says := spelled(strings.ReplaceAll(change.Tell(c), forGood, " on, for good"))
	if preset, ok := change.(casefile.SetAfterCare); ok {
		says = strings.ReplaceAll(says, preset.Key, afterCareWords(preset.Key)+":")
	}
	return says
}

// changeWords says what a change did.
func changeWords(change casefile.ClinicChange, was, is casefile.Clinic) string {
	if after := stateWords(change, is); after != "" {
		return after
	}
	return "no longer so: " + stateWords(change, was)
}

func afterCareWords(key string) string { return strings.ReplaceAll(key, "_", " ") }

// runWords writes a run of days with what it is called.
func runWords(c clinic.Closure) string {
	switch {
	case c.To == day.Last:
		return "From " + longDay(c.From) + " on, for good"
	case c.To.IsZero():
		return longDay(c.From)
	}
	return longSpan(c.From, c.To)
}

// spanOf is the run of days that a change adds; none for another change.
func spanOf(change casefile.ClinicChange) (day.Span, bool) {
	switch c := change.(type) {
	case casefile.AddClosure:
		return day.Span{From: c.From, To: c.To}, true
	case casefile.AddAbsence:
		return day.Span{From: c.From, To: c.To}, true
	case casefile.SetHalfDay:
		return day.Span{From: c.Day, To: c.Day}, true
	}
	return day.Span{}, false
}

// runNotes says of a run of days what is easily typed by mistake: how long it is, and
// whether it lies in the past.
func (q *request) runNotes(change casefile.ClinicChange) []string {
	span, ok := spanOf(change)
	if !ok {
		return nil
	}
	var notes []string
	if open, known := q.openDays(span); known && span.To != day.Last {
		notes = append(notes, fmt.Sprintf("That is %s, %d of them open as the clinic stands now.", plural(span.Days(), "day", "days"), open))
	}
	switch {
	case span.To.Before(q.on):
		notes = append(notes, "It lies in the past: today is "+longDay(q.on)+". A visit that has been is not touched.")
	case span.From.Before(q.on):
		notes = append(notes, "It begins in the past: today is "+longDay(q.on)+".")
	}
	return notes
}

// openDays counts the open days of a run as the clinic stands.
func (q *request) openDays(span day.Span) (open int, known bool) {
	calendar, faults := q.keeper.Calendar(q.on.Year())
	if len(faults) > 0 || !calendar.Horizon().Contains(span.From) || !calendar.Horizon().Contains(span.To) {
		return 0, false
	}
	for d := span.From; !d.After(span.To); d = d.AddDays(1) {
		if status, err := calendar.Status(d); err == nil && status.Open() {
			open++
		}
	}
	return open, true
}

// newNotes are the notes of the changed clinic's calendar that it does not have now.
func (q *request) newNotes(changed *desk.Desk) []string {
	was, faults := q.keeper.Calendar(q.on.Year())
	is, more := changed.Calendar(q.on.Year())
	if len(faults) > 0 || len(more) > 0 {
		return nil
	}
	var notes []string
	for _, note := range is.Notes() {
		if !slices.Contains(was.Notes(), note) {
			notes = append(notes, capital(spelled(note)))
		}
	}
	return notes
}
