package letter

import (
	"html/template"

	"graftclock/internal/graft"
)

// sheet is the letter as the two templates print it: every sentence made, every
// word from outside cleaned, nothing left to decide but where it stands.
type sheet struct {
	Say   *wording
	Style template.CSS

	Draft, Large bool
	Title        string
	Patient      string
	Surgeon      string
	Written      string // the day of planning, spelled out
	Rules        string

	Name                         string
	Address                      []string
	Phone, OutOfHours, Emergency number

	Visits []visit     // the first is the next one; empty: nothing planned
	Code   *squareCode // of the next booked visit; nil: none
	Holds  string      // which visit that is
	NoScan string      // what to do when the code does not work

	SittingTitle string
	Sittings     []string // one sentence for each sinus

	Do      []string
	Counted string
	Limits  []limit // those still in force
	Over    bool    // none of those with a date is still in force

	Normal, SameDay, Urgent []string

	CalendarFile    string // how the dates get onto a phone; empty: no file goes with the letter
	CalendarChanges string // how changes reach the patient
}

func newSheet(l Letter, f *forms) *sheet {
	s := &sheet{
		Say:     f.words,
		Style:   f.style,
		Draft:   l.Draft,
		Large:   l.Case.Patient.LargePrint,
		Patient: graft.OneLine(l.Case.Patient.Name),
		Surgeon: graft.OneLine(l.Case.Surgery.Surgeon),
		Written: f.words.day(l.Timeline.On),
		Rules:   graft.OneLine(l.Rules),
		Visits:  visitsOf(l, f.words),
		Do:      doOf(l.Case, f.words),
	}
	s.fillHead(l.Head, f.words)
	s.fillSurgery(l, f.words)
	s.fillLimits(l, f.words)
	s.fillSigns(f.words)
	s.fillCalendar(l, f.words)
	return s
}

// fillCode draws the next booked visit, if there is one, and says which it is: the
// first of the dates may be another one that waits to be booked.
func (s *sheet) fillCode(l Letter, w *wording) (err error) {
	if len(l.NextVisit.Entry) == 0 {
		return nil
	}
	s.Holds = fill(w.Scan.Holds, "when", w.at(l.NextVisit.When))
	s.Code, err = newSquareCode(l.NextVisit.Entry)
	return err
}

// fillCalendar says what the calendar file does and, as it cannot change what it
// once added, how changes arrive. A patient with mail and no file gets the dates by
// mail alone.
func (s *sheet) fillCalendar(l Letter, w *wording) {
	mailed := l.Case.Patient.Mail.Address != ""
	s.NoScan = w.Scan.OrWrite
	if file := graft.OneLine(l.CalendarFile); file != "" {
		s.NoScan = w.Scan.OrFile
		s.CalendarFile, s.CalendarChanges = fill(w.Calendar.File, "file", file), w.Calendar.ByCall
		if mailed {
			s.CalendarChanges = w.Calendar.ByMail
		}
	} else if mailed {
		s.CalendarFile = w.Calendar.Mailed
	}
}

func (s *sheet) fillHead(head Letterhead, w *wording) {
	s.Name = graft.OneLine(head.Name)
	for _, line := range head.Address {
		if line = graft.OneLine(line); line != "" {
			s.Address = append(s.Address, line)
		}
	}
	s.Phone, s.OutOfHours = newNumber(head.Phone), newNumber(head.OutOfHours)
	s.Emergency = newNumber(head.EmergencyNumber)
	if s.Emergency.Shown == "" {
		s.Emergency.Shown = w.NoEmergencyNumber
	}
}

// fillSigns sorts the rows of the signs into the letter's three lists.
func (s *sheet) fillSigns(w *wording) {
	add := func(list *[]string, sentence string) {
		if sentence != "" {
			*list = append(*list, sentence)
		}
	}
	for _, row := range w.Signs {
		add(&s.Normal, row.Normal)
		add(&s.SameDay, row.SameDay)
		add(&s.Urgent, row.Emergency)
	}
}

// doOf lists what to do, with the advice for a breathing mask when the record
// has one.
func doOf(c graft.Case, w *wording) []string {
	for _, flag := range c.Patient.Flags {
		if flag == graft.PositivePressureMask {
			return append([]string{w.Mask}, w.Do...)
		}
	}
	return w.Do
}
