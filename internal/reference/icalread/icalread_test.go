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
	}})
}

func TestReadersReportAFileThatIsNone(t *testing.T) {
	bad := file(t, strings.ReplaceAll(good, "DTSTART:20270114T083000Z", "DTSTART:14 January"))
	for reader, results := range All(t, bad, file(t, good)) {
		if len(results) != 2 || len(results[bad].Errors) == 0 {
			t.Errorf("%s: got %v, want an error for the first of two files", reader, results)
		}
	}
}
