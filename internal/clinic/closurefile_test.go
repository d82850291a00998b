package clinic

import (
	"fmt"
	"strings"
	"testing"
)

// calendarFile wraps the lines of events in a calendar, with the line ends of RFC
// 5545.
func calendarFile(lines ...string) []byte {
	text := "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//clinic//test//EN\n" + strings.Join(lines, "\n") + "\nEND:VCALENDAR\n"
	return []byte(strings.ReplaceAll(text, "\n", "\r\n"))
}

func event(lines ...string) string {
	return "BEGIN:VEVENT\nUID:1@clinic\nSUMMARY:Refit\n" + strings.Join(lines, "\n") + "\nEND:VEVENT"
}

func TestClosureFile(t *testing.T) {
	const full, friday = "08:30-12:30 13:30-17:00", "08:30-13:00"
	cases := []struct {
		name  string
		lines []string
		want  map[string]string // hours by day, "" = closed by the file
		note  string            // a part of the one note
	}{
		{"all day without end is one day", []string{"DTSTART;VALUE=DATE:20270511"},
			map[string]string{"2027-05-10": full, "2027-05-11": "", "2027-05-12": full}, ""},
		{"the end is exclusive", []string{"DTSTART;VALUE=DATE:20270511", "DTEND;VALUE=DATE:20270513"},
			map[string]string{"2027-05-11": "", "2027-05-12": "", "2027-05-13": full}, ""},
		{"a length in days", []string{"DTSTART;VALUE=DATE:20270511", "DURATION:P3D"},
			map[string]string{"2027-05-12": "", "2027-05-13": "", "2027-05-14": friday}, ""},
		{"a length in weeks", []string{"DTSTART;VALUE=DATE:20270511", "DURATION:P1W"},
			map[string]string{"2027-05-14": "", "2027-05-17": "", "2027-05-18": full}, ""},
		{"a day without VALUE=DATE", []string{"DTSTART:20270511"}, map[string]string{"2027-05-11": "", "2027-05-12": full}, ""},
		{"names in lower case", []string{"dtstart;value=date:20270511"}, map[string]string{"2027-05-11": ""}, ""},
		{"floating times are the clinic's", []string{"DTSTART:20270511T110000", "DTEND:20270511T150000"},
			map[string]string{"2027-05-11": "08:30-11:00 15:00-17:00"}, ""},
		{"UTC in summer", []string{"DTSTART:20270511T100000Z", "DTEND:20270511T200000Z"},
			map[string]string{"2027-05-11": "08:30-11:00"}, ""},
		{"UTC in winter", []string{"DTSTART:20270112T100000Z", "DTEND:20270112T200000Z"},
			map[string]string{"2027-01-12": "08:30-10:00"}, ""},
		{"another zone", []string{"DTSTART;TZID=Europe/Berlin:20270511T120000", "DTEND;TZID=Europe/Berlin:20270511T143000"},
			map[string]string{"2027-05-11": "08:30-11:00 13:30-17:00"}, ""},
		{"a length in hours", []string{"DTSTART:20270511T083000", "DURATION:PT4H30M"},
			map[string]string{"2027-05-11": "13:30-17:00"}, ""},
		{"a day and hours", []string{"DTSTART:20270511T160000", "DURATION:P1DT1H"},
			map[string]string{"2027-05-11": "08:30-12:30 13:30-16:00", "2027-05-12": ""}, ""},
		{"times that leave no hours close the day", []string{"DTSTART:20270511T080000", "DTEND:20270511T180000"},
			map[string]string{"2027-05-11": ""}, ""},
		{"a UTC day that is two halves here", []string{"DTSTART:20270510T120000Z", "DTEND:20270511T120000Z"},
			map[string]string{"2027-05-10": "08:30-12:30", "2027-05-11": "13:30-17:00"}, ""},
		{"until midnight", []string{"DTSTART:20270511T140000", "DTEND:20270512T000000"},
			map[string]string{"2027-05-11": "08:30-12:30 13:30-14:00", "2027-05-12": full}, ""},
		{"seconds count as a minute", []string{"DTSTART:20270511T083000", "DTEND:20270511T090001"},
			map[string]string{"2027-05-11": "09:01-12:30 13:30-17:00"}, ""},
		{"outside opening hours", []string{"DTSTART:20270511T123000", "DTEND:20270511T133000"},
			map[string]string{"2027-05-11": full}, ""},
		{"no opening on a closing day", []string{"DTSTART:20270515T100000", "DTEND:20270515T110000"},
			map[string]string{"2027-05-14": friday}, ""},
		{"longer than the calendar", []string{"DTSTART;VALUE=DATE:19990101", "DTEND;VALUE=DATE:20270512"},
			map[string]string{"2027-01-04": "", "2027-05-11": "", "2027-05-12": full}, ""},
		{"timed and longer than the calendar", []string{"DTSTART:19990101T120000", "DTEND:20270511T120000"},
			map[string]string{"2027-01-04": "", "2027-05-11": "12:00-12:30 13:30-17:00"}, ""},
		{"folded lines", []string{"DTSTART;VALUE=DA\n TE:20270511"}, map[string]string{"2027-05-11": ""}, ""},
		{"cancelled", []string{"DTSTART;VALUE=DATE:20270511", "STATUS:CANCELLED"}, map[string]string{"2027-05-11": full}, "it is cancelled"},
		{"takes no time", []string{"DTSTART;VALUE=DATE:20270511", "TRANSP:TRANSPARENT"}, map[string]string{"2027-05-11": full}, "TRANSP:TRANSPARENT"},
		{"cancelled for ever", []string{"DTSTART;VALUE=DATE:20270511", "RRULE:FREQ=WEEKLY", "STATUS:CANCELLED"}, map[string]string{"2027-05-11": full}, "it is cancelled"},
		{"every year", []string{"DTSTART;VALUE=DATE:20190511", "RRULE:FREQ=YEARLY"}, map[string]string{"2027-05-10": full, "2027-05-11": "", "2027-05-12": full}, ""},
		{"hours of every Tuesday", []string{"DTSTART:20270511T083000", "DTEND:20270511T123000", "rrule:FREQ=WEEKLY;COUNT=2"},
			map[string]string{"2027-05-11": "13:30-17:00", "2027-05-18": "13:30-17:00", "2027-05-25": full}, ""},
		{"a day that ends on itself, as some programs write it", []string{"DTSTART;VALUE=DATE:20270511", "DTEND;VALUE=DATE:20270511"},
			map[string]string{"2027-05-10": full, "2027-05-11": "", "2027-05-12": full}, ""},
		{"a day's length in seconds", []string{"DTSTART:20270511T083000", "DURATION:PT86400S"},
			map[string]string{"2027-05-11": "", "2027-05-12": "08:30-12:30 13:30-17:00"}, ""},
		{"a moment by its end", []string{"DTSTART:20270511T110000", "DTEND:20270511T110000"}, map[string]string{"2027-05-11": full}, "it has no length"},
		{"a moment", []string{"DTSTART:20270511T110000"}, map[string]string{"2027-05-11": full}, "it has no length"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			s := harbourRow(t)
			s.ClosureFiles = []File{{"refit.ics", calendarFile(event(tc.lines...))}}
			c := build(t, s, "2027-01-01..2027-12-31")
			for d, want := range tc.want {
				got := status(t, c, d)
				if text := strings.Trim(fmt.Sprint(got.Hours), "[]"); text != want {
					t.Errorf("%s: hours %q, want %q", d, text, want)
				}
				if want == "" && got.Why != (Reason{ClosedDays, "Refit", "refit.ics"}) {
					t.Errorf("%s: why %+v", d, got.Why)
				}
			}
			notes := strings.Join(c.Notes(), "\n")
			if (tc.note == "") != (notes == "") || !strings.Contains(notes, tc.note) {
				t.Errorf("got notes %q, want one with %q", notes, tc.note)
			}
		})
	}
}

// The day on which a zone's clock skips midnight has no 00:00 to start from.
func TestAllDayClosureOnADayWithoutMidnight(t *testing.T) {
	for zone, d := range map[string]string{"America/Santiago": "20270905", "America/Havana": "20270314", "Africa/Cairo": "20270430"} {
		s := harbourRow(t)
		s.Zone, s.Region = zone, ""
		for w := range s.Hours {
			s.Hours[w] = hours(t, "08:30-12:30")
		}
		s.ClosureFiles = []File{{"refit.ics", calendarFile(event("DTSTART;VALUE=DATE:" + d))}}
		c := build(t, s, "2027-01-01..2027-12-31")
		closed := on(t, d[:4]+"-"+d[4:6]+"-"+d[6:])
		for n, want := range map[int]bool{-1: true, 0: false, 1: true} {
			if open, why := c.FitsAny(closed.AddDays(n)); open != want {
				t.Errorf("%s, %s: open %v (%s)", zone, closed.AddDays(n), open, why)
			}
		}
	}
}

func TestClosureFileLayers(t *testing.T) {
	s := harbourRow(t)
	s.HalfDays = []SpecialDay{{on(t, "2027-05-11"), hours(t, "08:30-12:00"), "Staff meeting"}}
	s.ExtraDays = []SpecialDay{{on(t, "2027-05-12"), hours(t, "09:00-10:00"), "Suture list"}}
	s.ClosureFiles = []File{{"refit.ics", calendarFile(
		event("DTSTART:20270511T100000", "DTEND:20270511T110000"),
		event("DTSTART;VALUE=DATE:20270512"),
		event("DTSTART:20270317T100000", "DTEND:20270317T110000"))}}
	c := build(t, s, "2027-01-01..2027-12-31")
	for d, want := range map[string]string{
		"2027-05-11": "[08:30-10:00 11:00-12:00] open: half day (Refit)",
		"2027-05-12": "[09:00-10:00] open: extra day (Suture list)",
		"2027-03-17": "[] closed: public holiday (Saint Patrick's Day)",
	} {
		if got := status(t, c, d); fmt.Sprint(got.Hours, " ", got.Why) != want {
			t.Errorf("%s: got %v %s, want %s", d, got.Hours, got.Why, want)
		}
	}
}

func TestEventsThatAreRefused(t *testing.T) {
	cases := []struct {
		name  string
		lines []string
		want  string
	}{
		{"no start", []string{"DTEND;VALUE=DATE:20270511"}, "it has no start (DTSTART)"},
		{"a day that does not exist", []string{"DTSTART;VALUE=DATE:20270229"}, `DTSTART: "20270229" is no day or time that exists`},
		{"a time that does not exist", []string{"DTSTART:20270511T250000"}, "DTSTART: \"20270511T250000\" is no day"},
		{"an end that does not exist", []string{"DTSTART:20270511T100000", "DTEND:20270511"}, "not both days or both times"},
		{"an unreadable end", []string{"DTSTART;VALUE=DATE:20270511", "DTEND;VALUE=DATE:tomorrow"}, "DTEND: \"tomorrow\" is no day"},
		{"ends before it starts", []string{"DTSTART;VALUE=DATE:20270511", "DTEND;VALUE=DATE:20270510"}, "it ends before it starts"},
		{"ends a minute before it starts", []string{"DTSTART:20270511T100000", "DTEND:20270511T095900"}, "it ends before it starts"},
		{"a part of a second", []string{"DTSTART:20270511T100000.5"}, `DTSTART: "20270511T100000.5" is no day or time that exists`},
		{"a part of a second in UTC", []string{"DTSTART:20270511T100000,5Z"}, `DTSTART: "20270511T100000,5Z" is no day or time that exists`},
		{"end and length", []string{"DTSTART;VALUE=DATE:20270511", "DTEND;VALUE=DATE:20270512", "DURATION:P1D"}, "both an end and a length"},
		{"negative length", []string{"DTSTART:20270511T100000", "DURATION:-PT1H"}, "is no length"},
		{"empty length", []string{"DTSTART:20270511T100000", "DURATION:PT"}, "is no length"},
		{"length without end", []string{"DTSTART:20270511T100000", "DURATION:P99999999999999999999D"}, "too long"},
		{"hours on a whole day", []string{"DTSTART;VALUE=DATE:20270511", "DURATION:PT4H"}, "has hours, but the event starts on a whole day"},
		{"no length on a whole day", []string{"DTSTART;VALUE=DATE:20270511", "DURATION:P0D"}, "is no day, but the event starts on a whole day"},
		{"a zone by another system's name", []string{"DTSTART;TZID=W. Europe Standard Time:20270511T100000"}, `"W. Europe Standard Time" is no time zone`},
		{"the machine's own zone", []string{"DTSTART;TZID=Local:20270511T100000"}, `"Local" is no time zone`},
		{"centuries ago", []string{"DTSTART;VALUE=DATE:16660902"}, "outside 1900-01-01..2199-12-31"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			s := harbourRow(t)
			s.ClosureFiles = []File{{"refit.ics", calendarFile(event(tc.lines...))}}
			_, err := New(s, span(t, "2027-01-01..2027-12-31"))
			if err == nil || !strings.HasPrefix(err.Error(), `closure_files[0]: refit.ics: event "Refit"`) || !strings.Contains(err.Error(), ", line 4: ") || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v, want file, event, line and %q", err, tc.want)
			}
		})
	}
}

func TestFilesThatAreRefused(t *testing.T) {
	whole := string(calendarFile(event("DTSTART;VALUE=DATE:20270511")))
	cases := []struct{ name, text, want string }{
		{"nothing", "", "no whole iCalendar file"},
		{"not a calendar", "from,to\n2027-08-02,2027-08-20\n", "no whole iCalendar file"},
		{"cut short after an event", strings.TrimSuffix(whole, "END:VCALENDAR\r\n"), "no whole iCalendar file"},
		{"an event cut short", strings.Replace(whole, "END:VEVENT\r\n", "", 1), "no readable iCalendar file"},
		{"two calendars", whole + whole, "no readable iCalendar file"},
		{"a line that is no property", strings.Replace(whole, "SUMMARY:", "SUMMARY ", 1), "no readable iCalendar file"},
		{"a cancellation", strings.Replace(whole, "VERSION:", "METHOD:CANCEL\r\nVERSION:", 1), "METHOD:CANCEL"},
		{"an event in lower case", strings.ReplaceAll(whole, "VEVENT", "vevent"), "BEGIN:vevent must be in capitals"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			s := harbourRow(t)
			s.ClosureFiles = []File{{"good.ics", []byte("\ufeff" + whole)}, {"bad.ics", []byte(tc.text)}}
			_, err := New(s, span(t, "2027-01-01..2027-12-31"))
			if err == nil || !strings.HasPrefix(err.Error(), "closure_files[1]: bad.ics: ") || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v, want %q", err, tc.want)
			}
		})
	}
}

func TestEveryBadEventIsTold(t *testing.T) {
	s := harbourRow(t)
	s.ClosureFiles = []File{{"refit.ics", calendarFile(event("DTEND:20270511T100000"), event("DTSTART:x"), "BEGIN:VEVENT\nEND:VEVENT")}}
	_, err := New(s, span(t, "2027-01-01..2027-12-31"))
	if problems, ok := err.(Problems); !ok || len(problems) != 3 || !strings.Contains(problems[2].Message, "event 3") {
		t.Errorf("got %v", err)
	}
}

func TestFileThatClosesNothingIsNoted(t *testing.T) {
	s := harbourRow(t)
	s.ClosureFiles = []File{{"tasks.ics", calendarFile("BEGIN:VTODO\nUID:2@clinic\nEND:VTODO", "BEGIN:VTIMEZONE\nTZID:X\nEND:VTIMEZONE")}}
	got := strings.Join(build(t, s, "2027-01-01..2027-12-31").Notes(), "; ")
	if want := "tasks.ics: entries that are no events ignored: 1; tasks.ics closes no day"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
