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

// Booking is a slot in the clinic's diary. The zero Start prints no time.
type Booking struct {
	Day   day.Day
	Start day.Clock
}

// WriteHTML writes the letter as one HTML page. The same letter gives the same
// bytes. An error of type *graft.Refusal says why there can be no letter.
func WriteHTML(w io.Writer, l Letter) error {
	sheet, forms, err := prepare(l)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := forms.html.Execute(&out, sheet); err != nil {
		return fmt.Errorf("fill the letter's page: %w", err)
	}
	_, err = w.Write(out.Bytes())
	return err
}

// WriteText writes the letter as plain text, with the same words and days. A
// line has at most 72 characters and ends with a line feed; only a word that is
// itself too long makes a longer line, alone.
func WriteText(w io.Writer, l Letter) error {
	sheet, forms, err := prepare(l)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := forms.text.Execute(&out, sheet); err != nil {
		return fmt.Errorf("fill the letter's text: %w", err)
	}
	_, err = io.WriteString(w, wrapText(out.String()))
	return err
}

// prepare checks the letter and fills the sheet that both forms print.
func prepare(l Letter) (*sheet, *forms, error) {
	forms, err := formsFor(l.Case.Patient.Language)
	if err != nil {
		return nil, nil, err
	}
	if err := check(l); err != nil {
		return nil, nil, err
	}
	return newSheet(l, forms), forms, nil
}
