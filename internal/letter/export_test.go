package letter

import "graftclock/internal/day"

// Spell is a day as the letter spells it, with its year; for the tests that look at
// letters from outside.
func (w Words) Spell(d day.Day) string { return w.w.day(d) }

// DraftWord is the word that stands on every page of a draft.
func (w Words) DraftWord() string { return w.w.Draft.Word }

// ContactHeading stands in the text form alone: the PDF has the numbers at the head of
// each page.
func (w Words) ContactHeading() string { return w.w.Labels.Contact }

// BookedWord is what the letter calls a visit that is booked.
func (w Words) BookedWord() string { return w.w.Status.Booked }

// ForPatients are the sentences of after-care, which the patient's letter alone has.
func (w Words) ForPatients() []string {
	all := append([]string{w.w.Mask, w.w.Headings.Do, w.w.Headings.SameDay, w.w.Headings.Emergency}, w.w.Do...)
	all = append(all, w.w.Limits.NoDate...)
	for _, says := range w.w.Limits.Dated {
		all = append(all, says)
	}
	for _, s := range w.w.Signs {
		for _, says := range []string{s.Normal, s.SameDay, s.Emergency} {
			if says != "" {
				all = append(all, says)
			}
		}
	}
	return all
}
