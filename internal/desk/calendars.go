package desk

import (
	"fmt"
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/letter"
)

// calendar writes the calendar of one audience, or says why there is none: an
// iCalendar file without an event is not valid.
func (d *Desk) calendar(p Plan, name string, who graft.Audience, out *Outputs) error {
	cal := ics.Calendar{Name: d.calendarName(p, who), Zone: d.Clinic.Zone, Stamp: stamp(p)}
	for _, m := range p.Timeline.Milestones {
		if m.SeenByAny(who) && !m.Placed.IsZero() && m.Attended.IsZero() && !(who == graft.ForPatient && m.Overdue && !m.Booked) {
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

// stamp is the time of the latest change: the ledger's, or the day of the record's
// latest fact, or the day of planning where that fact lies ahead. The same state
// gives the same bytes.
func stamp(p Plan) time.Time {
	if s := p.Standing; s != nil {
		return s.Changed()
	}
	if revised := p.Case.Revised(); !revised.After(p.Timeline.On) {
		return revised.Time()
	}
	return p.Timeline.On.Time()
}

func (d *Desk) calendarName(p Plan, who graft.Audience) string {
	if who == graft.ForPatient && p.Draft() {
		return d.Clinic.ShortName + " (draft)"
	} else if who == graft.ForPatient {
		return d.Clinic.ShortName
	}
	return fmt.Sprintf("%s: %s, %s", d.Clinic.ShortName, p.Case.ID, who)
}

// event is one milestone. Booked, it is a time that is taken; otherwise it is a
// window for the patient, who is called to book, and the proposed day for the
// clinic, and blocks nobody's time.
func (d *Desk) event(p Plan, m graft.Milestone, who graft.Audience) ics.Event {
	e := ics.Event{
		UID:         ics.UID(nil, d.Clinic.Name, string(p.Case.ID), p.Case.Patient.Name, string(m.ID), string(who)),
		Day:         m.Placed,
		Status:      ics.Tentative,
		Sequence:    sequence(p, m),
		Transparent: true,
	}
	if m.Booked {
		e.Status, e.Transparent = ics.Confirmed, false
		e.Start, e.Minutes = m.Slot.Start, m.Slot.Minutes
		for _, before := range d.Rules.Periods("reminders") {
			e.Alarms = append(e.Alarms, day.Period{Days: -before.Days})
		}
	}
	if who == graft.ForPatient {
		if !m.Booked {
			e.Day, e.LastDay = span(m)
		}
		e.Summary = d.patientTitle(p, m)
		e.Description = d.patientText(p, m)
		e.Location = strings.Join(append([]string{d.Clinic.ShortName}, d.Clinic.Address...), ", ")
		return e
	}
	e.Summary = fmt.Sprintf("%s %s: %s", p.Case.ID, p.Case.Patient.Name, m.Title())
	e.Description = clinicText(m, who, p.Timeline.On)
	if m.Booked {
		e.Location = m.Slot.Room
	}
	return e
}

// sequence grows with every change of what the reader of an event sees.
func sequence(p Plan, m graft.Milestone) int {
	if p.Standing == nil {
		return len(p.Case.Observations)
	}
	n := p.Standing.Kept.Revision - 1
	for _, v := range p.Standing.Visits {
		if v.Milestone == m.ID {
			n++
		}
	}
	return n
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
	if m.Booked {
		return "Appointment: " + d.Clinic.ShortName
	}
	return "Appointment to book: " + d.Clinic.ShortName
}

// patientText says whether the visit is booked, and what the visit is for only
// where the patient chose plain words.
func (d *Desk) patientText(p Plan, m graft.Milestone) string {
	text := fmt.Sprintf("The clinic will call you to book. Phone: %s.", d.Clinic.Phone)
	if m.Booked {
		text = fmt.Sprintf("If you cannot come, please call: %s.", d.Clinic.Phone)
	}
	if p.Draft() {
		text += " Draft plan: your surgeon has not approved it yet."
	}
	if p.Case.Patient.CalendarDetail == graft.Plain && m.PatientSays != "" {
		text = m.PatientSays + " " + text
	}
	return text
}

// clinicText tells desk and surgeon the window and the reasons.
func clinicText(m graft.Milestone, who graft.Audience, on day.Day) string {
	state := "Hold the window"
	if m.Booked {
		state = "Booked: " + m.Slot.String()
	} else if m.Placed.Before(on) {
		state = "Passed and not recorded as attended"
	} else if m.Firm {
		state = "Book a slot"
	}
	lines := []string{
		fmt.Sprintf("%s. Proposed: %s.", state, diary.Long(m.Placed)),
		fmt.Sprintf("Not before %s, earliest %s, target %s, latest %s.", m.Window.NotBefore, m.Window.Earliest, m.Window.Target, m.Window.Latest),
	}
	if o := m.Override; o != nil {
		lines = append(lines, OverrideText(*o))
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

// OverrideText says a surgeon's own day beside the computed one.
func OverrideText(o graft.Override) string {
	return fmt.Sprintf("set to %s by %s on %s (%s); computed: not before %s, target %s", o.Day, o.By, o.On, o.Why, o.Computed.NotBefore, o.Computed.Target)
}

// Caution stands on every output for the clinic.
const Caution = "A planning aid: an estimate from entered facts and editable rules. The clinician decides."
