package clinic

import (
	"strings"
	"testing"
)

// Some programs write a rule without end as one until the year 9999, and the last day
// of whole days as a time in UTC: its midnight there, or on their own clock.
func TestEndsOfRules(t *testing.T) {
	days := func(until string) []string {
		return []string{"DTSTART;VALUE=DATE:20270510", "RRULE:FREQ=DAILY;UNTIL=" + until}
	}
	for _, tc := range []struct {
		name, zone string
		lines      []string
		want       string
	}{
		{"never", "Europe/Dublin", []string{"DTSTART:20271220T100000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;UNTIL=99991231T235959Z"}, "12-20 10:00-11:00; 12-27 10:00-11:00"},
		{"never, of days", "Europe/Dublin", []string{"DTSTART;VALUE=DATE:20271220", "RRULE:FREQ=WEEKLY;UNTIL=99991231"}, "12-20; 12-27"},
		{"before it began", "Europe/Dublin", []string{"DTSTART;VALUE=DATE:20271220", "RRULE:FREQ=WEEKLY;UNTIL=16010101"}, "12-20"},
		{"midnight in UTC, west of it", "America/New_York", days("20270512T000000Z"), "05-10; 05-11; 05-12"},
		{"midnight here, west of UTC", "America/New_York", days("20270512T040000Z"), "05-10; 05-11; 05-12"},
		{"midnight in UTC, east of it", "Pacific/Auckland", days("20270512T000000Z"), "05-10; 05-11; 05-12"},
		{"midnight here, east of UTC", "Pacific/Auckland", days("20270511T120000Z"), "05-10; 05-11; 05-12"},
		{"the end of the day on the clinic's clock", "America/New_York", days("20270512T235959"), "05-10; 05-11; 05-12"},
		{"a day", "America/New_York", days("20270512"), "05-10; 05-11; 05-12"},
	} {
		slots, notes, err := BusyTimes(File{"oake.ics", calendarFile(event(tc.lines...))}, tc.zone, span(t, "2027-01-01..2027-12-31"))
		if got := slotText(slots); err != nil || len(notes) > 0 || got != tc.want {
			t.Errorf("%s: got %q, %v, %v, want %q", tc.name, got, notes, err, tc.want)
		}
	}
}

// An event may start centuries before the days asked for.
func TestRulesOfCenturies(t *testing.T) {
	file := calendarFile(event("DTSTART;VALUE=DATE:19000101", "RRULE:FREQ=YEARLY"), event("DTSTART;VALUE=DATE:19040229", "RRULE:FREQ=YEARLY"))
	slots, _, err := BusyTimes(File{"oake.ics", file}, "Europe/Dublin", span(t, "2196-01-01..2197-12-31"))
	if got, want := slotText(slots), "01-01; 02-29; 01-01"; err != nil || got != want {
		t.Errorf("got %q, %v, want %q", got, err, want)
	}
}

// TestInstancesOfTheirOwnLength: what is listed with an end lasts until then, even
// where the event itself takes no time or less.
func TestInstancesOfTheirOwnLength(t *testing.T) {
	for want, lines := range map[string][]string{
		"05-11 10:00-10:30; 05-14 10:00-11:00": {"DTSTART:20270511T100000", "RRULE:FREQ=DAILY;COUNT=3", "RDATE;VALUE=PERIOD:20270514T100000/PT1H,20270511T100000/PT30M,20270515T100000/20270515T100000"},
		"05-11 10:00-12:00; 05-12 10:00-11:00": {"DTSTART:20270511T100000", "DURATION:PT1H", "RRULE:FREQ=DAILY;COUNT=2", "RDATE;VALUE=PERIOD:20270511T100000/PT2H"},
	} {
		if got, notes := takenBy(t, calendarFile(event(lines...))); got != want || notes != "" {
			t.Errorf("got %q (%s), want %q", got, notes, want)
		}
	}
}

// TestFilesThatRepeatWithoutMeasure: each event is within bounds, but they are many.
// The first one too many ends the reading.
func TestFilesThatRepeatWithoutMeasure(t *testing.T) {
	for name, rule := range map[string]string{
		"often": "FREQ=SECONDLY;COUNT=99999",
		"never": "FREQ=DAILY;BYDAY=MO;BYSETPOS=3",
		"seldom, out of many times of the same day": "FREQ=DAILY;BYHOUR=" + upTo(23) + ";BYMINUTE=" + upTo(59) + ";BYSECOND=0,30;BYSETPOS=1",
	} {
		one := event("DTSTART:20261101T100000", "DURATION:PT1M", "RRULE:"+rule)
		_, _, err := BusyTimes(File{"oake.ics", calendarFile(strings.Repeat(one+"\n", 300))}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
		if want := "RRULE: the file up to this event repeats more than 5000000 times, which is not read"; err == nil || !strings.HasSuffix(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: got %v, want %q", name, err, want)
		}
	}
	if got, _ := takenBy(t, calendarFile(event("DTSTART:20261101T100000", "DURATION:PT1M", "RRULE:FREQ=DAILY;BYDAY=MO;BYSETPOS=3"), event("DTSTART:20270511T100000", "DURATION:PT1M"))); got != "05-11 10:00-10:01" {
		t.Errorf("got %q", got)
	}
	long := event("DTSTART:20270511T100000", "DURATION:PT1M", "RRULE:FREQ=DAILY;BYDAY=MO"+strings.Repeat(",MO", 2000))
	if _, _, err := BusyTimes(File{"oake.ics", calendarFile(long)}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31")); err == nil || !strings.Contains(err.Error(), "RRULE: it is longer than 4096 letters") {
		t.Error(err)
	}
}
