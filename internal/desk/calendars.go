package desk

import (
	"fmt"
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
	"graftclock/internal/letter"
)

// shown lists the milestones that the calendar of an audience has: placed, not yet
// attended, and for the patient none that is overdue and waits to be booked. A booked
// visit that does not fit the plan stands for the clinic where it is booked.
func (p Plan) shown(who graft.Audience) []graft.Milestone {
	var list []graft.Milestone
	for _, m := range p.Timeline.Milestones {
		if who != graft.ForPatient {
			m = p.asBooked(m)
		}
		if m.SeenByAny(who) && (m.Booked || !m.Placed.IsZero()) && m.Attended.IsZero() && !(who == graft.ForPatient && m.Overdue && !m.Booked) {
			list = append(list, m)
		}
	}
	if who != graft.ForPatient && p.Standing != nil {
		for _, v := range p.Standing.Gone {
			if v.State == ledger.Booked {
				list = append(list, graft.Milestone{ID: v.Milestone, Slot: v.Slot, Booked: true})
			}
		}
	}
	return list
}

// asBooked is a milestone with the time for which it is booked also where that does
// not fit the plan; the day that the plan proposes stays beside it.
func (p Plan) asBooked(m graft.Milestone) graft.Milestone {
	if p.Standing != nil {
		for _, misfit := range p.Standing.Misfits {
			if misfit.ID == m.ID {
				m.Booked, m.Slot = true, misfit.Booked
			}
		}
	}
	return m
}

// Misfit says why the booked visit of a milestone does not fit the plan; empty if it
// does.
func (p Plan) Misfit(id graft.MilestoneID) string {
	if p.Standing == nil {
		return ""
	}
	for _, misfit := range p.Standing.Misfits {
		if misfit.ID == id {
			return misfit.Says
		}
	}
	for _, v := range p.Standing.Gone {
		if v.Milestone == id {
			return "the plan no longer has this step"
		}
	}
	return ""
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
	if who == graft.ForPatient {
		words, _ := d.patientWords(p)
		return words.CalendarName(d.Clinic.ShortName, p.Draft())
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
		e.Day, e.Start, e.Minutes = m.Slot.Day, m.Slot.Start, m.Slot.Minutes
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
	e.Summary = fmt.Sprintf("%s %s: %s", p.Case.ID, p.Case.Patient.Name, m.ID.Title())
	e.Description = p.clinicText(m, who)
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
	words, own := d.patientWords(p)
	plain, visit := p.Case.Patient.CalendarDetail == graft.Plain && own, ""
	if plain {
		visit = words.Title(m.Step)
	}
	entry := words.Window(d.Clinic.ShortName, d.Clinic.Phone, visit)
	if m.Booked {
		entry = words.Booked(d.Clinic.ShortName, d.Clinic.Phone, visit)
	}
	if p.Draft() {
		entry.Text += " " + words.DraftNote()
	}
	if what := words.What(m.Step, p.Case.Surgery.Resorbable); plain && what != "" {
		entry.Text = what + " " + entry.Text
	}
	return entry
}

// patientWords are the words of the patient's language or, where it has none, English
// ones; own reports which.
func (d *Desk) patientWords(p Plan) (words letter.Words, own bool) {
	words, err := d.Templates.WordsFor(p.Case.Patient.Language)
	if err != nil {
		return letter.English(), false
	}
	return words, true
}

// reworded is what a patient was given, under a title that tells no more than the patient
// chooses now, and whether that is another one. Whoever takes plain words back wants none
// to stay.
func (d *Desk) reworded(p Plan, g given) (given, bool) {
	words, own := d.patientWords(p)
	entry := words.Window(d.Clinic.ShortName, d.Clinic.Phone, "")
	if g.Minutes > 0 {
		entry = words.Booked(d.Clinic.ShortName, d.Clinic.Phone, "")
	}
	if own && p.Case.Patient.CalendarDetail == graft.Plain || g.Summary == entry.Title {
		return g, false
	}
	g.Summary, g.Description = entry.Title, entry.Text
	return g, true
}

// calledOff is an event of the patient's that is off: they have nothing to do but to ask.
func (d *Desk) calledOff(p Plan, e ics.Event) ics.Event {
	words, _ := d.patientWords(p)
	e.Status, e.Description = ics.Cancelled, words.Off(d.Clinic.Phone)
	return e
}

// clinicText tells desk and surgeon the window and the reasons.
func (p Plan) clinicText(m graft.Milestone, who graft.Audience) string {
	lines := []string{p.standsText(m)}
	if why := p.Misfit(m.ID); why != "" {
		lines = append(lines, "It does not fit the plan: "+why+". graftclock settle "+string(p.Case.ID)+" proposes what to do.")
	}
	if m.Window != (graft.Window{}) {
		lines = append(lines, fmt.Sprintf("Not before %s, earliest %s, target %s, latest %s.", m.Window.NotBefore, m.Window.Earliest, m.Window.Target, m.Window.Latest))
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

// standsText says where a step stands: booked, or what the plan proposes.
func (p Plan) standsText(m graft.Milestone) string {
	state := "Hold the window"
	switch {
	case m.Booked:
		return "Booked: " + m.Slot.String() + "."
	case m.Placed.Before(p.Timeline.On):
		state = "Passed and not recorded as attended"
	case m.Firm:
		state = "Book a slot"
	}
	return fmt.Sprintf("%s. Proposed: %s.", state, dayText(m.Placed))
}

// OverrideText says a surgeon's own day beside the computed one.
func OverrideText(o graft.Override) string {
	return fmt.Sprintf("set to %s by %s on %s (%s); computed: not before %s, target %s", o.Day, o.By, o.On, o.Why, o.Computed.NotBefore, o.Computed.Target)
}

// Caution stands on every output for the clinic.
const Caution = "A planning aid: an estimate from entered facts and editable rules. The clinician decides."
