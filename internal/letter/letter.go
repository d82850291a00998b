// Package letter writes the letter that the patient takes home: the dates, what
// to do, what not to do until when, whom to call and when it is an emergency; and
// the short one to the dentist who sent the patient. It writes one HTML page that needs
// nothing from outside, the same as plain text, and the same to print. All words come
// from the templates of the patient's language. It decides no date of a visit, knows no
// clock, and refuses rather than guesses.
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
	Approval     Approval                      // the zero one = no surgeon has approved the plan yet: a draft
	Rules        string                        // version of the rules behind the dates; "" = not printed
	Referrer     string                        // the dentist who sent the patient; "" = not recorded
	CalendarFile string                        // name of the file handed out with the letter; "" = none
	NextVisit    NextVisit                     // the zero one = none
}

// Approval is a surgeon's word that the plan may reach the patient.
type Approval struct {
	By string
	On day.Day
}

// Letterhead is who writes and how to reach them. Phone and OutOfHours must be
// there.
type Letterhead struct {
	Name            string
	Address         []string // one line each
	Phone           string
	OutOfHours      string // for the night, weekends and holidays
	EmergencyNumber string // the public one, such as 112; "" = that of the region
	Region          string // the clinic's, ISO 3166-1 or 3166-2: paper, and emergency number; "" = A4, and "your local emergency number"
}

// draft reports whether no surgeon has approved the plan yet.
func (l Letter) draft() bool { return l.Approval == Approval{} }

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

// Filled is a letter whose every sentence is made, ready to print in any form.
// Its zero value is of no use: see Templates.Fill.
type Filled struct {
	sheet *sheet
	forms *forms
	kind  string // letter or referrer: its layout files
}

// usualBytes is how much room a letter is given.
const usualBytes = 40 << 10

// Fill checks the patient's letter and makes its sentences. An error of type
// *graft.Refusal says why there can be no letter.
func (t *Templates) Fill(l Letter) (Filled, error) { return t.fill(l, "letter") }

// FillReferrer is Fill for the letter to the dentist who sent the patient: what was done,
// and when the restoration may start.
func (t *Templates) FillReferrer(l Letter) (Filled, error) { return t.fill(l, "referrer") }

func (t *Templates) fill(l Letter, kind string) (Filled, error) {
	forms, words, err := t.formsFor(l.Case.Patient.Language)
	if err != nil {
		return Filled{}, err
	}
	if err := check(l); err != nil {
		return Filled{}, err
	}
	s, err := fillAll(l, forms, words)
	if err != nil {
		return Filled{}, err
	}
	return Filled{s, forms, kind}, nil
}

// WriteHTML writes the letter as one HTML page. The same letter gives the same
// bytes.
func (f Filled) WriteHTML(w io.Writer) error {
	var out bytes.Buffer
	out.Grow(usualBytes)
	if err := f.forms.pages.ExecuteTemplate(&out, f.kind+".html", f.sheet); err != nil {
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
	if err := f.forms.texts.ExecuteTemplate(&out, f.kind+".txt", f.sheet); err != nil {
		return fmt.Errorf("fill the letter's text: %w", err)
	}
	_, err := io.WriteString(w, wrapText(out.String()))
	return err
}
