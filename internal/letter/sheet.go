package letter

import (
	"cmp"
	"fmt"
	"html/template"
	"strings"
	"unicode"

	"graftclock/internal/day"
	"graftclock/internal/drawing"
	"graftclock/internal/graft"
	"graftclock/internal/paper"
)

// sheet is the letter as the two templates print it: every sentence made, every
// word from outside cleaned, nothing left to decide but where it stands.
type sheet struct {
	Say   *wording
	Style template.CSS

	Draft, Large bool
	Paper        paper.Size
	Title        string
	Patient      string
	Surgeon      string
	Written      string // the day of planning, spelled out
	written      day.Day
	Approved     string // by whom and when; empty: a draft
	Rules        string

	Name                         string
	Address                      []string
	Phone, OutOfHours, Emergency number
	PageFoot                     template.CSS // the numbers of the clinic, for the foot of each printed page

	Visits []visit     // the first is the next one; empty: nothing planned
	Code   *squareCode // of the next booked visit; nil: none
	Holds  string      // which visit that is
	NoScan string      // what to do when the code does not work

	Sittings []string // one sentence for each sinus

	Path  drawing.Drawing // from the surgery to the first teeth
	Drawn template.HTML   // the same, for the page

	Referrer referrerSheet

	Do      []string
	Counted string
	Limits  []limit // those still in force
	Over    bool    // none of those with a date is still in force

	Normal, SameDay, Urgent []string

	CalendarFile    string // how the dates get onto a phone; empty: no file goes with the letter
	CalendarChanges string // how changes reach the patient
}

func newSheet(l Letter, f *forms, w *wording) *sheet {
	s := &sheet{
		Say:     w,
		Style:   f.style,
		Draft:   l.draft(),
		Large:   l.Case.Patient.LargePrint,
		Paper:   PaperOf(l.Head.Region),
		Patient: graft.OneLine(l.Case.Patient.Name),
		Surgeon: graft.OneLine(l.Case.Surgery.Surgeon),
		Written: w.day(l.Timeline.On),
		written: l.Timeline.On,
		Rules:   graft.OneLine(l.Rules),
		Visits:  visitsOf(l, w),
		Do:      doOf(l.Case, w),
	}
	if !s.Draft {
		s.Approved = fill(w.Labels.Approved, "who", graft.OneLine(l.Approval.By), "day", w.day(l.Approval.On))
	}
	s.fillHead(l.Head, w)
	s.fillSurgery(l, w)
	s.fillLimits(l, w)
	s.fillSigns(w)
	s.fillCalendar(l, w)
	s.fillPath(l, w)
	s.fillReferrer(l, w)
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
	s.PageFoot = cssText(w.Labels.Phone + w.Colon + " " + s.Phone.Shown + ". " + w.Labels.OutOfHours + w.Colon + " " + s.OutOfHours.Shown)
	s.Emergency = newNumber(cmp.Or(head.EmergencyNumber, emergencyOf(head.Region)))
	if s.Emergency.Shown == "" {
		s.Emergency.Shown = w.NoEmergencyNumber
	}
}

// cssText is text as a string of CSS: all but letters, digits and spaces by their numbers
// (CSS Syntax Level 3, 4.3.7).
func cssText(text string) template.CSS {
	var b strings.Builder
	for _, r := range text {
		if r == ' ' || unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		} else {
			fmt.Fprintf(&b, "\\%x ", r)
		}
	}
	return template.CSS(`"` + b.String() + `"`)
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
