package desk

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/letter"
)

// Format is a form of a letter.
type Format string

// The formats of letters.
const (
	HTML Format = "html"
	Text Format = "text"
	PDF  Format = "pdf"
)

// Formats are all formats of letters.
var Formats = []Format{HTML, Text, PDF}

// Reader is who reads a letter.
type Reader string

// The readers of letters.
const (
	ToPatient  Reader = "patient"
	ToReferrer Reader = "referrer"
)

// LetterAs says how a letter is wanted where that is not as the record has it.
type LetterAs struct {
	To       []Reader // empty: the patient
	Language string   // BCP 47; empty: the patient's
	Large    bool     // in large print, whatever the record says
	Formats  []Format // empty: all
}

// Letters writes the letters of a plan. While a stop finding stands, or something booked
// has to be settled, none is given out.
func (d *Desk) Letters(p Plan, as LetterAs) (Outputs, error) {
	var out Outputs
	if err := d.letterFiles(p, as, &out); err != nil {
		return out, err
	}
	data, err := JSON(p)
	out.Files = append(out.Files, File{TimelineJSON, data})
	return out, err
}

// letterFiles adds the letters of a plan, or says why there are none.
func (d *Desk) letterFiles(p Plan, as LetterAs, out *Outputs) error {
	if as.Language != "" {
		if _, err := d.Templates.WordsFor(as.Language); err != nil {
			return err // what somebody asks for, unlike what a record says, is refused
		}
	}
	for _, to := range or(as.To, ToPatient) {
		filled, why, err := d.FillLetter(p, to, as)
		if err != nil {
			return err
		}
		for _, format := range or(as.Formats, Formats...) {
			name := LetterFile(to, as, format)
			if why != "" {
				out.Held = append(out.Held, Held{name, why})
				continue
			}
			data, err := written(filled, format)
			var refusal *graft.Refusal
			if errors.As(err, &refusal) {
				out.Held = append(out.Held, Held{name, refusal.Message})
			} else if err != nil {
				return fmt.Errorf("write the letter: %w", err)
			} else {
				out.Files = append(out.Files, File{name, data})
			}
		}
	}
	return nil
}

func or[T any](list []T, others ...T) []T {
	if len(list) == 0 {
		return others
	}
	return list
}

// LetterFile is the name of a letter's file, which tells nothing of the case. A language
// or print that is not the patient's own is in it, so that the own one stays beside it.
func LetterFile(to Reader, as LetterAs, format Format) string {
	name := "letter"
	if to == ToReferrer {
		name = "referrer"
	}
	if as.Language != "" {
		name += "-" + as.Language
	}
	if as.Large {
		name += "-large"
	}
	return name + map[Format]string{HTML: ".html", Text: ".txt", PDF: ".pdf"}[format]
}

// FillLetter makes the sentences of a letter. Why says why there is none; it is empty for
// one that may be given out.
func (d *Desk) FillLetter(p Plan, to Reader, as LetterAs) (filled letter.Filled, why string, err error) {
	if why = p.heldBack(); why != "" {
		return filled, why, nil
	}
	l := d.letter(p)
	l.Case.Patient.Language = cmp.Or(as.Language, l.Case.Patient.Language)
	l.Case.Patient.LargePrint = l.Case.Patient.LargePrint || as.Large
	fill := d.Templates.Fill
	if to == ToReferrer {
		fill = d.Templates.FillReferrer
	}
	filled, err = fill(l)
	var refusal *graft.Refusal
	if errors.As(err, &refusal) {
		return filled, refusal.Message, nil
	} else if err != nil {
		return filled, "", fmt.Errorf("write the letter: %w", err)
	}
	return filled, "", nil
}

func written(f letter.Filled, format Format) ([]byte, error) {
	write := map[Format]func(letter.Filled, io.Writer) error{HTML: letter.Filled.WriteHTML, Text: letter.Filled.WriteText, PDF: letter.Filled.WritePDF}[format]
	var data bytes.Buffer
	err := write(f, &data)
	return data.Bytes(), err
}

// letter gathers what the letter says. It is a draft until a surgeon approves
// the plan.
func (d *Desk) letter(p Plan) letter.Letter {
	c := d.Clinic
	booked := map[graft.MilestoneID]letter.Booking{}
	for _, m := range p.Timeline.Milestones {
		if m.Booked {
			booked[m.ID] = booking(m.Slot)
		}
	}
	kase, next := p.Case.Case, d.nextVisit(p)
	if d.Clinic.Mail.From == "" {
		kase.Patient.Mail = graft.Mail{} // a clinic that sends no mail must not promise any
	} else if kase.Patient.Mail.Address != "" {
		next = letter.NextVisit{} // the invitation brings it; a scanned copy could stand beside it and stay when it moves
	}
	return letter.Letter{
		NextVisit:    next,
		Head:         letter.Letterhead{Name: c.Name, Address: c.Address, Phone: c.Phone, OutOfHours: c.OutOfHours, EmergencyNumber: c.EmergencyNumber, Region: c.Region},
		Case:         kase,
		Timeline:     p.Timeline,
		AfterCare:    c.AfterCare,
		Booked:       booked,
		Approval:     approval(p),
		Rules:        "graftclock " + p.Timeline.RulesVersion,
		Referrer:     kase.Surgery.Referrer,
		CalendarFile: PatientCalendar,
	}
}

// approval is the surgeon's word on the plan as it is; the zero one of a draft.
func approval(p Plan) letter.Approval {
	if p.Draft() {
		return letter.Approval{}
	}
	a := p.Standing.Approval
	return letter.Approval{By: a.By, On: day.Of(a.At)}
}
