package clinic

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"graftclock/internal/day"
)

// TestFilesAreReadAsTheyCome reads files that RFC 5545 section 3.1 allows, or that
// programs write nevertheless; each takes an hour of one day.
func TestFilesAreReadAsTheyCome(t *testing.T) {
	plain := string(calendarFile(event("DTSTART:20270511T100000", "DURATION:PT1H")))
	for name, text := range map[string]string{
		"as it should be":                    plain,
		"bare line feeds":                    strings.ReplaceAll(plain, "\r\n", "\n"),
		"a mark of the encoding before it":   "\ufeff" + plain,
		"empty lines round and in it":        "\r\n\r\n" + strings.Replace(plain, "UID:", "\r\nUID:", 1) + "\r\n",
		"lines folded in the middle":         strings.NewReplacer("BEGIN:VEVENT", "BEG\r\n IN:VEV\r\n\tENT", "20270511T", "202705\r\n 11T").Replace(plain),
		"what belongs to the calendar last":  strings.Replace(plain, "END:VCALENDAR", "X-WR-TIMEZONE:Europe/Paris\r\nEND:VCALENDAR", 1),
		"names in lower case":                strings.NewReplacer("DTSTART", "dtstart", "DURATION", "duration").Replace(plain),
		"other components with parts inside": strings.Replace(plain, "BEGIN:VEVENT", "BEGIN:X-TEAM\r\nBEGIN:X-PART\r\nA:1\r\nEND:X-PART\r\nEND:X-TEAM\r\nBEGIN:VEVENT", 1),
	} {
		if got, _ := takenBy(t, []byte(text)); got != "05-11 10:00-11:00" {
			t.Errorf("%s: got %q", name, got)
		}
	}
}

func TestTextsThatAreRefused(t *testing.T) {
	plain := string(calendarFile(event("DTSTART:20270511T100000", "DURATION:PT1H")))
	deep := func(levels int) string {
		return strings.Repeat("BEGIN:X\r\n", levels) + strings.Repeat("END:X\r\n", levels)
	}
	for _, tc := range []struct{ name, text, want string }{
		{"a line without a name", strings.Replace(plain, "UID:", ":", 1), "no readable iCalendar file: line 5 does not begin with the name of a property"},
		{"a name that the parser would look for further on", strings.Replace(plain, "UID:", "\u00a0UID:", 1), "line 5 does not begin with the name"},
		{"the same after folded and empty lines", strings.Replace(plain, "UID:", "X:a\r\n b\r\n\r\n*UID:", 1), "line 8 does not begin with the name"},
		{"a begin in lower case", strings.Replace(plain, "BEGIN:VEVENT", "begin:VEVENT", 1), "line 4: begin must be in capitals to be read"},
		{"an end in lower case", strings.Replace(plain, "END:VEVENT", "End:VEVENT", 1), "line 9: End must be in capitals to be read"},
		{"an event with a space behind it", strings.ReplaceAll(plain, ":VEVENT", ":VEVENT "), "line 4: BEGIN:VEVENT  must be in capitals, without spaces, to be read"},
		{"components without bottom", strings.Replace(plain, "BEGIN:VEVENT", deep(2_000_000)+"BEGIN:VEVENT", 1), "line 11: components lie too deep in one another"},
		{"too much of it", plain[:len(plain)-len("END:VCALENDAR\r\n")] + strings.Repeat("X-A:"+strings.Repeat("a", 1000)+"\r\n", 67_000) + "END:VCALENDAR", "longer than 67108864 bytes"},
	} {
		_, _, err := BusyTimes(File{"any.ics", []byte(tc.text)}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
		if err == nil || !strings.HasPrefix(err.Error(), "any.ics: ") || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: got %.200v, want %q", tc.name, err, tc.want)
		}
	}
}

// Each complaint names the line on which its entry begins.
func TestLinesOfEntries(t *testing.T) {
	file := append([]byte("\n\n"), calendarFile(
		event("DTSTART:20270511T100000", "X-LONG:a\n b\n c", "DURATION:x"), "BEGIN:VTODO\nUID:2\nEND:VTODO",
		"BEGIN:VFREEBUSY\nUID:3\nFREEBUSY:20270511T100000Z\nEND:VFREEBUSY", event("BEGIN:VALARM\nACTION:DISPLAY\nEND:VALARM", "DTEND:20270511T100000"))...)
	_, _, err := BusyTimes(File{"any.ics", file}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
	want := `any.ics: event 1 of 20270511T100000, line 6: DURATION: "x" is no length, such as P3D or PT90M
any.ics: VFREEBUSY on line 18: FREEBUSY: "" is no day or time that exists, such as 20270114 or 20270114T083000
any.ics: event 3, line 22: it has no start (DTSTART)`
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
}

func TestManyEntriesWithoutTimeAreCounted(t *testing.T) {
	var events []string
	for d := 10; d < 18; d++ {
		events = append(events, event(fmt.Sprintf("DTSTART;VALUE=DATE:202705%d", d), "TRANSP:TRANSPARENT"))
	}
	taken, notes := takenBy(t, calendarFile(append(events, event("DTSTART;VALUE=DATE:20270518", "STATUS:CANCELLED"))...))
	for _, want := range []string{"event 5 of 20270514, line 28 ignored", "oake.ics: 3 more ignored: it is marked as taking no time", "event 9 of 20270518, line 52 ignored: it is cancelled", "oake.ics takes no time"} {
		if !strings.Contains(notes, want) {
			t.Errorf("no %q in %q", want, notes)
		}
	}
	if n := strings.Count(notes, " ignored: "); taken != "" || n != 7 {
		t.Errorf("%q, %d notes", taken, n)
	}
}

// FuzzBusyTimes: whatever a file holds is refused with its name, or gives times in
// order within the days asked for.
func FuzzBusyTimes(f *testing.F) {
	f.Add(calendarFile(event("DTSTART;TZID=Europe/Dublin:20270511T100000", "RRULE:FREQ=DAILY;\n COUNT=3", "DURATION:PT1H"), event("RECURRENCE-ID:20270512T090000Z", "DTSTART;VALUE=DATE:20270513")))
	f.Add(calendarFile(outlookZone, event("DTSTART;TZID=W. Europe Standard Time:20270511T100000", "DURATION:PT1H", "EXDATE:20270512", "RDATE;VALUE=PERIOD:20270513T100000/PT1H")))
	f.Add(calendarFile("BEGIN:VFREEBUSY\nFREEBUSY;FBTYPE=BUSY:20270511T100000Z/PT1H\nEND:VFREEBUSY"))
	days := day.Span{From: day.New(2027, 1, 1), To: day.New(2027, 12, 31)}
	f.Fuzz(func(t *testing.T, data []byte) {
		taken, _, err := BusyTimes(File{"any.ics", bytes.Clone(data)}, "Europe/Dublin", days)
		if err != nil && !strings.HasPrefix(err.Error(), "any.ics: ") {
			t.Error(err)
		}
		for i, s := range taken {
			if !days.Contains(s.Day) || s.Minutes < 1 || s.End() > midnight || i > 0 && !taken[i-1].Day.Before(s.Day) && taken[i-1].End() >= s.Start {
				t.Errorf("%v after %v", s, taken[:i])
			}
		}
	})
}
