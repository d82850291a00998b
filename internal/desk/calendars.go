package desk

import (
	"fmt"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/letter"
)

// calendar writes the calendar of one audience, or says why there is none: an
// iCalendar file without an event is not valid.
func (d *Desk) calendar(p Plan, name string, who graft.Audience, out *Outputs) error {
	cal := ics.Calendar{Name: d.calendarName(p, who), Zone: d.Clinic.Zone, Stamp: stamp(p).Time()}
	for _, m := range p.Timeline.Milestones {
		if m.SeenByAny(who) && !m.Placed.IsZero() && m.Attended.IsZero() {
			cal.Events = append(cal.Events, d.event(p, m, who))
		}
	}
	if len(cal.Events) == 0 {
		out.Held = append(out.Held, Held{name, "no visit lies ahead"})
		return nil
	}
	data, err := ics.Encode(cal)
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	out.Files = append(out.Files, File{name, data})
	return nil
}

// stamp is the day of the record's latest fact, or the day of planning where
// that fact lies ahead: the same record gives the same bytes.
func stamp(p Plan) day.Day {
	if revised := p.Case.Revised(); !revised.After(p.Timeline.On) {
		return revised
	}
	return p.Timeline.On
}

func (d *Desk) calendarName(p Plan, who graft.Audience) string {
	if who == graft.ForPatient {
		return d.Clinic.ShortName + " (draft)"
	}
	return fmt.Sprintf("%s: %s, %s", d.Clinic.ShortName, p.Case.ID, who)
}

// event is one unbooked milestone: a window for the patient, who is called to
// book, and the proposed day for the clinic. It blocks nobody's time.
func (d *Desk) event(p Plan, m graft.Milestone, who graft.Audience) ics.Event {
	e := ics.Event{
		UID:         ics.UID(d.Clinic.Name, string(p.Case.ID), p.Case.Patient.Name, string(m.ID), string(who)),
		Day:         m.Placed,
		Status:      ics.Tentative,
		Sequence:    len(p.Case.Observations),
		Transparent: true,
	}
	if who == graft.ForPatient {
		e.Day, e.LastDay = span(m)
		e.Summary = d.patientTitle(p, m)
		e.Description = d.patientText(p, m)
		e.Location = strings.Join(append([]string{d.Clinic.ShortName}, d.Clinic.Address...), ", ")
		return e
	}
	e.Summary = fmt.Sprintf("%s %s: %s", p.Case.ID, p.Case.Patient.Name, m.Title())
	e.Description = clinicText(m, who, p.Timeline.On)
	return e
}

// span is the window as the patient sees it: never before the hard bound.
func span(m graft.Milestone) (first, last day.Day) {
	first = day.Max(m.Window.NotBefore, m.Window.Earliest)
	return first, day.Max(first, m.Window.Latest)
}

// patientTitle tells no more than the patient chose: a neutral title, or plain
// words where that choice is recorded and the language has them.
func (d *Desk) patientTitle(p Plan, m graft.Milestone) string {
	if p.Case.Patient.CalendarDetail == graft.Plain {
		if words, err := letter.WordsFor(p.Case.Patient.Language); err == nil {
			return fmt.Sprintf("%s: %s", d.Clinic.ShortName, words.Title(m.Step))
		}
	}
	return "Appointment to book: " + d.Clinic.ShortName
}

// patientText says that nothing is booked yet, and what the visit is for only
// where the patient chose plain words.
func (d *Desk) patientText(p Plan, m graft.Milestone) string {
	text := fmt.Sprintf("The clinic will call you to book. Phone: %s. Draft plan: your surgeon has not approved it yet.", d.Clinic.Phone)
	if p.Case.Patient.CalendarDetail == graft.Plain && m.PatientSays != "" {
		text = m.PatientSays + " " + text
	}
	return text
}

// clinicText tells desk and surgeon the window and the reasons.
func clinicText(m graft.Milestone, who graft.Audience, on day.Day) string {
	state := "Hold the window"
	if m.Placed.Before(on) {
		state = "Passed and not recorded as attended"
	} else if m.Firm {
		state = "Book a slot"
	}
	lines := []string{
		fmt.Sprintf("%s. Proposed: %s.", state, diary.Long(m.Placed)),
		fmt.Sprintf("Not before %s, earliest %s, target %s, latest %s.", m.Window.NotBefore, m.Window.Earliest, m.Window.Target, m.Window.Latest),
	}
	for _, r := range m.Reasons {
		lines = append(lines, strings.TrimSpace(r.Says+" "+r.Formula))
		if who != graft.ForSurgeon {
			continue
		}
		for _, b := range r.Because {
			lines = append(lines, "- "+strings.TrimSpace(b.Says+" "+b.Formula))
		}
	}
	return strings.Join(append(lines, Caution), "\n")
}

// Caution stands on every output for the clinic.
const Caution = "A planning aid: an estimate from entered facts and editable rules. The clinician decides."
