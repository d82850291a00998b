package desk

import (
	"cmp"
	"fmt"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/letter"
)

// File is one output of a plan.
type File struct {
	Name string
	Data []byte
}

// Outputs are the files of a plan.
type Outputs struct {
	Files []File
	Held  []Held // files that are not written, and why
}

// Held is a file that a plan does not give out.
type Held struct{ Name, Why string }

// The names of the files. None tells anything of the case.
const (
	PatientCalendar = "patient.ics"
	DeskCalendar    = "desk.ics"
	SurgeonCalendar = "surgeon.ics"
	LetterPage      = "letter.html"
	LetterText      = "letter.txt"
	TimelineJSON    = "timeline.json"
)

// Outputs writes calendars, letter and timeline of a plan. While a stop finding
// stands, nothing meant for the patient is given out.
func (d *Desk) Outputs(p Plan) (Outputs, error) {
	var out Outputs
	if why := p.heldBack(); why != "" {
		for _, name := range []string{PatientCalendar, LetterPage, LetterText} {
			out.Held = append(out.Held, Held{name, why})
		}
	} else if err := d.forPatient(p, &out); err != nil {
		return out, err
	}
	for _, audience := range []struct {
		name string
		who  graft.Audience
	}{{DeskCalendar, graft.ForDesk}, {SurgeonCalendar, graft.ForSurgeon}} {
		if err := d.calendar(p, audience.name, audience.who, &out); err != nil {
			return out, err
		}
	}
	data, err := JSON(p)
	if err != nil {
		return out, err
	}
	out.Files = append(out.Files, File{TimelineJSON, data})
	return out, nil
}

// heldBack says why nothing for the patient is given out; empty if it is.
func (p Plan) heldBack() string {
	switch {
	case p.Stopped():
		return "a stop finding stands"
	case p.Standing != nil && !p.Standing.Settled():
		return "something booked does not fit the plan, or the rules have changed: graftclock settle"
	}
	return ""
}

// Draft reports whether no surgeon has approved the plan as it is.
func (p Plan) Draft() bool { return p.Standing == nil || p.Standing.Approval == nil }

// forPatient writes what the patient takes home.
func (d *Desk) forPatient(p Plan, out *Outputs) error {
	if err := d.calendar(p, PatientCalendar, graft.ForPatient, out); err != nil {
		return err
	}
	return d.letterFiles(p, LetterAs{Formats: []Format{HTML, Text}}, out)
}

// mostCodeBytes is how long the calendar entry in the letter's square code may be:
// a camera reads no more at the size it is printed.
const mostCodeBytes = 300

// nextVisit is the next booked visit as a calendar entry of its own; the zero one if
// there is none, or none that is short enough. Its title names the clinic, so its place
// is the address alone.
func (d *Desk) nextVisit(p Plan) letter.NextVisit {
	var next *graft.Milestone
	for _, m := range p.shown(graft.ForPatient) {
		ahead := m.Booked && !m.Slot.Day.Before(p.Timeline.On)
		if ahead && (next == nil || cmp.Or(m.Slot.Day.Sub(next.Slot.Day), cmp.Compare(m.Slot.Start, next.Slot.Start)) < 0) {
			next = &m
		}
	}
	if next == nil {
		return letter.NextVisit{}
	}
	e := d.numbered(p, *next, graft.ForPatient)
	if address := strings.Join(d.Clinic.Address, ", "); address != "" {
		e.Location = address
	}
	data, err := ics.Compact(e, d.Clinic.Zone, mostCodeBytes)
	if err != nil {
		return letter.NextVisit{}
	}
	return letter.NextVisit{Entry: data, When: booking(next.Slot)}
}

// VisitFiles writes the patient's calendar as one file for each visit, for programs
// that take only the first event of a file. Nothing is written that Outputs holds
// back.
func (d *Desk) VisitFiles(p Plan, out *Outputs) error {
	if p.heldBack() != "" {
		return nil
	}
	sameDay := map[string]int{}
	for _, m := range ByDay(p.shown(graft.ForPatient)) {
		e := d.numbered(p, m, graft.ForPatient)
		name := VisitFile + e.Day.String()
		if sameDay[name]++; sameDay[name] > 1 {
			name += fmt.Sprintf("-%d", sameDay[name])
		}
		if err := out.add(name+".ics", ics.Calendar{Name: d.calendarName(p, graft.ForPatient), Zone: d.Clinic.Zone, Events: []ics.Event{e}}); err != nil {
			return err
		}
	}
	return nil
}

// VisitFile begins the names of the files of VisitFiles; the day follows.
const VisitFile = "visit-"
