package letter

import "strings"

type entryWords struct {
	Booked, Window string
	BookedPlain    string `yaml:"booked_plain"`
	WindowPlain    string `yaml:"window_plain"`
	BookedSays     string `yaml:"booked_says"`
	WindowSays     string `yaml:"window_says"`
	OffSays        string `yaml:"off_says"`
	DraftSays      string `yaml:"draft_says"`
	DraftName      string `yaml:"draft_name"`
}

type mailWords struct {
	New, Moved, Off mailOf
	Place, Letter   string
	Chose           string
}

// mailOf are the words of a mail of one kind: what has become of the visit, what the
// invitation in the mail does with the calendar, and when to call.
type mailOf struct{ Subject, Says, Open, Call string }

// Entry is a title and a text in a calendar.
type Entry struct{ Title, Text string }

// Booked is a booked visit in the patient's calendar. Its title names the visit, if one
// is given; otherwise the words tell nothing of the operation.
func (w Words) Booked(clinic, phone, visit string) Entry {
	e := w.w.Entry
	return Entry{title(e.Booked, e.BookedPlain, clinic, visit), fill(e.BookedSays, "phone", phone)}
}

// Window is a visit that waits to be booked, in such words. Its title differs from that
// of a booked one from the first letter on: a month's view shows little more.
func (w Words) Window(clinic, phone, visit string) Entry {
	e := w.w.Entry
	return Entry{title(e.Window, e.WindowPlain, clinic, visit), fill(e.WindowSays, "phone", phone)}
}

func title(neutral, plain, clinic, visit string) string {
	if visit == "" {
		return fill(neutral, "clinic", clinic)
	}
	return fill(plain, "clinic", clinic, "visit", visit)
}

// Off is the text of a visit in the patient's calendar that is off.
func (w Words) Off(phone string) string { return fill(w.w.Entry.OffSays, "phone", phone) }

// DraftNote says that no surgeon has approved the plan.
func (w Words) DraftNote() string { return w.w.Entry.DraftSays }

// CalendarName is what the patient's calendar is called.
func (w Words) CalendarName(clinic string, draft bool) string {
	if draft {
		return fill(w.w.Entry.DraftName, "clinic", clinic)
	}
	return clinic
}

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
	pairs := []string{"clinic", c.Clinic, "when", w.w.at(c.When), "was", w.w.at(c.Was), "address", c.Address, "phone", c.Phone}
	lines := []string{fill(of.Says, pairs...)}
	if c.When != (Booking{}) {
		lines = append(lines, fill(m.Place, pairs...))
	}
	lines = append(lines, of.Open, fill(of.Call, pairs...))
	if c.Letter {
		lines = append(lines, m.Letter)
	}
	lines = append(lines, m.Chose)
	return fill(of.Subject, pairs...), wrapText(strings.Join(lines, "\n\n") + "\n")
}
