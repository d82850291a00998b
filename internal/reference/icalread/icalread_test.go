package icalread

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const good = `BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//graftclock//test//EN
BEGIN:VEVENT
UID:timed
DTSTAMP:20270104T080000Z
DTSTART:20270114T083000Z
DTEND:20270114T091500Z
SUMMARY:Sinus floor\, left
LOCATION:Room 2
STATUS:CONFIRMED
SEQUENCE:2
BEGIN:VALARM
ACTION:DISPLAY
DESCRIPTION:Sinus floor
TRIGGER:-P3D
END:VALARM
END:VEVENT
BEGIN:VEVENT
UID:all-day
DTSTAMP:20270104T080000Z
DTSTART;VALUE=DATE:20270301
DTEND;VALUE=DATE:20270308
SUMMARY:Window
DESCRIPTION:one\ntwo
TRANSP:TRANSPARENT
END:VEVENT
END:VCALENDAR
`

// message is a file of one event with both parties.
const message = `BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//graftclock//test//EN
METHOD:REQUEST
BEGIN:VEVENT
UID:asked
DTSTAMP:20270104T080000Z
DTSTART:20270114T083000Z
DTEND:20270114T091500Z
SUMMARY:Visit
SEQUENCE:3
ORGANIZER;CN="Harbour Row: desk, first floor; left":mailto:desk@harbourrow.example
ATTENDEE;CN=Nora “Nell” Fenwick;PARTSTAT=NEEDS-ACTION;ROLE=REQ-PARTICIPANT;RSVP=FALSE:mailto:nora@fenwick.example
ATTENDEE:mailto:teni@okafor.example
END:VEVENT
END:VCALENDAR
`

func file(t *testing.T, text string) string {
	path := filepath.Join(t.TempDir(), "calendar.ics")
	if err := os.WriteFile(path, []byte(strings.ReplaceAll(text, "\n", "\r\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestReadersSeeTheSameEvents(t *testing.T) {
	Check(t, map[string][]Event{file(t, good): {
		{UID: "timed", Start: "2027-01-14T08:30:00Z", End: "2027-01-14T09:15:00Z", Summary: "Sinus floor, left",
			Location: "Room 2", Status: "CONFIRMED", Sequence: 2, Alarms: []int{-3 * 24 * 60 * 60}},
		{UID: "all-day", Start: "2027-03-01", End: "2027-03-08", Summary: "Window", Description: "one\ntwo", Transparent: true},
	}, file(t, message): {{
		UID: "asked", Start: "2027-01-14T08:30:00Z", End: "2027-01-14T09:15:00Z", Summary: "Visit", Sequence: 3, Method: "REQUEST",
		Organizer: Party{"Harbour Row: desk, first floor; left", "mailto:desk@harbourrow.example"},
		Attendees: []Party{{"Nora “Nell” Fenwick", "mailto:nora@fenwick.example"}, {"", "mailto:teni@okafor.example"}},
	}}})
}

// zoned has a zone whose clocks say five hours more from May to September.
const zoned = `BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//graftclock//test//EN
BEGIN:VTIMEZONE
TZID:Harbour/Row
BEGIN:STANDARD
DTSTART:19700901T000000
RRULE:FREQ=YEARLY;BYMONTH=9;BYDAY=1TU
TZOFFSETFROM:+0800
TZOFFSETTO:+0300
TZNAME:HRT
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:19700501T000000
RRULE:FREQ=YEARLY;BYMONTH=5;BYDAY=1FR
TZOFFSETFROM:+0300
TZOFFSETTO:+0800
TZNAME:HRST
END:DAYLIGHT
END:VTIMEZONE
BEGIN:VEVENT
UID:1
DTSTAMP:20270104T080000Z
DTSTART;TZID=Harbour/Row:20270114T083000
DTEND;TZID=Harbour/Row:20270614T083000
SUMMARY:Long
END:VEVENT
END:VCALENDAR
`

func TestReadersReadTheZoneOfTheFile(t *testing.T) {
	Check(t, map[string][]Event{file(t, zoned): {{UID: "1", Start: "2027-01-14T05:30:00Z", End: "2027-06-14T00:30:00Z", Summary: "Long"}}})
}

func TestReadersNeedTheZone(t *testing.T) {
	from, to := strings.Index(zoned, "BEGIN:VTIMEZONE"), strings.Index(zoned, "BEGIN:VEVENT")
	without := file(t, zoned[:from]+zoned[to:])
	for _, reader := range []Reader{ICALJS, Go} { // the others take such a time for a floating one
		if got := Read(t, reader, without)[without]; len(got.Errors) == 0 {
			t.Errorf("%s: no error, events %v", reader, got.Events)
		}
	}
}

func TestReadersReportAFileThatIsNone(t *testing.T) {
	bad := file(t, strings.ReplaceAll(good, "DTSTART:20270114T083000Z", "DTSTART:14 January"))
	for reader, results := range All(t, bad, file(t, good)) {
		if len(results) != 2 || len(results[bad].Errors) == 0 {
			t.Errorf("%s: got %v, want an error for the first of two files", reader, results)
		}
	}
}
