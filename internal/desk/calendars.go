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

// shown lists the milestones that the calendar of an audience has: placed, not yet
// attended, and for the patient none that is overdue and waits to be booked.
func (p Plan) shown(who graft.Audience) []graft.Milestone {
	var list []graft.Milestone
	for _, m := range p.Timeline.Milestones {
		if m.SeenByAny(who) && !m.Placed.IsZero() && m.Attended.IsZero() && !(who == graft.ForPatient && m.Overdue && !m.Booked) {
			list = append(list, m)
		}
	}
	return list
}

// calendar writes the calendar of one audience, or says why there is none: an
// iCalendar file without an event is not valid.
func (d *Desk) calendar(p Plan, name string, who graft.Audience, out *Outputs) error {
	cal := ics.Calendar{Name: d.calendarName(p, who), Zone: d.Clinic.Zone}
	for _, m := range p.shown(who) {
		cal.Events = append(cal.Events, d.numbered(p, m, who))
	}
	if len(cal.Events) == 0 {
		out.Held = append(out.Held, Held{name, "no visit lies ahead"})
		return nil
	}
	return out.add(name, cal)
}

// add encodes a calendar.
func (o *Outputs) add(name string, cal ics.Calendar) error {
	data, err := ics.Encode(cal)
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	o.Files = append(o.Files, File{name, data})
	return nil
}

// numbered is one milestone as an event with its name, SEQUENCE and stamp: as last
// given out where a ledger keeps that, else as the record has it.
func (d *Desk) numbered(p Plan, m graft.Milestone, who graft.Audience) ics.Event {
	e := d.event(p, m, who)
	e.UID = d.uid(p, m.ID, who)
	e.Sequence, e.Stamp = len(p.Case.Observations), stamp(p)
	if p.Standing != nil {
		e.Sequence = 0
		if i, ok := p.Standing.issues[issueKey{m.ID, who}]; ok {
			e.Sequence, e.Stamp = i.Sequence, i.At
		}
	}
	return e
}

// uid names the event of a milestone for one audience, for its whole life. With a
// ledger only who has its key can tell what the name stands for; without one, who
// guesses clinic, case and patient can.
func (d *Desk) uid(p Plan, id graft.MilestoneID, who graft.Audience) string {
	if s := p.Standing; s != nil {
		return ics.UID(s.key, string(p.Case.ID), string(id), string(who))
	}
	return ics.UID(nil, d.Clinic.Name, string(p.Case.ID), p.Case.Patient.Name, string(id), string(who))
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
		Day:         m.Placed,
		Status:      ics.Tentative,
		Transparent: true,
	}
	if m.Booked {
		e.Status, e.Transparent = ics.Confirmed, false
		e.Start, e.Minutes = m.Slot.Start, m.Slot.Minutes
		e.Alarms = d.alarms(p, m)
	}
	if who == graft.ForPatient {
		if !m.Booked {
			e.Day, e.LastDay = span(m)
		}
		entry := d.patientEntry(p, m)
		e.Summary, e.Description = entry.Title, entry.Text
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

// alarms are the reminders of a booked visit, the earliest first: one more where it
// was booked so far ahead that patients tend to forget.
func (d *Desk) alarms(p Plan, m graft.Milestone) []day.Period {
	var list []day.Period
	if p.Standing != nil {
		ahead := d.Rules.Period("long-lead").Days
		if v, ok := p.Standing.Latest(m.ID); ok && m.Slot.Day.Sub(day.Of(v.Booked)) > ahead {
			list = append(list, day.Period{Days: -d.Rules.Period("long-lead-reminder").Days})
		}
	}
	for _, before := range d.Rules.Periods("reminders") {
		list = append(list, day.Period{Days: -before.Days})
	}
	return list
}

// span is the window as the patient sees it: never before the hard bound.
func span(m graft.Milestone) (first, last day.Day) {
	first = day.Max(m.Window.NotBefore, m.Window.Earliest)
	return first, day.Max(first, m.Window.Latest)
}

// patientEntry tells no more than the patient chose: neutral words, or plain ones
// where that choice is recorded. A patient whose language has no words gets English
// ones, beside the finding that says so.
func (d *Desk) patientEntry(p Plan, m graft.Milestone) letter.Entry {
	words, err := letter.WordsFor(p.Case.Patient.Language)
	if err != nil {
		words = letter.English()
	}
	entry := words.Window(d.Clinic.ShortName, d.Clinic.Phone)
	if m.Booked {
		entry = words.Booked(d.Clinic.ShortName, d.Clinic.Phone)
	}
	if p.Draft() {
		entry.Text += " " + words.DraftNote()
	}
	if p.Case.Patient.CalendarDetail == graft.Plain && err == nil {
		entry.Title = fmt.Sprintf("%s: %s", d.Clinic.ShortName, words.Title(m.Step))
		if m.PatientSays != "" {
			entry.Text = m.PatientSays + " " + entry.Text
		}
	}
	return entry
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
