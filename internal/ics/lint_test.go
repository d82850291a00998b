package ics

import (
	"strings"
	"testing"
)

// sound is a file without fault; each case below spoils one thing in it.
const sound = `BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//graftclock//test//EN
METHOD:PUBLISH
BEGIN:VTIMEZONE
TZID:Europe/Dublin
BEGIN:STANDARD
DTSTART:19701025T020000
RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU
TZOFFSETFROM:+0100
TZOFFSETTO:+0000
TZNAME:GMT
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:19700329T010000
RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU
TZOFFSETFROM:+0000
TZOFFSETTO:+0100
TZNAME:IST
END:DAYLIGHT
END:VTIMEZONE
BEGIN:VEVENT
UID:1
DTSTAMP:20270104T081530Z
DTSTART;TZID=Europe/Dublin:20270114T083000
DTEND;TZID=Europe/Dublin:20270114T100000
SUMMARY:Visit\, 診療 🦷\; card \\ note\n
LOCATION:Room 2
STATUS:CONFIRMED
SEQUENCE:1
ORGANIZER;CN="Harbour: Row, desk":mailto:desk@harbourrow.example
BEGIN:VALARM
ACTION:DISPLAY
TRIGGER:-P3D
DESCRIPTION:Visit
END:VALARM
END:VEVENT
BEGIN:VEVENT
UID:2
DTSTAMP:20270104T081530Z
DTSTART;VALUE=DATE:20270628
DTEND;VALUE=DATE:20270710
SUMMARY:Window
ORGANIZER:mailto:desk@harbourrow.example
END:VEVENT
END:VCALENDAR
`

// crlf makes the lines of a test file end as they must.
func crlf(text string) []byte { return []byte(strings.ReplaceAll(text, "\n", "\r\n")) }

// lineOf is the line of sound at which text first occurs.
func lineOf(text string) int { return 1 + strings.Count(sound[:strings.Index(sound, text)], "\n") }

func TestSoundFileHasNoFault(t *testing.T) {
	if complaints := Lint(crlf(sound)); complaints != nil {
		t.Error(complaints)
	}
}

// Odd, but as the standards have it.
func TestLintLetsPass(t *testing.T) {
	tests := []struct{ name, old, new string }{
		{"parameter value in small letters", "DTSTART;VALUE=DATE:", "DTSTART;value=date:"},
		{"title of no standard", "METHOD", "X-WR-CALNAME:Harbour Row, desk\nMETHOD"},
		{"rule, exceptions, more times", "LOCATION", "RRULE:INTERVAL=2;FREQ=WEEKLY;BYDAY=MO,TH\n" +
			"EXDATE;TZID=Europe/Dublin:20270128T083000,20270211T083000\n" +
			"RDATE;VALUE=PERIOD:20270115T083000Z/PT1H,20270116T083000Z/20270116T090000Z\nLOCATION"},
		{"place", "LOCATION", "GEO:53.35;-6.26\nLOCATION"},
		{"address of another kind", "ORGANIZER:mailto:desk@harbourrow.example", "ORGANIZER:urn:uuid:7f3c2b1a-0000-4000-8000-000000000000"},
		{"line folded in a long gap", "LOCATION:Room 2", "LOCATION:Room" + strings.Repeat(" ", 75-len("LOCATION:Room")) + "\n" + strings.Repeat(" ", 75) + "\n  2"},
		{"names in small letters", "DTSTAMP:20270104T081530Z", "dtstamp:20270104T081530Z"},
	}
	for _, tt := range tests {
		if !strings.Contains(sound, tt.old) {
			t.Fatalf("the sound file has no %q", tt.old)
		}
		if complaints := Lint(crlf(strings.Replace(sound, tt.old, tt.new, 1))); complaints != nil {
			t.Errorf("%s: %v", tt.name, complaints)
		}
	}
}

// Each case replaces the first occurrence of a text.
func TestLintFindsOneFault(t *testing.T) {
	const second = "BEGIN:VEVENT\nUID:2"
	tests := []struct{ name, old, new, says string }{
		{"no VERSION", "VERSION:2.0\n", "", "no VERSION"},
		{"VERSION 1.0", "VERSION:2.0", "VERSION:1.0", "want 2.0"},
		{"two VERSIONs", "VERSION:2.0", "VERSION:2.0\nVERSION:2.0", "second VERSION"},
		{"no PRODID", "PRODID:-//graftclock//test//EN\n", "", "no PRODID"},
		{"unknown METHOD", "METHOD:PUBLISH", "METHOD:SEND", `METHOD "SEND" is unknown`},
		{"another calendar", "METHOD:PUBLISH", "METHOD:PUBLISH\nCALSCALE:JULIAN", "want GREGORIAN"},
		{"no UID", "UID:1\n", "", "no UID"},
		{"no DTSTAMP", "DTSTAMP:20270104T081530Z\n", "", "no DTSTAMP"},
		{"DTSTAMP on a wall clock", "DTSTAMP:20270104T081530Z", "DTSTAMP:20270104T081530", "not in UTC"},
		{"no DTSTART", "DTSTART;TZID=Europe/Dublin:20270114T083000\n", "", "no DTSTART"},
		{"TZID with Z", "T083000\n", "T083000Z\n", "not on the clocks"},
		{"TZID with a day", "DTSTART;VALUE=DATE:", "DTSTART;VALUE=DATE;TZID=Europe/Dublin:", "not on the clocks"},
		{"day that is none", "20270114T083000", "20270231T083000", "no day or time"},
		{"day in another form", "20270114T083000", "2027-01-14T08:30:00", "no day or time"},
		{"date-time called a day", "DTEND;VALUE=DATE:20270710", "DTEND;VALUE=DATE:20270710T000000", "no day or time"},
		{"end is a time, start a day", "DTEND;VALUE=DATE:20270710", "DTEND:20270710T000000Z", "another kind"},
		{"end on every clock, start on one", "DTEND;TZID=Europe/Dublin:", "DTEND:", "another kind"},
		{"end before the start", "20270114T100000", "20270114T073000", "not after"},
		{"end at the start", "20270114T100000", "20270114T083000", "not after"},
		{"day ends on itself", "DATE:20270710", "DATE:20270628", "not after"},
		{"DTEND and DURATION", "LOCATION", "DURATION:PT45M\nLOCATION", "both DTEND and DURATION"},
		{"DURATION that is none", "DTEND;VALUE=DATE:20270710", "DURATION:45M", "no length of time"},
		{"unknown STATUS", "STATUS:CONFIRMED", "STATUS:NO-SHOW", `STATUS "NO-SHOW" is unknown`},
		{"unknown TRANSP", "LOCATION", "TRANSP:MAYBE\nLOCATION", `TRANSP "MAYBE" is unknown`},
		{"SEQUENCE in words", "SEQUENCE:1", "SEQUENCE:one", "no whole number"},
		{"SEQUENCE below 0", "SEQUENCE:1", "SEQUENCE:-1", "no whole number"},
		{"GEO in another form", "LOCATION", "GEO:1e-05;12.5\nLOCATION", "no latitude"},
		{"GEO of one number", "LOCATION", "GEO:53.3\nLOCATION", "no latitude"},
		{"two PRIORITYs", "LOCATION", "PRIORITY:1\nPRIORITY:2\nLOCATION", "second PRIORITY"},
		{"rule of another frequency", "LOCATION", "RRULE:FREQ=FORTNIGHTLY\nLOCATION", "no rule"},
		{"rule without a frequency", "LOCATION", "RRULE:COUNT=3;BYDAY=MO\nLOCATION", "no rule"},
		{"rule with an empty part", "LOCATION", "RRULE:FREQ=DAILY;;COUNT=3\nLOCATION", "no rule"},
		{"exception in a zone without VTIMEZONE", "LOCATION", "EXDATE;TZID=Europe/Berlin:20270121T083000\nLOCATION", "has no VTIMEZONE"},
		{"second exception of another form", "LOCATION", "EXDATE:20270121T083000Z,20270122\nLOCATION", "no day or time"},
		{"time of a period that is none", "LOCATION", "RDATE;VALUE=PERIOD:20270231T083000Z/PT1H\nLOCATION", "no day or time"},
		{"instance in a zone with Z", "LOCATION", "RECURRENCE-ID;TZID=Europe/Dublin:20270114T083000Z\nLOCATION", "not on the clocks"},
		{"two summaries", "LOCATION", "SUMMARY:x\nLOCATION", "second SUMMARY"},
		{"same UID", "UID:2", "UID:1", "same UID"},
		{"comma not escaped", "LOCATION:Room 2", "LOCATION:Room 2, left", "not escaped"},
		{"semicolon not escaped", "LOCATION:Room 2", "LOCATION:Room 2; left", "not escaped"},
		{"backslash before nothing", "LOCATION:Room 2", `LOCATION:Room 2\`, "escapes nothing"},
		{"backslash before a letter", "LOCATION:Room 2", `LOCATION:C:\room`, "escapes nothing"},
		{"alarm without TRIGGER", "TRIGGER:-P3D\n", "", "no TRIGGER"},
		{"alarm without DESCRIPTION", "DESCRIPTION:Visit\n", "", "no DESCRIPTION"},
		{"alarm without ACTION", "ACTION:DISPLAY\n", "", "no ACTION"},
		{"TRIGGER that is none", "TRIGGER:-P3D", "TRIGGER:-3D", "no length of time"},
		{"TRIGGER of nothing", "TRIGGER:-P3D", "TRIGGER:-P", "no length of time"},
		{"TRIGGER at a wall-clock time", "TRIGGER:-P3D", "TRIGGER;VALUE=DATE-TIME:20270111T083000", "not in UTC"},
		{"TZID without a zone", "DTEND;TZID=Europe/Dublin", "DTEND;TZID=Europe/Cork", "has no VTIMEZONE"},
		{"zone without a name", "TZID:Europe/Dublin\n", "", "no TZID"},
		{"bad offset", "TZOFFSETTO:+0000", "TZOFFSETTO:0", "no offset"},
		{"offset of minus nothing", "TZOFFSETTO:+0000", "TZOFFSETTO:-0000", "no offset"},
		{"offset missing", "TZOFFSETTO:+0000\n", "", "no TZOFFSETTO"},
		{"zone starts in UTC", "DTSTART:19701025T020000", "DTSTART:19701025T020000Z", "plain wall-clock"},
		{"list of onsets", "TZNAME:GMT", "RDATE:19711031T020000\nTZNAME:GMT", "RDATE"},
		{"rule of another kind", "FREQ=YEARLY;BYMONTH=10", "FREQ=DAILY;BYMONTH=10", "not yearly"},
		{"refresh without its kind", "METHOD", "REFRESH-INTERVAL:PT6H\nMETHOD", "VALUE=DURATION"},
		{"refresh that is none", "METHOD", "REFRESH-INTERVAL;VALUE=DURATION:6H\nMETHOD", "no length of time to wait"},
		{"refresh at once", "METHOD", "X-PUBLISHED-TTL:PT0S\nMETHOD", "no length of time to wait"},
		{"refresh before the last", "METHOD", "X-PUBLISHED-TTL:-PT6H\nMETHOD", "no length of time to wait"},
		{"two refreshes", "METHOD", "X-PUBLISHED-TTL:PT6H\nX-PUBLISHED-TTL:PT1H\nMETHOD", "second X-PUBLISHED-TTL"},
		{"event without a METHOD's ORGANIZER", "ORGANIZER:mailto:desk@harbourrow.example\n", "", "one ORGANIZER"},
		{"guest of a published event", "LOCATION", "ATTENDEE:mailto:p@harbourrow.example\nLOCATION", "no ATTENDEE"},
		{"address without a scheme", "ORGANIZER:mailto:", "ORGANIZER:", "no address"},
		{"colon without quotes", `CN="Harbour: Row, desk"`, "CN=Harbour: Row", "no address"},
		{"backslash in a parameter", `CN="Harbour: Row, desk"`, `CN=Row\, desk`, "backslash in CN"},
		{"quotes without end", `desk":`, "desk:", "do not end"},
		{"quote in the middle", `CN="Harbour: Row, desk"`, `CN=a"b"`, "after CN"},
		{"parameter without a value", "ORGANIZER:mailto:", "ORGANIZER;CN:mailto:", "no name"},
		{"parameter without a colon", "LOCATION:Room 2", "LOCATION;X=Room 2", "no colon"},
		{"line without a colon", "LOCATION:Room 2", "LOCATION", "no property name"},
		{"name with a space", "LOCATION:Room 2", "LOC ATION:Room 2", "no property name"},
		{"line break in a text", "LOCATION:Room 2", "LOCATION:Room\n2", "no property name"},
		{"blank line", second, "\n" + second, "blank"},
		{"line of spaces", second, "  \n" + second, "blank"},
		{"empty line behind a full one", "Room 2", strings.Repeat("x", 75-len("LOCATION:")) + "\n", "blank"},
		{"NUL", "Room 2", "Room\x00 2", "0x00"},
		{"carriage return", "Room 2", "Room\r2", "0x0d"},
		{"delete", "Room 2", "Room\x7f2", "0x7f"},
		{"bad UTF-8", "Room 2", "Room \xfc", "not UTF-8"},
		{"line of 76 octets", "Room 2", strings.Repeat("x", 76-len("LOCATION:")), "76 octets"},
		{"continuation of 76 octets", "Room 2", "Room\n " + strings.Repeat("x", 75), "76 octets"},
		{"no END of the calendar", "END:VCALENDAR\n", "", "has no END"},
		{"no END of an alarm", "END:VALARM\n", "", "does not match"},
		{"END of nothing", second, "END:VTODO\n" + second, "does not match"},
		{"property before the calendar", "BEGIN:VCALENDAR", "X-A:1\nBEGIN:VCALENDAR", "outside"},
		{"event after the calendar", "END:VCALENDAR", "END:VCALENDAR\nBEGIN:VEVENT\nEND:VEVENT", "outside"},
		{"second calendar", "END:VCALENDAR", "END:VCALENDAR\nBEGIN:VCALENDAR\nEND:VCALENDAR", "second VCALENDAR"},
		{"stray part of a zone", "BEGIN:STANDARD", "BEGIN:VEVENT\nEND:VEVENT\nBEGIN:STANDARD", "VEVENT in a VTIMEZONE"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if !strings.Contains(sound, tt.old) {
				t.Fatalf("the sound file has no %q", tt.old)
			}
			complaints := Lint(crlf(strings.Replace(sound, tt.old, tt.new, 1)))
			for _, c := range complaints {
				if strings.Contains(c.Says, tt.says) {
					return
				}
			}
			t.Errorf("got %v, want a complaint with %q", complaints, tt.says)
		})
	}
}

func TestLintOfWholeFiles(t *testing.T) {
	events := sound[strings.Index(sound, "BEGIN:VEVENT"):]
	zone := sound[strings.Index(sound, "BEGIN:STANDARD"):strings.Index(sound, "END:VTIMEZONE")]
	tests := []struct {
		name string
		data []byte
		says string
	}{
		{"empty file", nil, "empty"},
		{"web page", []byte("<html>no calendar</html>\n"), "no VCALENDAR"},
		{"line feeds only", []byte(sound), "CR LF"},
		{"no end of the last line", crlf(strings.TrimSuffix(sound, "\n")), "CR LF"},
		{"byte order mark", append([]byte("\xef\xbb\xbf"), crlf(sound)...), "byte order mark"},
		{"fold within a character", []byte(strings.Replace(string(crlf(sound)), "診", "\xe8\xa8\r\n \xba", 1)), "cuts a character"},
		{"starts with a continuation", append([]byte(" x\r\n"), crlf(sound)...), "continuation"},
		{"calendar without parts", crlf(strings.Replace(sound, sound[strings.Index(sound, "BEGIN:VTIMEZONE"):], "END:VCALENDAR\n", 1)), "calendar is empty"},
		{"zone without parts", crlf(strings.Replace(sound, zone, "", 1)), "VTIMEZONE \"Europe/Dublin\" is empty"},
		{"zone twice", crlf(strings.Replace(sound, "BEGIN:VEVENT", "BEGIN:VTIMEZONE\nTZID:Europe/Dublin\n"+zone+"END:VTIMEZONE\nBEGIN:VEVENT", 1)), "second VTIMEZONE"},
		{"no zone", crlf(strings.Replace(sound, sound[strings.Index(sound, "BEGIN:VTIMEZONE"):strings.Index(sound, "BEGIN:VEVENT")], "", 1)), "has no VTIMEZONE"},
		{"components without end in one another", []byte("BEGIN:VCALENDAR\r\n" + strings.Repeat("BEGIN:VALARM\r\n", 500_000)), "too deep"},
		{"cut short", crlf(sound[:len(sound)-len(events)/2]), "has no END"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			complaints := Lint(tt.data)
			for _, c := range complaints {
				if strings.Contains(c.Says, tt.says) {
					return
				}
			}
			t.Errorf("got %v, want a complaint with %q", complaints, tt.says)
		})
	}
}

func TestLintNamesTheLine(t *testing.T) {
	folded := strings.Replace(sound, "Room 2", "Roo\n m\n  2, left", 1)
	complaints := Lint(crlf(strings.Replace(folded, "UID:2", "UID:1", 1)))
	want := []Complaint{
		{lineOf("LOCATION"), "LOCATION: a comma or semicolon is not escaped"},
		{lineOf("UID:2") + 2, "the same UID as the event in line 22"},
	}
	if len(complaints) != 2 || complaints[0] != want[0] || complaints[1] != want[1] {
		t.Errorf("got %v, want %v", complaints, want)
	}
	if got := want[0].String(); got != "line 28: LOCATION: a comma or semicolon is not escaped" {
		t.Errorf("String: %s", got)
	}
}
