// Package letter writes the letter that the patient takes home: the dates, what
// to do, what not to do until when, whom to call and when it is an emergency. It
// writes one HTML page that needs nothing from outside, and the same as plain
// text. All words come from the templates of the patient's language. It decides
// no date of a visit, knows no clock, and refuses rather than guesses.
package letter

import (
	"bytes"
	"fmt"
	"io"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Letter is all that one letter needs.
type Letter struct {
	Head         Letterhead
	Case         graft.Case
	Timeline     graft.Timeline
	Booked       map[graft.MilestoneID]Booking // visits with a slot; graft.SurgeryDay for a surgery ahead
	AfterCare    map[string]int                // preset to days after surgery; an absent one is "ask your surgeon"
	Draft        bool                          // no surgeon has approved the plan yet
	Rules        string                        // version of the rules behind the dates; "" = not printed
	CalendarFile string                        // name of the file handed out with the letter; "" = none
	NextVisit    NextVisit                     // the zero one = none
}

// Letterhead is who writes and how to reach them. Phone and OutOfHours must be
// there.
type Letterhead struct {
	Name            string
	Address         []string // one line each
	Phone           string
	OutOfHours      string // for the night, weekends and holidays
	EmergencyNumber string // the public one, such as 112; "" = the letter says "your local emergency number"
}

// NextVisit is the next booked visit as a calendar entry, drawn as a square code.
type NextVisit struct {
	Entry []byte // UTF-8, at most 300 bytes
	When  Booking
}

// Booking is a slot in the clinic's diary. The zero Start prints no time.
type Booking struct {
	Day   day.Day
	Start day.Clock
}

// Filled is a letter whose every sentence is made, ready to print in either form.
// Its zero value is of no use: see Fill.
type Filled struct {
	sheet *sheet
	forms *forms
}

// usualBytes is how much room a letter is given.
const usualBytes = 40 << 10

// Fill checks a letter and makes its sentences. An error of type *graft.Refusal
// says why there can be no letter.
func Fill(l Letter) (Filled, error) {
	forms, err := formsFor(l.Case.Patient.Language)
	if err != nil {
		return Filled{}, err
	}
	if err := check(l); err != nil {
		return Filled{}, err
	}
	s := newSheet(l, forms)
	if err := s.fillCode(l, forms.words); err != nil {
		return Filled{}, err
	}
	return Filled{s, forms}, nil
}

// WriteHTML writes the letter as one HTML page. The same letter gives the same
// bytes.
func (f Filled) WriteHTML(w io.Writer) error {
	var out bytes.Buffer
	out.Grow(usualBytes)
	if err := f.forms.html.Execute(&out, f.sheet); err != nil {
		return fmt.Errorf("fill the letter's page: %w", err)
	}
	_, err := w.Write(out.Bytes())
	return err
}

// WriteText writes the letter as plain text for an eye that reads or a voice
// that speaks it: lines of at most 72 characters, each ended by a line feed. Only
// a word that is itself longer has a longer line, alone.
func (f Filled) WriteText(w io.Writer) error {
	var out bytes.Buffer
	out.Grow(usualBytes)
	if err := f.forms.text.Execute(&out, f.sheet); err != nil {
		return fmt.Errorf("fill the letter's text: %w", err)
	}
	_, err := io.WriteString(w, wrapText(out.String()))
	return err
}

// WriteHTML fills a letter and writes its page.
func WriteHTML(w io.Writer, l Letter) error {
	f, err := Fill(l)
	if err != nil {
		return err
	}
	return f.WriteHTML(w)
}

// WriteText fills a letter and writes its text.
func WriteText(w io.Writer, l Letter) error {
	f, err := Fill(l)
	if err != nil {
		return err
	}
	return f.WriteText(w)
}
