package letter

import "strings"

type entryWords struct {
	Booked, Window string
	BookedSays     string `yaml:"booked_says"`
	WindowSays     string `yaml:"window_says"`
	DraftSays      string `yaml:"draft_says"`
}

type mailWords struct {
	New, Moved, Off mailOf
	Place, Add      string
	Cannot, Letter  string
	Chose           string
}

type mailOf struct{ Subject, Says string }

// Entry is a title and a text in a calendar.
type Entry struct{ Title, Text string }

// Booked is a booked visit in the patient's calendar, in words that tell nothing of
// the operation.
func (w Words) Booked(clinic, phone string) Entry {
	return Entry{fill(w.w.Entry.Booked, "clinic", clinic), fill(w.w.Entry.BookedSays, "phone", phone)}
}

// Window is a visit that waits to be booked, in such words.
func (w Words) Window(clinic, phone string) Entry {
	return Entry{fill(w.w.Entry.Window, "clinic", clinic), fill(w.w.Entry.WindowSays, "phone", phone)}
}

// DraftNote says that no surgeon has approved the plan.
func (w Words) DraftNote() string { return w.w.Entry.DraftSays }

// Change is what a mail tells of one visit.
type Change struct {
	Clinic, Address, Phone string
	When                   Booking // the zero Booking: the visit is off
	Was                    Booking // where it stood before; the zero Booking: it is new
	Letter                 bool    // the letter comes along
}

// Mail is the text that goes with an invitation, one paragraph a line.
func (w Words) Mail(c Change) (subject, text string) {
	m, of := w.w.Mail, w.w.Mail.Moved
	switch {
	case c.When == Booking{}:
		of = m.Off
	case c.Was == Booking{}:
		of = m.New
	}
	pairs := []string{"clinic", c.Clinic, "when", w.at(c.When), "was", w.at(c.Was), "address", c.Address, "phone", c.Phone}
	lines := []string{fill(of.Says, pairs...)}
	if c.When != (Booking{}) {
		lines = append(lines, fill(m.Place, pairs...), m.Add, fill(m.Cannot, pairs...))
	} else {
		lines = append(lines, m.Add)
	}
	if c.Letter {
		lines = append(lines, m.Letter)
	}
	lines = append(lines, m.Chose)
	return fill(of.Subject, pairs...), wrapText(strings.Join(lines, "\n\n") + "\n")
}

// at is a day with its time, in the language's own form.
func (w Words) at(b Booking) string {
	if b == (Booking{}) {
		return ""
	}
	return fill(w.w.Dates.WithTime, "day", w.w.day(b.Day), "time", b.Start.String())
}
