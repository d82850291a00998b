package ics

import (
	"strings"
	"testing"
)

// asks is a message without fault; each case below spoils one thing in it.
const asks = `BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//graftclock//test//EN
METHOD:REQUEST
BEGIN:VEVENT
UID:1
DTSTAMP:20270104T081530Z
DTSTART:20270114T083000Z
DTEND:20270114T100000Z
SUMMARY:Visit
STATUS:CONFIRMED
SEQUENCE:1
ORGANIZER;CN=Harbour Row:mailto:desk@harbourrow.example
ATTENDEE;CN=Nora Fenwick:mailto:nora@fenwick.example
BEGIN:VALARM
ACTION:DISPLAY
TRIGGER:-P3D
DESCRIPTION:Visit
END:VALARM
END:VEVENT
END:VCALENDAR
`

// takesBack is the same message as a cancellation.
var takesBack = strings.NewReplacer("REQUEST", "CANCEL", "CONFIRMED", "CANCELLED",
	asks[strings.Index(asks, "BEGIN:VALARM"):strings.Index(asks, "END:VEVENT")], "").Replace(asks)

// again is another event of the same file.
func again(event, uid string) string {
	event = event[strings.Index(event, "BEGIN:VEVENT"):strings.Index(event, "END:VCALENDAR")]
	return strings.Replace(event, "UID:1", "UID:"+uid, 1)
}

func TestLintOfMessages(t *testing.T) {
	const organizer, guest = "ORGANIZER;CN=Harbour Row:mailto:desk@harbourrow.example\n", "ATTENDEE;CN=Nora Fenwick:mailto:nora@fenwick.example\n"
	const start, end = "DTSTART:20270114T083000Z\n", "DTEND:20270114T100000Z\n"
	without := func(text, line string) string { return strings.Replace(text, line, "", 1) }
	method := func(name string) string { return strings.Replace(asks, "METHOD:REQUEST", "METHOD:"+name, 1) }
	second := strings.Replace(again(asks, "1"), "UID:1", "UID:1\nRECURRENCE-ID:20270115T083000Z", 1)
	tests := []struct{ name, text, says string }{
		{"a sound request", asks, ""},
		{"a sound cancellation", takesBack, ""},
		{"a reply", method("REPLY"), ""},
		{"a reply that names no time", without(without(method("REPLY"), start), end), ""},
		{"a published event taken back", without(takesBack, guest), ""},
		{"a cancellation that names no time", without(without(takesBack, start), end), ""},
		{"a request that names no time", without(without(asks, start), end), "VEVENT has no DTSTART"},
		{"two instances of one UID", strings.Replace(asks, "END:VCALENDAR", second+"END:VCALENDAR", 1), ""},
		{"published without guest", without(method("PUBLISH"), guest), ""},
		{"published, two UIDs", strings.Replace(without(method("PUBLISH"), guest), "END:VCALENDAR", without(again(asks, "2"), guest)+"END:VCALENDAR", 1), ""},
		{"a meeting kept in a calendar", without(asks, "METHOD:REQUEST\n"), ""},
		{"an organizer's own entry", without(without(asks, "METHOD:REQUEST\n"), guest), ""},
		{"a guest of nobody", without(without(asks, "METHOD:REQUEST\n"), organizer), "an ATTENDEE but no ORGANIZER"},
		{"no such method", method("INVITE"), `METHOD "INVITE" is unknown`},
		{"method in small letters", method("request"), `METHOD "request" is unknown`},
		{"request without guest", without(asks, guest), "METHOD:REQUEST wants one ORGANIZER and an ATTENDEE"},
		{"request from nobody", without(asks, organizer), "METHOD:REQUEST wants one ORGANIZER and an ATTENDEE"},
		{"request from two", strings.Replace(asks, organizer, organizer+organizer, 1), "METHOD:REQUEST wants one ORGANIZER"},
		{"request of a cancelled event", strings.Replace(asks, "CONFIRMED", "CANCELLED", 1), "METHOD:REQUEST of a cancelled event"},
		{"request of two UIDs", strings.Replace(asks, "END:VCALENDAR", again(asks, "2")+"END:VCALENDAR", 1), "METHOD:REQUEST is about one UID only"},
		{"published with a guest", method("PUBLISH"), "METHOD:PUBLISH wants one ORGANIZER and no ATTENDEE"},
		{"reply of two", strings.Replace(method("REPLY"), guest, guest+guest, 1), "METHOD:REPLY wants one ORGANIZER and one ATTENDEE"},
		{"cancellation from nobody", without(takesBack, organizer), "METHOD:CANCEL wants one ORGANIZER and any ATTENDEEs"},
		{"cancellation without number", without(takesBack, "SEQUENCE:1\n"), "METHOD:CANCEL wants a SEQUENCE"},
		{"cancellation without status", without(takesBack, "STATUS:CANCELLED\n"), "METHOD:CANCEL wants a SEQUENCE and STATUS"},
		{"cancellation of a confirmed event", strings.Replace(takesBack, "CANCELLED", "CONFIRMED", 1), "METHOD:CANCEL wants a SEQUENCE and STATUS"},
		{"cancellation with an alarm", strings.NewReplacer("REQUEST", "CANCEL", "CONFIRMED", "CANCELLED").Replace(asks), "METHOD:CANCEL with an alarm"},
		{"cancellation of two UIDs", strings.Replace(takesBack, "END:VCALENDAR", again(takesBack, "2")+"END:VCALENDAR", 1), "METHOD:CANCEL is about one UID only"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			complaints := Lint(crlf(tt.text))
			if tt.says == "" && complaints == nil {
				return
			}
			if len(complaints) == 0 || tt.says == "" || !strings.Contains(complaints[0].Says, tt.says) {
				t.Errorf("got %v, want a complaint with %q", complaints, tt.says)
			}
		})
	}
}

// No reader of five flags what is spoilt here: only this linter can.
func TestLintFindsWhatReadersForgive(t *testing.T) {
	tests := []struct{ name, old, new string }{
		{"TZID with a time in UTC", "DTSTART:20270114T083000Z", "DTSTART;TZID=Europe/Berlin:20270114T083000Z"},
		{"end before the start", "DTEND:20270114T100000Z", "DTEND:20270114T073000Z"},
		{"day against time", "DTEND:20270114T100000Z", "DTEND;VALUE=DATE:20270115"},
		{"alarm without text", "DESCRIPTION:Visit\n", ""},
		{"two events of one UID", "END:VCALENDAR", again(asks, "1") + "END:VCALENDAR"},
		{"backslash in a name", "CN=Harbour Row", `CN=Row\, Dr.\: x`},
		{"colon in a name", "CN=Harbour Row", "CN=Harbour: Row"},
		{"colon in a name of one word", "CN=Harbour Row", "CN=Harbour:Row"},
		{"line too long", "SUMMARY:Visit", "SUMMARY:" + strings.Repeat("x", 3000)},
		{"method that is none", "METHOD:REQUEST", "METHOD:FOO"},
		{"comma and semicolon bare", "SUMMARY:Visit", "SUMMARY:a,b;c"},
		{"blank line", "BEGIN:VEVENT", "\nBEGIN:VEVENT"},
		{"version 1.0", "VERSION:2.0", "VERSION:1.0"},
	}
	for _, tt := range tests {
		if got := Lint(crlf(strings.Replace(asks, tt.old, tt.new, 1))); len(got) == 0 {
			t.Errorf("%s: nothing found", tt.name)
		}
	}
	if got := Lint([]byte(asks)); len(got) == 0 {
		t.Error("line feeds only: nothing found")
	}
	if got := Lint(crlf(asks)); got != nil {
		t.Errorf("the sound message: %v", got)
	}
}
