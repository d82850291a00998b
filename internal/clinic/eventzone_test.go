package clinic

import (
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
)

// outlookZone is a zone under another system's name, as mail programs write it: its
// onsets begin long ago, on days that are none of their rules.
const outlookZone = `BEGIN:VTIMEZONE
TZID:W. Europe Standard Time
BEGIN:STANDARD
DTSTART:16010101T030000
TZOFFSETFROM:+0200
TZOFFSETTO:+0100
RRULE:FREQ=YEARLY;INTERVAL=1;BYDAY=-1SU;BYMONTH=10
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:16010101T020000
TZOFFSETFROM:+0100
TZOFFSETTO:+0200
RRULE:FREQ=YEARLY;INTERVAL=1;BYDAY=-1SU;BYMONTH=3
END:DAYLIGHT
END:VTIMEZONE`

// ownZone is a zone of a file alone: half an hour off UTC until a day in May, listed,
// then an hour; under a name that means something else elsewhere.
const ownZone = `BEGIN:VTIMEZONE
TZID:EST
BEGIN:STANDARD
DTSTART:20270105T000000
TZOFFSETFROM:-0015
TZOFFSETTO:+003000
END:STANDARD
BEGIN:STANDARD
DTSTART:20270511T000000
RDATE:20270611T000000
TZOFFSETFROM:+0030
TZOFFSETTO:+0100
END:STANDARD
BEGIN:STANDARD
DTSTART:20270601T000000
TZOFFSETFROM:+0100
TZOFFSETTO:+0030
RRULE:FREQ=DAILY;INTERVAL=20;UNTIL=20270621T000000Z
END:STANDARD
END:VTIMEZONE`

func TestZonesOfAFile(t *testing.T) {
	at := func(zone string, starts ...string) string {
		return event("DTSTART;TZID="+zone+":"+starts[0], "DURATION:PT1H", "RDATE;TZID="+zone+":"+strings.Join(starts, ","))
	}
	for _, tc := range []struct{ name, definition, event, want string }{
		{"another system's name", outlookZone, at("W. Europe Standard Time", "20270327T100000", "20270328T100000", "20271030T100000", "20271031T100000"),
			"03-27 09:00-10:00; 03-28 09:00-10:00; 10-30 09:00-10:00; 10-31 09:00-10:00"},
		{"the same in quotes", outlookZone, at(`"W. Europe Standard Time"`, "20270511T100000"), "05-11 09:00-10:00"},
		{"the name of a vendor before it", "", at("/vendor.example/2005_1/America/New_York", "20270511T100000"), "05-11 15:00-16:00"},
		{"a vendor's with a definition too", strings.Replace(outlookZone, "W. Europe Standard Time", "/vendor.example/Europe/London", 1), at("/vendor.example/Europe/London", "20270511T100000"), "05-11 10:00-11:00"},
		{"a short name is the file's", ownZone, at("EST", "20270103T100000", "20270110T100000", "20270515T100000", "20270605T100000", "20270615T100000", "20270622T100000"),
			"01-03 10:15-11:15; 01-10 09:30-10:30; 05-15 10:00-11:00; 06-05 10:30-11:30; 06-15 10:00-11:00; 06-22 10:30-11:30"},
		{"or the world's, where it says nothing", "", at("EST", "20270110T100000"), "01-10 15:00-16:00"},
		{"a known place is the world's", strings.Replace(ownZone, "TZID:EST", "TZID:America/New_York", 1), at("America/New_York", "20270110T100000"), "01-10 15:00-16:00"},
		{"rules repeat in it", outlookZone, event("DTSTART;TZID=W. Europe Standard Time:20270321T013000", "DURATION:PT30M", "RRULE:FREQ=WEEKLY;UNTIL=20270404T003000Z"), "03-21 00:30-01:00; 03-28 00:30-01:00; 04-04 00:30-01:00"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got, notes := takenBy(t, calendarFile(tc.event, tc.definition))
			if got != tc.want || notes != "" {
				t.Errorf("got %q (%s)\nwant %q", got, notes, tc.want)
			}
		})
	}
}

func TestZonesThatAreRefused(t *testing.T) {
	use := event("DTSTART;TZID=W. Europe Standard Time:20270511T100000", "DURATION:PT1H")
	for _, tc := range []struct{ name, old, new, want string }{
		{"none of that name", "TZID:W.", "TZID:E.", `DTSTART: "W. Europe Standard Time" is no time zone: want an IANA name, such as Europe/Dublin, or a VTIMEZONE of that name in the file`},
		{"without an offset", "TZOFFSETTO:+0100\n", "", `the VTIMEZONE of "W. Europe Standard Time": TZOFFSETTO: "" is no offset from UTC, such as +0100`},
		{"an offset that is none", "TZOFFSETFROM:+0200", "TZOFFSETFROM:+2400", `TZOFFSETFROM: "+2400" is no offset`},
		{"without a start", "DTSTART:16010101T030000\n", "", `DTSTART: "" is no day or time`},
		{"a rule that is none", "FREQ=YEARLY;INTERVAL=1;BYDAY=-1SU;BYMONTH=3", "FREQ=SELDOM", "RRULE: undefined frequency: SELDOM"},
		{"a rule without end", "FREQ=YEARLY;INTERVAL=1;BYDAY=-1SU;BYMONTH=3", "FREQ=MINUTELY", "RRULE: with FREQ=MINUTELY it repeats more than 100000 times"},
		{"a list of nothing", "END:STANDARD", "RDATE:soon\nEND:STANDARD", `RDATE: "soon" is no day or time`},
	} {
		definition := strings.Replace(outlookZone, tc.old, tc.new, 1)
		_, _, err := BusyTimes(File{"oake.ics", calendarFile(definition, use)}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
		if err == nil || !strings.HasPrefix(err.Error(), "oake.ics: event 1 of 20270511T100000, line ") || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got %v, want %q", tc.name, err, tc.want)
		}
	}
	empty := calendarFile("BEGIN:VTIMEZONE\nTZID:W. Europe Standard Time\nEND:VTIMEZONE", use)
	if _, _, err := BusyTimes(File{"oake.ics", empty}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31")); err == nil || !strings.Contains(err.Error(), "it has neither STANDARD nor DAYLIGHT") {
		t.Error(err)
	}
}

// TestDescribedZonesEqualTheZoneData reads zones as graftclock writes them and as mail
// programs do, and compares every hour of many years.
func TestDescribedZonesEqualTheZoneData(t *testing.T) {
	described := map[string]string{"Europe/Berlin, by rules only": outlookZone}
	for _, zone := range recurrenceZones {
		described[zone] = zoneText(t, zone)
	}
	for name, definition := range described {
		c, err := readContents(calendarFile(strings.TrimSpace(definition)))
		if err != nil || len(c.zones) != 1 {
			t.Fatal(name, err)
		}
		var only *ics.VTimezone
		for _, only = range c.zones {
		}
		got, err := (&eventReader{}).describedZone(only)
		if err != nil {
			t.Fatal(name, err)
		}
		name, _, _ = strings.Cut(name, ",")
		want, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		for at := time.Date(2024, 1, 1, 0, 30, 0, 0, time.UTC); at.Year() < 2032; at = at.Add(time.Hour) {
			_, here := at.In(got).Zone()
			if _, there := at.In(want).Zone(); here != there {
				t.Fatalf("%s: %s: got %d, want %d", name, at, here, there)
			}
		}
	}
}
