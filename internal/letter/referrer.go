package letter

import (
	"strconv"
	"strings"

	"graftclock/internal/graft"
)

// referrerSheet is the letter to the dentist who sent the patient, as its layouts print
// it.
type referrerSheet struct {
	To     string
	About  string
	Placed []string // the implants, one sentence for those placed and one for those to come
	Start  []string // when what may start, one sentence each
	Ask    string
	Over   string // the restoration is in the patient's mouth, or there is none to plan; empty: see Start
}

// fillReferrer says what was placed, when the restoration may start and whom to ask.
func (s *sheet) fillReferrer(l Letter, w *wording) {
	r := &s.Referrer
	r.To = w.Referrer.ToDentist
	if name := graft.OneLine(l.Referrer); name != "" {
		r.To = fill(w.Referrer.To, "name", name)
	}
	r.About = fill(w.Referrer.About, "patient", s.Patient, "case", graft.OneLine(string(l.Case.ID)), "day", w.day(l.Case.Surgery.Day))
	r.implants(l, w)
	for _, m := range l.Timeline.Milestones {
		if says, ok := w.start(m); ok && m.Attended.IsZero() {
			r.Start = append(r.Start, w.startOf(l, m, says))
		}
	}
	if len(r.Start) == 0 {
		r.Over = w.Referrer.NoDates
	}
	r.Ask = fill(w.Referrer.Contact, "surgeon", s.Surgeon, "clinic", s.Name, "phone", s.Phone.Shown, "out_of_hours", s.OutOfHours.Shown)
}

// start is the sentence of a step that the referrer waits for.
func (w *wording) start(m graft.Milestone) (says string, ok bool) {
	switch m.Step {
	case graft.Placement:
		return w.Referrer.Placement, true
	case graft.Impression:
		return w.Referrer.Impression, true
	case graft.FirstLoading:
		return w.Referrer.Loading, true
	}
	return "", false
}

func (w *wording) startOf(l Letter, m graft.Milestone, says string) string {
	whom := graft.OneLine(m.For)
	if side, ok := w.Sides[graft.Side(whom)]; ok {
		whom = side
	}
	if m.Window.NotBefore.IsZero() {
		return whom + w.Colon + " " + w.Referrer.NoDay
	}
	sentence := fill(says, "whom", whom, "day", w.day(m.Window.NotBefore))
	if booked, ok := l.Booked[m.ID]; ok {
		return sentence + " " + fill(w.Referrer.Booked, "day", w.at(booked))
	}
	if m.Placed.IsZero() || m.Overdue {
		return sentence + " " + w.Referrer.NoDay
	}
	return sentence + " " + fill(w.Referrer.Planned, "day", w.day(m.Placed))
}

// implants lists the implants that were placed with the graft and those to be placed.
func (r *referrerSheet) implants(l Letter, w *wording) {
	var now, later []string
	for _, sinus := range l.Case.Sinuses {
		if sinus.Outcome == graft.Aborted {
			continue
		}
		for _, i := range sinus.Implants {
			text := fill(w.Referrer.Implant, "tooth", strconv.Itoa(i.Tooth), "length", w.decimal(i.LengthMM), "diameter", w.decimal(i.DiameterMM))
			if i.Placed == graft.WithTheGraft {
				now = append(now, text)
			} else {
				later = append(later, text)
			}
		}
	}
	placed := w.Referrer.Placed
	if l.Case.Ahead(l.Timeline.On) {
		placed = w.Referrer.Ahead
	}
	for _, row := range []struct {
		says string
		list []string
	}{{placed, now}, {w.Referrer.Later, later}} {
		if len(row.list) > 0 {
			r.Placed = append(r.Placed, fill(row.says, "implants", strings.Join(row.list, ", ")))
		}
	}
}

// decimal writes a number with the language's own mark.
func (w *wording) decimal(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), ".", w.Decimal, 1)
}
