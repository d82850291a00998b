package clinic

import (
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

func TestBusyTimesAreSortedAndJoined(t *testing.T) {
	cases := []struct {
		name   string
		events []string
		want   string
	}{
		{"in order of time", []string{event("DTSTART:20270518T100000", "DURATION:PT1H"), event("DTSTART:20270517T100000", "DURATION:PT1H")}, "05-17 10:00-11:00; 05-18 10:00-11:00"},
		{"overlapping", []string{event("DTSTART:20270518T100000", "DURATION:PT1H"), event("DTSTART:20270518T103000", "DURATION:PT1H")}, "05-18 10:00-11:30"},
		{"one within the other", []string{event("DTSTART:20270518T103000", "DURATION:PT10M"), event("DTSTART:20270518T100000", "DURATION:PT1H")}, "05-18 10:00-11:00"},
		{"touching", []string{event("DTSTART:20270518T110000", "DURATION:PT1H"), event("DTSTART:20270518T100000", "DURATION:PT1H")}, "05-18 10:00-12:00"},
		{"apart", []string{event("DTSTART:20270518T110100", "DURATION:PT1H"), event("DTSTART:20270518T100000", "DURATION:PT1H")}, "05-18 10:00-11:00; 05-18 11:01-12:01"},
		{"touching over midnight", []string{event("DTSTART:20270518T230000", "DURATION:PT2H")}, "05-18 23:00-24:00; 05-19 00:00-01:00"},
		{"within a whole day", []string{event("DTSTART:20270518T100000", "DURATION:PT1H"), event("DTSTART;VALUE=DATE:20270518")}, "05-18"},
		{"out of the span", []string{event("DTSTART;VALUE=DATE:20261230", "DURATION:P3D"), event("DTSTART:20280101T000000", "DURATION:PT1H")}, "01-01"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			if got, notes := takenBy(t, calendarFile(tc.events...)); got != tc.want || notes != "" {
				t.Errorf("got %q (%s), want %q", got, notes, tc.want)
			}
		})
	}
}

func TestBusyTimesTellNoTitle(t *testing.T) {
	const secret = "Nora Fenwick, second opinion"
	titled := func(lines ...string) string { return strings.ReplaceAll(event(lines...), "Refit", secret) }
	file := calendarFile(titled("DTSTART:20270518T100000", "DURATION:PT1H"), titled("DTSTART:20270519T100000", "STATUS:CANCELLED"), titled("STATUS:CANCELLED"))
	slots, notes, err := BusyTimes(File{"quill.ics", file}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
	if want := []string{"quill.ics: event 2 of 20270519T100000, line 10 ignored: it is cancelled", "quill.ics: event 3, line 16 ignored: it is cancelled"}; err != nil || strings.Join(notes, "\n") != strings.Join(want, "\n") {
		t.Errorf("got %v, %q, want %q", err, notes, want)
	}
	if len(slots) != 1 || slots[0] != (graft.Slot{Day: on(t, "2027-05-18"), Start: 600, Minutes: 60}) {
		t.Errorf("got %v", slots)
	}
	file = calendarFile(titled("DTSTART:20270518T100000", "RRULE:FREQ=SELDOM"), titled("DURATION:PT1H"))
	_, _, err = BusyTimes(File{"quill.ics", file}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
	if want := "quill.ics: event 2, line 10: it has no start (DTSTART)"; err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "Fenwick") {
		t.Errorf("got %v, want %q", err, want)
	}
}

func TestBusyTimesOfNothing(t *testing.T) {
	file := File{"quill.ics", calendarFile("BEGIN:VTODO\nUID:2@clinic\nEND:VTODO")}
	slots, notes, err := BusyTimes(file, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
	if want := "quill.ics: entries that are no events ignored: 1; quill.ics takes no time"; err != nil || len(slots) > 0 || strings.Join(notes, "; ") != want {
		t.Errorf("got %v, %v, %q", slots, err, notes)
	}
	for want, call := range map[string]func() error{
		`zone: "Local" is no time zone`: func() error { _, _, err := BusyTimes(file, "Local", span(t, "2027-01-01..2027-12-31")); return err },
		"is no span of days": func() error {
			_, _, err := BusyTimes(file, "Europe/Dublin", day.Span{From: on(t, "2027-01-02"), To: on(t, "2027-01-01")})
			return err
		},
		`"Local" is no time zone`: func() error { _, err := Elapsed(graft.Slot{}, "Local"); return err },
	} {
		if err := call(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

func TestElapsedWhereClocksAreChanged(t *testing.T) {
	for _, tc := range []struct {
		name, day  string
		start, end string
		want       int
	}{
		{"any day", "2027-05-18", "10:00", "11:30", 90},
		{"until midnight", "2027-05-18", "23:00", "24:00", 60},
		{"over the hour left out", "2027-03-28", "00:30", "02:30", 60},
		{"up to the hour left out", "2027-03-28", "00:30", "01:00", 30},
		{"from the hour left out on", "2027-03-28", "02:00", "03:00", 60},
		{"over the hour shown twice", "2027-10-31", "00:30", "02:30", 180},
		{"up to the hour shown twice", "2027-10-31", "00:30", "01:00", 30},
		{"into the hour shown twice", "2027-10-31", "00:30", "01:30", 120},
		{"the hour shown twice", "2027-10-31", "01:00", "02:00", 120},
		{"out of the hour shown twice", "2027-10-31", "01:30", "02:30", 120},
		{"after it", "2027-10-31", "02:00", "03:00", 60},
	} {
		h := hours(t, tc.start+"-"+tc.end)[0]
		if got, err := Elapsed(graft.Slot{Day: on(t, tc.day), Start: h.From, Minutes: h.Minutes()}, "Europe/Dublin"); err != nil || got != tc.want {
			t.Errorf("%s: got %d, %v, want %d", tc.name, got, err, tc.want)
		}
	}
}

// A title may hold a line break, which would make two lines of a list.
func TestTitlesStayOnOneLine(t *testing.T) {
	s := harbourRow(t)
	s.ClosureFiles = []File{{"refit.ics", calendarFile(strings.Replace(event("DTSTART;VALUE=DATE:20270511"), "Refit", "Refit\\nof\x1b[2J all", 1))}}
	if got := status(t, build(t, s, "2027-01-01..2027-12-31"), "2027-05-11").Why.Name; strings.ContainsAny(got, "\n\r\x1b") || !strings.HasPrefix(got, "Refit of") {
		t.Errorf("got %q", got)
	}
}
