package ics

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// message is one booked visit as a message to the patient.
func message(method Method) Calendar {
	cal := patient()
	cal.Name, cal.Events = "", cal.Events[:1]
	cal.Method = method
	cal.Organizer = Party{"Harbour Row: front desk, first floor", "desk@harbourrow.example"}
	cal.Attendee = Party{`Nora "Nell" Fenwick`, "nora+visits@fenwick.example"}
	return cal
}

// lines returns the unfolded lines of a file that begin with one of the names.
func lines(data []byte, names ...string) string {
	var found []string
	all, _ := unfolded(data)
	for _, line := range all {
		for _, name := range names {
			if strings.HasPrefix(line, name+":") || strings.HasPrefix(line, name+";") {
				found = append(found, line)
			}
		}
	}
	return strings.Join(found, "\n")
}

func TestRequest(t *testing.T) {
	data := encode(t, message(Request))
	if complaints := Lint(data); complaints != nil {
		t.Error(complaints)
	}
	want := `METHOD:REQUEST
SEQUENCE:1
STATUS:CONFIRMED
ORGANIZER;CN="Harbour Row: front desk, first floor":mailto:desk@harbourrow.example
ATTENDEE;CN=Nora “Nell” Fenwick;PARTSTAT=NEEDS-ACTION;ROLE=REQ-PARTICIPANT;RSVP=FALSE:mailto:nora+visits@fenwick.example`
	if got := lines(data, "METHOD", "SEQUENCE", "STATUS", "ORGANIZER", "ATTENDEE"); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got := strings.Count(string(data), "BEGIN:VALARM"); got != 2 {
		t.Errorf("%d alarms, want 2", got)
	}
}

func TestCancellation(t *testing.T) {
	data := encode(t, message(Cancel))
	if complaints := Lint(data); complaints != nil {
		t.Error(complaints)
	}
	want := `METHOD:CANCEL
SEQUENCE:1
STATUS:CANCELLED
ORGANIZER;CN="Harbour Row: front desk, first floor":mailto:desk@harbourrow.example
ATTENDEE;CN=Nora “Nell” Fenwick;ROLE=REQ-PARTICIPANT:mailto:nora+visits@fenwick.example`
	if got := lines(data, "METHOD", "SEQUENCE", "STATUS", "ORGANIZER", "ATTENDEE"); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if bytes.Contains(data, []byte("VALARM")) {
		t.Error("a cancellation with an alarm")
	}
	// Every event of a cancellation is off, whatever is said of it.
	cal := message(Cancel)
	for _, status := range []Status{"", Tentative, Confirmed, Cancelled} {
		cal.Events[0].Status = status
		if again := encode(t, cal); !bytes.Equal(again, data) {
			t.Errorf("status %q changed the cancellation", status)
		}
	}
}

func TestWithoutMethodNobodyIsInvited(t *testing.T) {
	data := encode(t, message(""))
	if got := lines(data, "METHOD", "ORGANIZER", "ATTENDEE"); got != "" {
		t.Errorf("got %s", got)
	}
}

func TestMessageRefusals(t *testing.T) {
	tests := []struct {
		name, want string
		spoil      func(*Calendar)
	}{
		{"no such method", `method "PUBLISH"`, func(c *Calendar) { c.Method = "PUBLISH" }},
		{"line break in the method", "method", func(c *Calendar) { c.Method = "REQUEST\r\nX-A:1" }},
		{"two events", "one event", func(c *Calendar) { c.Events = append(c.Events, patient().Events[1]) }},
		{"no event", "no events", func(c *Calendar) { c.Events = nil }},
		{"request of what is cancelled", "no request", func(c *Calendar) { c.Events[0].Status = Cancelled }},
		{"no organizer", "organizer's address is empty", func(c *Calendar) { c.Organizer = Party{} }},
		{"no attendee", "attendee's address is empty", func(c *Calendar) { c.Attendee.Address = "" }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			cal := message(Request)
			tt.spoil(&cal)
			if _, err := Encode(cal); err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want an error with %q", err, tt.want)
			}
		})
	}
}

func TestAddresses(t *testing.T) {
	long := strings.Repeat("x", graft.MaxLocalPart)
	tests := []struct{ address, want string }{
		{"nora@fenwick.example", ""},
		{"n.o+r-a_1@mail.fenwick.example", ""},
		{"o'hara@localhost", ""},
		{"100%/?#&=^`{|}~@fenwick.example", ""},
		{long + "@fenwick.example", ""},
		{long + "x@fenwick.example", "too long"},
		{"nora@" + strings.Repeat("fenwick.", 40) + "example", "too long"},
		{"", "is empty"},
		{"nora", "one @"},
		{"nora@fen@wick.example", "one @"},
		{"@fenwick.example", "before the @"},
		{".nora@fenwick.example", "before the @"},
		{"no..ra@fenwick.example", "before the @"},
		{"nora;ROLE=CHAIR@fenwick.example", "before the @"},
		{"mailto:nora@fenwick.example", "before the @"},
		{`"nora"@fenwick.example`, "before the @"},
		{"a,b@fenwick.example", "before the @"},
		{"nöra@fenwick.example", "before the @"},
		{"Nora <nora@fenwick.example>", "control character or a space"},
		{"<nora@fenwick.example>", "before the @"},
		{"nora@", "after the @"},
		{"nora@fenwick..example", "after the @"},
		{"nora@fenwick.example.", "after the @"},
		{"nora@[192.0.2.1]", "after the @"},
		{"nora@fenwick.example>", "after the @"},
		{"nora@fenwick_.example", "after the @"},
		{"nora@fenwick.example\r\nBCC:x@y.example", "control character"},
		{"nora@fenwick.example\nX-A:1", "control character"},
		{"nora\x00@fenwick.example", "control character"},
		{"nora@fenwick.example ", "control character or a space"},
		{"nora\u00a0@fenwick.example", "control character or a space"},
		{"nora\u2028@fenwick.example", "control character or a space"},
		{"nora\xff@fenwick.example", "before the @"},
	}
	for _, tt := range tests {
		for role, of := range map[string]func(*Calendar) *Party{
			"organizer": func(c *Calendar) *Party { return &c.Organizer }, "attendee": func(c *Calendar) *Party { return &c.Attendee },
		} {
			cal := message(Request)
			of(&cal).Address = tt.address
			data, err := Encode(cal)
			if tt.want == "" && (err != nil || Lint(data) != nil) {
				t.Errorf("%s %q: %v, %v", role, tt.address, err, Lint(data))
			}
			if tt.want != "" && (err == nil || !strings.Contains(err.Error(), role+"'s address") || !strings.Contains(err.Error(), tt.want)) {
				t.Errorf("%s %q: got %v, want an error with %q", role, tt.address, err, tt.want)
			}
		}
	}
}

func TestAddressAsURI(t *testing.T) {
	for address, want := range map[string]string{
		"nora+visits@fenwick.example": "mailto:nora+visits@fenwick.example",
		"50%&=/?#@x.example":          "mailto:50%25%26%3D%2F%3F%23@x.example",
		"a^`{|}b@x.example":           "mailto:a%5E%60%7B%7C%7Db@x.example",
		"o'hara!$*_~@x.example":       "mailto:o'hara!$*_~@x.example",
	} {
		if got := (Party{Address: address}).uri(); got != want {
			t.Errorf("%s: got %s, want %s", address, got, want)
		}
	}
}

func TestNamesOfParties(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"plain", "Nora Fenwick", "Nora Fenwick"},
		{"apostrophe stays", "Teni O'Kafor", "Teni O'Kafor"},
		{"quotes become typographic", `the "Row" ("desk")`, "the “Row” (“desk”)"},
		{"a quote alone", `6" left`, "6” left"},
		{"no circumflex, no backslash", `a^n\b`, "aˆn/b"},
		{"one line", "Nora\r\nFenwick\tjunior", "Nora Fenwick junior"},
		{"no control characters", "Nora\x00\x1b Fenwick", "Nora Fenwick"},
		{"nothing to see", " \n\x07 ", ""},
		{"bad UTF-8", "Nora\xff", "Nora\ufffd"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := (Party{Name: tt.in}).commonName(); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
	cal := message(Request)
	cal.Attendee.Name, cal.Organizer.Name = "", "\n"
	if data := encode(t, cal); bytes.Contains(data, []byte("CN=")) {
		t.Errorf("an empty name was written\n%s", data)
	}
}

func TestOwnStampComesFirst(t *testing.T) {
	own := time.Date(2027, 2, 3, 4, 5, 6, 0, time.UTC)
	cal := patient()
	cal.Events[1].Stamp = own
	data := encode(t, cal)
	want := "DTSTAMP:20270104T081530Z\nLAST-MODIFIED:20270104T081530Z\nDTSTAMP:20270203T040506Z\nLAST-MODIFIED:20270203T040506Z\nDTSTAMP:20270104T081530Z\nLAST-MODIFIED:20270104T081530Z"
	if got := lines(data, "DTSTAMP", "LAST-MODIFIED"); got != want {
		t.Errorf("got\n%s", got)
	}
	cal.Stamp = time.Time{}
	_, err := Encode(cal)
	if err == nil || !strings.Contains(err.Error(), "event 1: no stamp") || strings.Contains(err.Error(), "event 2") || !strings.Contains(err.Error(), "event 3: no stamp") {
		t.Errorf("got %v, want events 1 and 3 refused", err)
	}
	for i := range cal.Events {
		cal.Events[i].Stamp = own
	}
	if got := lines(encode(t, cal), "DTSTAMP"); strings.Count(got, "DTSTAMP:20270203T040506Z") != 3 {
		t.Errorf("got\n%s", got)
	}
}

func TestRefresh(t *testing.T) {
	for refresh, want := range map[time.Duration]string{
		30 * time.Minute: "PT30M", time.Hour: "PT1H", 6 * time.Hour: "PT6H", 90 * time.Minute: "PT1H30M", 24 * time.Hour: "P1D",
		25*time.Hour + time.Minute: "P1DT1H1M", 7 * 24 * time.Hour: "P7D", 24*time.Hour + 5*time.Minute: "P1DT5M",
	} {
		cal := patient()
		cal.Refresh = refresh
		data := encode(t, cal)
		if got, want := lines(data, "REFRESH-INTERVAL", "X-PUBLISHED-TTL"), "REFRESH-INTERVAL;VALUE=DURATION:"+want+"\nX-PUBLISHED-TTL:"+want; got != want {
			t.Errorf("%s: got %s, want %s", refresh, got, want)
		}
		if complaints := Lint(data); complaints != nil {
			t.Errorf("%s: %v", refresh, complaints)
		}
	}
	if got := lines(encode(t, patient()), "REFRESH-INTERVAL", "X-PUBLISHED-TTL"); got != "" {
		t.Errorf("no refresh: got %s", got)
	}
	for _, refresh := range []time.Duration{-time.Hour, time.Second, time.Hour + time.Millisecond} {
		cal := patient()
		cal.Refresh = refresh
		if _, err := Encode(cal); err == nil || !strings.Contains(err.Error(), "whole minutes") {
			t.Errorf("%s: got %v", refresh, err)
		}
	}
}

// A message is the same event as in the file, so that a program that knows the one
// knows the other.
func TestMessageAndFileNameTheSameEvent(t *testing.T) {
	file, asked, off := encode(t, message("")), encode(t, message(Request)), encode(t, message(Cancel))
	want := lines(file, "UID", "DTSTART", "DTEND", "SEQUENCE", "DTSTAMP")
	for name, data := range map[string][]byte{"request": asked, "cancellation": off} {
		if got := lines(data, "UID", "DTSTART", "DTEND", "SEQUENCE", "DTSTAMP"); got != want {
			t.Errorf("%s:\n%s\nwant\n%s", name, got, want)
		}
	}
}

func TestAllDayMessage(t *testing.T) {
	cal := message(Request)
	cal.Zone = ""
	cal.Events[0].Start, cal.Events[0].Minutes, cal.Events[0].LastDay = 0, 0, day.New(2027, 1, 15)
	if complaints := Lint(encode(t, cal)); complaints != nil {
		t.Error(complaints)
	}
}
