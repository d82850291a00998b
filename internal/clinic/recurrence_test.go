package clinic

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"graftclock/internal/graft"
)

// takenBy returns the busy times of a file over 2027, as text.
func takenBy(t testing.TB, data []byte) (taken, notes string) {
	t.Helper()
	slots, list, err := BusyTimes(File{"oake.ics", data}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
	if err != nil {
		t.Fatal(err)
	}
	return slotText(slots), strings.Join(list, "; ")
}

// slotText writes slots short: month and day, and the time unless it is all day.
func slotText(slots []graft.Slot) string {
	var parts []string
	for _, s := range slots {
		text := s.Day.String()[5:]
		if s.Minutes != wholeDay.Minutes() {
			text += " " + s.Start.String() + "-" + s.End().String()
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, "; ")
}

func TestEventsThatRepeat(t *testing.T) {
	const berlin, york = ";TZID=Europe/Berlin:", ";TZID=America/New_York:"
	cases := []struct {
		name  string
		lines []string
		want  string
	}{
		{"each week, the wall's clock kept over the change", []string{"DTSTART:20270322T100000", "DTEND:20270322T110000", "RRULE:FREQ=WEEKLY;COUNT=3"},
			"03-22 10:00-11:00; 03-29 10:00-11:00; 04-05 10:00-11:00"},
		{"the wall of the event's own zone", []string{"DTSTART" + york + "20270310T090000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=4"},
			"03-10 14:00-15:00; 03-17 13:00-14:00; 03-24 13:00-14:00; 03-31 14:00-15:00"},
		{"in UTC there is no change", []string{"DTSTART:20270322T100000Z", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=2"}, "03-22 10:00-11:00; 03-29 11:00-12:00"},
		{"all day", []string{"DTSTART;VALUE=DATE:20270326", "DTEND;VALUE=DATE:20270328", "RRULE:FREQ=MONTHLY;COUNT=2"}, "03-26; 03-27; 04-26; 04-27"},
		{"a time left out by the clock comes later, the next at its own", []string{"DTSTART:20270321T013000", "DURATION:PT30M", "RRULE:FREQ=WEEKLY;COUNT=3"},
			"03-21 01:30-02:00; 03-28 02:30-03:00; 04-04 01:30-02:00"},
		{"from a time left out by the clock", []string{"DTSTART:20270328T013000", "DURATION:PT30M", "RRULE:FREQ=DAILY;COUNT=2"}, "03-28 02:30-03:00; 03-29 01:30-02:00"},
		{"a time shown twice is the first", []string{"DTSTART:20271024T003000", "DTEND:20271024T010000", "RRULE:FREQ=WEEKLY;COUNT=2"}, "10-24 00:30-01:00; 10-31 00:30-01:00"},
		{"an end has the same exact length", []string{"DTSTART:20270327T100000", "DTEND:20270328T100000", "RRULE:FREQ=WEEKLY;COUNT=2", "EXDATE:20270403T100000"},
			"03-27 10:00-24:00; 03-28 00:00-10:00"},
		{"a day more by the calendar", []string{"DTSTART:20270320T230000", "DURATION:P1DT1H", "RRULE:FREQ=WEEKLY;COUNT=2", "EXDATE:20270320T230000"},
			"03-27 23:00-24:00; 03-28"},
		{"a day more by its length", []string{"DTSTART:20270320T230000", "DTEND:20270322T000000", "RRULE:FREQ=WEEKLY;COUNT=2", "EXDATE:20270320T230000"},
			"03-27 23:00-24:00; 03-28; 03-29 00:00-01:00"},

		{"until a time in UTC, itself included", []string{"DTSTART" + berlin + "20270501T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;UNTIL=20270502T070000Z"}, "05-01 08:00-09:00; 05-02 08:00-09:00"},
		{"until a second before", []string{"DTSTART" + berlin + "20270501T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;UNTIL=20270502T065959Z"}, "05-01 08:00-09:00"},
		{"until a time on its own wall", []string{"DTSTART" + york + "20270501T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;UNTIL=20270502T090000"}, "05-01 14:00-15:00; 05-02 14:00-15:00"},
		{"until a day, itself included", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;UNTIL=20270502"}, "05-01 09:00-10:00; 05-02 09:00-10:00"},
		{"days until a day", []string{"DTSTART;VALUE=DATE:20270501", "RRULE:FREQ=DAILY;UNTIL=20270502"}, "05-01; 05-02"},
		{"days until a time, which is a day here", []string{"DTSTART;VALUE=DATE:20270501", "RRULE:FREQ=DAILY;UNTIL=20270501T230000Z"}, "05-01; 05-02"},
		{"times left out count", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;COUNT=3", "EXDATE:20270502T090000"}, "05-01 09:00-10:00; 05-03 09:00-10:00"},

		{"left out in other zones, and in vain", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;COUNT=4", "EXDATE:20270501T080000Z,20270501T070000Z", "EXDATE" + berlin + "20270502T100000"},
			"05-03 09:00-10:00; 05-04 09:00-10:00"},
		{"left out by the day", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;COUNT=3;BYHOUR=9,15", "EXDATE;VALUE=DATE:20270501"}, "05-02 09:00-10:00"},
		{"days left out", []string{"DTSTART;VALUE=DATE:20270501", "RRULE:FREQ=DAILY;COUNT=4", "EXDATE;VALUE=DATE:20270502,20270503"}, "05-01; 05-04"},
		{"a list, in two lines and in another zone", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RDATE:20270503T090000,20270504T090000", "RDATE" + berlin + "20270505T090000"},
			"05-01 09:00-10:00; 05-03 09:00-10:00; 05-04 09:00-10:00; 05-05 08:00-09:00"},
		{"a list of days", []string{"DTSTART;VALUE=DATE:20270501", "DURATION:P2D", "RDATE;VALUE=DATE:20270510"}, "05-01; 05-02; 05-10; 05-11"},
		{"periods have ends of their own", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RDATE;VALUE=PERIOD:20270503T090000/20270503T093000,20270504T090000/PT2H"},
			"05-01 09:00-10:00; 05-03 09:00-09:30; 05-04 09:00-11:00"},
		{"the list too is left out", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RDATE:20270503T090000", "EXDATE:20270503T090000"}, "05-01 09:00-10:00"},
		{"two rules", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RRULE:FREQ=DAILY;COUNT=2", "RRULE:FREQ=WEEKLY;COUNT=2"}, "05-01 09:00-10:00; 05-02 09:00-10:00; 05-08 09:00-10:00"},
		{"a start that its rule does not have", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;BYDAY=MO;COUNT=2"}, "05-01 09:00-10:00; 05-03 09:00-10:00; 05-10 09:00-10:00"},
		{"a start that it leaves out", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;BYDAY=MO;COUNT=1", "EXDATE:20270501T090000"}, "05-03 09:00-10:00"},
		{"a rule without a day", []string{"DTSTART:20270501T090000", "DURATION:PT1H", "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"}, "05-01 09:00-10:00"},

		{"from long ago and without end", []string{"DTSTART;VALUE=DATE:19000228", "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=-1"}, "02-28"},
		{"its own weekday of a numbered week", []string{"DTSTART:20270519T090000", "DURATION:PT1H", "RRULE:FREQ=YEARLY;BYWEEKNO=20,22"}, "05-19 09:00-10:00; 06-02 09:00-10:00"},
		{"numbered weekdays beside plain ones", []string{"DTSTART;VALUE=DATE:20270503", "RRULE:FREQ=MONTHLY;BYDAY=MO,1TU;COUNT=4"}, "05-03; 05-04; 05-10; 05-17"},
		{"positions of a week that has begun", []string{"DTSTART;VALUE=DATE:20270505", "RRULE:FREQ=WEEKLY;BYDAY=MO,WE,FR;BYSETPOS=1,2;COUNT=2"}, "05-05; 05-10"},
		{"the last working day", []string{"DTSTART;VALUE=DATE:20270430", "RRULE:FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1;COUNT=3"}, "04-30; 05-31; 06-30"},
		{"minutes of an hour that has begun", []string{"DTSTART:20270505T093000", "DURATION:PT1M", "RRULE:FREQ=HOURLY;BYMINUTE=0,30;COUNT=2"}, "05-05 09:30-09:31; 05-05 10:00-10:01"},
		{"into the year", []string{"DTSTART:20261224T220000", "DURATION:P1DT4H", "RRULE:FREQ=DAILY;INTERVAL=7;COUNT=2"}, "01-01 00:00-24:00; 01-02 00:00-02:00"},
		{"out of the year", []string{"DTSTART:20271224T220000", "DURATION:P1DT4H", "RRULE:FREQ=DAILY;INTERVAL=7"}, "12-24 22:00-24:00; 12-25; 12-26 00:00-02:00; 12-31 22:00-24:00"},
		{"by the hour", []string{"DTSTART:20270328T000000", "DURATION:PT10M", "RRULE:FREQ=HOURLY;COUNT=4"}, "03-28 00:00-00:10; 03-28 02:00-02:10; 03-28 03:00-03:10"},
		{"by the minute between hours", []string{"DTSTART:20270301T093000", "DURATION:PT10M", "RRULE:FREQ=MINUTELY;INTERVAL=30;BYHOUR=9,10;BYDAY=MO;UNTIL=20270309T000000Z"},
			"03-01 09:30-09:40; 03-01 10:00-10:10; 03-01 10:30-10:40; 03-08 09:00-09:10; 03-08 09:30-09:40; 03-08 10:00-10:10; 03-08 10:30-10:40"},
		{"by the second, joined", []string{"DTSTART:20270301T093000", "DURATION:PT10S", "RRULE:FREQ=SECONDLY;COUNT=121"}, "03-01 09:30-09:33"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			want := strings.ReplaceAll(tc.want, " 00:00-24:00", "")
			if got, notes := takenBy(t, calendarFile(event(tc.lines...))); got != want || notes != "" {
				t.Errorf("got %q (%s)\nwant %q", got, notes, want)
			}
		})
	}
}

func TestInstancesThatWereChanged(t *testing.T) {
	weekly := event("DTSTART:20270503T090000", "DTEND:20270503T100000", "RRULE:FREQ=WEEKLY;COUNT=3")
	cases := []struct {
		name   string
		events []string
		want   string
		note   string // a part of the one note
	}{
		{"moved", []string{weekly, event("RECURRENCE-ID:20270510T090000", "DTSTART:20270511T140000", "DURATION:PT30M")}, "05-03 09:00-10:00; 05-11 14:00-14:30; 05-17 09:00-10:00", ""},
		{"moved, named before the event", []string{event("RECURRENCE-ID:20270510T090000", "DTSTART:20270511T140000", "DURATION:PT30M"), weekly}, "05-03 09:00-10:00; 05-11 14:00-14:30; 05-17 09:00-10:00", ""},
		{"named in another zone", []string{weekly, event("RECURRENCE-ID;TZID=Europe/Berlin:20270510T100000", "DTSTART:20270511T140000", "DURATION:PT30M")}, "05-03 09:00-10:00; 05-11 14:00-14:30; 05-17 09:00-10:00", ""},
		{"shorter at the same time", []string{weekly, event("RECURRENCE-ID:20270510T090000", "DTSTART:20270510T090000", "DURATION:PT30M")}, "05-03 09:00-10:00; 05-10 09:00-09:30; 05-17 09:00-10:00", ""},
		{"moved onto another instance", []string{weekly, event("RECURRENCE-ID:20270510T090000", "DTSTART:20270517T093000", "DURATION:PT1H")}, "05-03 09:00-10:00; 05-17 09:00-10:30", ""},
		{"cancelled", []string{weekly, event("RECURRENCE-ID:20270510T090000", "DTSTART:20270510T090000", "STATUS:CANCELLED")}, "05-03 09:00-10:00; 05-17 09:00-10:00", "it is cancelled"},
		{"takes no time any more", []string{weekly, event("RECURRENCE-ID:20270510T090000", "DTSTART:20270510T090000", "DURATION:PT1H", "TRANSP:TRANSPARENT")}, "05-03 09:00-10:00; 05-17 09:00-10:00", "TRANSP:TRANSPARENT"},
		{"of an event that the file does not have", []string{event("RECURRENCE-ID:20270510T090000", "DTSTART:20270511T140000", "DURATION:PT30M")}, "05-11 14:00-14:30", ""},
		{"no instance of the event", []string{weekly, event("RECURRENCE-ID:20270511T090000", "DTSTART:20270511T140000", "DURATION:PT30M")}, "05-03 09:00-10:00; 05-10 09:00-10:00; 05-11 14:00-14:30; 05-17 09:00-10:00", ""},
		{"of another event", []string{weekly, strings.Replace(event("RECURRENCE-ID:20270510T090000", "DTSTART:20270511T140000", "DURATION:PT30M"), "UID:1@", "UID:2@", 1)}, "05-03 09:00-10:00; 05-10 09:00-10:00; 05-11 14:00-14:30; 05-17 09:00-10:00", ""},
		{"a day", []string{event("DTSTART;VALUE=DATE:20270503", "RRULE:FREQ=DAILY;COUNT=2"), event("RECURRENCE-ID;VALUE=DATE:20270504", "DTSTART;VALUE=DATE:20270506")}, "05-03; 05-06", ""},
		{"the series is cancelled, its change is not", []string{event("DTSTART:20270503T090000", "RRULE:FREQ=DAILY", "STATUS:CANCELLED"), event("RECURRENCE-ID:20270504T090000", "DTSTART:20270504T140000", "DURATION:PT1H")}, "05-04 14:00-15:00", "it is cancelled"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			got, notes := takenBy(t, calendarFile(tc.events...))
			if got != tc.want || (tc.note == "") != (notes == "") || !strings.Contains(notes, tc.note) {
				t.Errorf("got %q (%s)\nwant %q (%s)", got, notes, tc.want, tc.note)
			}
		})
	}
}

func TestRecurrencesThatAreRefused(t *testing.T) {
	const day, timed = "DTSTART;VALUE=DATE:20270511", "DTSTART:20270511T100000\nDURATION:PT1H"
	rule := func(start, rule string) []string { return []string{start, "RRULE:" + rule} }
	cases := []struct {
		name  string
		lines []string
		want  string
	}{
		{"no frequency", rule(day, "COUNT=3"), "RRULE: RRULE property FREQ is required"},
		{"nothing", rule(day, ""), `RRULE: "" is no part of a rule`},
		{"an unknown frequency", rule(day, "FREQ=FORTNIGHTLY"), "RRULE: undefined frequency: FORTNIGHTLY"},
		{"an unknown part", rule(day, "FREQ=DAILY;EVERY=2"), `RRULE: "EVERY=2" is no part of a rule that is read`},
		{"another calendar", rule(day, "RSCALE=HEBREW;FREQ=YEARLY"), `RRULE: "RSCALE=HEBREW" is no part`},
		{"a part of the library's own", rule(day, "FREQ=YEARLY;BYEASTER=0"), `RRULE: "BYEASTER=0" is no part`},
		{"a part twice", rule(day, "FREQ=DAILY;FREQ=WEEKLY"), "RRULE: FREQ stands there twice"},
		{"count and end", rule(day, "FREQ=DAILY;COUNT=2;UNTIL=20270601"), "RRULE: it has both COUNT and UNTIL"},
		{"never", rule(day, "FREQ=DAILY;COUNT=0"), "RRULE: COUNT=0: want 1 or more"},
		{"no step", rule(day, "FREQ=DAILY;INTERVAL=0"), "RRULE: INTERVAL=0: want 1 to 32767"},
		{"too long a step", rule(day, "FREQ=WEEKLY;INTERVAL=9223372036854775807"), "RRULE: INTERVAL=9223372036854775807: want 1 to 32767"},
		{"an end that does not exist", rule(day, "FREQ=DAILY;UNTIL=20270230"), `RRULE: UNTIL: "20270230" is no day or time that exists`},
		{"a month that does not exist", rule(day, "FREQ=YEARLY;BYMONTH=13"), "RRULE: bymonth must be between 1 and 12"},
		{"a weekday that does not exist", rule(day, "FREQ=WEEKLY;BYDAY=XX"), "RRULE: undefined weekday: XX"},
		{"a numbered weekday of a week", rule(day, "FREQ=WEEKLY;BYDAY=1MO"), "RRULE: BYDAY=+1MO with FREQ=WEEKLY"},
		{"a weekday that no month has", rule(day, "FREQ=MONTHLY;BYDAY=6MO"), "RRULE: BYDAY=+6MO: no month has that"},
		{"the same from the end, of a year's month", rule(day, "FREQ=YEARLY;BYMONTH=5;BYDAY=-6MO"), "RRULE: BYDAY=-6MO: no month has that"},
		{"a numbered weekday of numbered weeks", rule(day, "FREQ=YEARLY;BYWEEKNO=3;BYDAY=1MO"), "RRULE: BYDAY=+1MO with BYWEEKNO"},
		{"numbered weeks of a month", rule(day, "FREQ=MONTHLY;BYWEEKNO=3"), "RRULE: BYWEEKNO with FREQ=MONTHLY"},
		{"positions in numbered weeks", rule(day, "FREQ=YEARLY;BYWEEKNO=3;BYDAY=MO,TU;BYSETPOS=1"), "RRULE: BYWEEKNO with BYSETPOS or INTERVAL is not read"},
		{"numbered weeks of every second year", rule(day, "FREQ=YEARLY;INTERVAL=2;BYWEEKNO=3"), "RRULE: BYWEEKNO with BYSETPOS or INTERVAL is not read"},
		{"days of the year in a month", rule(day, "FREQ=MONTHLY;BYYEARDAY=3"), "RRULE: BYYEARDAY with FREQ=MONTHLY"},
		{"days of the month in a week", rule(day, "FREQ=WEEKLY;BYMONTHDAY=3"), "RRULE: BYMONTHDAY with FREQ=WEEKLY"},
		{"positions of nothing", rule(day, "FREQ=MONTHLY;BYSETPOS=1"), "RRULE: BYSETPOS without another part"},
		{"positions in an hour", rule(timed, "FREQ=HOURLY;BYMINUTE=0,30;BYSETPOS=1"), "RRULE: BYSETPOS with FREQ=HOURLY is not read"},
		{"hours of whole days", rule(day, "FREQ=HOURLY;COUNT=2"), "RRULE: FREQ=HOURLY, but the event starts on a whole day"},
		{"every second without end", rule(timed, "FREQ=SECONDLY"), "RRULE: with FREQ=SECONDLY it repeats more than 100000 times until 2028-03-02"},
		{"every second of long ago", rule("DTSTART:19000101T000000\nDURATION:PT1S", "FREQ=SECONDLY"), "RRULE: with FREQ=SECONDLY it repeats more than 100000 times"},
		{"every hour at a minute that never comes", rule(timed, "FREQ=MINUTELY;INTERVAL=60;BYMINUTE=30"), ""},
		{"every second of some days", rule(timed, "FREQ=YEARLY;BYHOUR="+upTo(23)+";BYMINUTE="+upTo(59)+";BYSECOND="+upTo(59)), "RRULE: with FREQ=YEARLY it repeats more than 100000 times"},
		{"a rule that leaves out", []string{day, "RRULE:FREQ=DAILY", "EXRULE:FREQ=WEEKLY"}, "it leaves out times by a rule (EXRULE), which is not read"},
		{"a time left out of days", []string{day, "RRULE:FREQ=DAILY", "EXDATE:20270512T100000"}, `EXDATE: "20270512T100000" is a time, but the event starts on a whole day`},
		{"a time left out that does not exist", []string{timed, "RRULE:FREQ=DAILY", "EXDATE:20270512T100000,tomorrow"}, `EXDATE: "tomorrow" is no day or time that exists`},
		{"a listed time among days", []string{day, "RDATE:20270512T100000"}, `RDATE: "20270512T100000" and the event's start are not both days or both times`},
		{"a listed time of no zone", []string{timed, "RDATE;TZID=Mars/Base:20270512T100000"}, `RDATE: "Mars/Base" is no time zone`},
		{"a period backwards", []string{timed, "RDATE;VALUE=PERIOD:20270512T100000/20270512T090000"}, "RDATE: it ends before it starts"},
		{"a period without end", []string{timed, "RDATE;VALUE=PERIOD:20270512T100000/"}, `RDATE: "" is no day or time`},
		{"this and all to come", []string{timed, "RECURRENCE-ID;RANGE=THISANDFUTURE:20270511T090000"}, "it changes all instances from one on (RECURRENCE-ID with RANGE=THISANDFUTURE), which is not read"},
		{"the same, cancelled", []string{timed, "RECURRENCE-ID;RANGE=THISANDFUTURE:20270511T090000", "STATUS:CANCELLED"}, "RANGE=THISANDFUTURE"},
		{"an instance that does not exist", []string{timed, "RECURRENCE-ID:20270229"}, `RECURRENCE-ID: "20270229" is no day`},
		{"an instance that repeats", []string{timed, "RECURRENCE-ID:20270511T090000", "RRULE:FREQ=DAILY"}, "it changes one instance of an event (RECURRENCE-ID), yet repeats itself"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			s := harbourRow(t)
			s.ClosureFiles = []File{{"refit.ics", calendarFile(event(tc.lines...))}}
			started := time.Now()
			_, err := New(s, span(t, "2027-01-01..2027-12-31"))
			if took := time.Since(started); took > 10*time.Second {
				t.Errorf("it took %s", took)
			}
			if tc.want == "" {
				if err != nil {
					t.Error(err)
				}
				return
			}
			if err == nil || !strings.HasPrefix(err.Error(), `closure_files[0]: refit.ics: event "Refit" of `) || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v\nwant file, event and %q", err, tc.want)
			}
		})
	}
}

// upTo lists 0 to n.
func upTo(n int) string {
	list := "0"
	for i := 1; i <= n; i++ {
		list += "," + string(rune('0'+i/10)) + string(rune('0'+i%10))
	}
	return list
}

func TestInstancesOfNobodyAreRefused(t *testing.T) {
	timed, wholeDay := "DTSTART:20270511T100000\nDURATION:PT1H", "DTSTART;VALUE=DATE:20270511"
	const unlike = "(RECURRENCE-ID) and its start are not both days or both times"
	for _, tc := range []struct {
		want   string
		events []string
	}{
		{"of an event that it does not name (UID)", []string{strings.Replace(event(timed, "RECURRENCE-ID:20270511T090000"), "UID:1@clinic\n", "", 1)}},
		{unlike, []string{event(timed, "RRULE:FREQ=DAILY"), event(timed, "RECURRENCE-ID;VALUE=DATE:20270512")}},
		{unlike, []string{event(wholeDay, "RRULE:FREQ=DAILY"), event(wholeDay, "RECURRENCE-ID:20270512T000000")}},
	} {
		if _, _, err := BusyTimes(File{"oake.ics", calendarFile(tc.events...)}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31")); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("got %v, want %q", err, tc.want)
		}
	}
}

// TestAnyRuleComesToAnEnd throws rules at the reader that are mostly wrong: each is
// refused or followed, within some time.
func TestAnyRuleComesToAnEnd(t *testing.T) {
	numbers := []string{"0", "1", "2", "5", "6", "12", "13", "23", "24", "29", "30", "31", "32", "52", "53", "54", "59", "60", "366", "367", "32767", "99999999999", "x", ""}
	rapid.Check(t, func(rt *rapid.T) {
		number := func() string {
			return rapid.SampledFrom([]string{"", "", "-", "+"}).Draw(rt, "sign") + rapid.SampledFrom(numbers).Draw(rt, "number")
		}
		parts := []string{"FREQ=" + rapid.SampledFrom([]string{"YEARLY", "MONTHLY", "WEEKLY", "DAILY", "HOURLY", "MINUTELY", "SECONDLY"}).Draw(rt, "freq")}
		for range rapid.IntRange(0, 4).Draw(rt, "parts") {
			part := rapid.SampledFrom(ruleParts).Draw(rt, "part")
			value := number()
			if part == "BYDAY" || part == "WKST" {
				value = strings.TrimLeft(value, "0") + rapid.SampledFrom([]string{"MO", "SU", "TH"}).Draw(rt, "weekday")
			}
			if rapid.Bool().Draw(rt, "more") {
				value += "," + number()
			}
			parts = append(parts, part+"="+value)
		}
		start := rapid.SampledFrom([]string{"DTSTART:20261231T233000", "DTSTART;VALUE=DATE:20270331", "DTSTART;TZID=Africa/Casablanca:20240229T020000", "DTSTART:19000101T000000Z"}).Draw(rt, "start")
		length := rapid.SampledFrom([]string{"DURATION:P1D", "DURATION:P2W"}).Draw(rt, "length")
		started := time.Now()
		_, _, err := BusyTimes(File{"any.ics", calendarFile(event(start, length, "RRULE:"+strings.Join(parts, ";")))}, "Europe/Dublin", span(t, "2027-01-01..2027-12-31"))
		if took := time.Since(started); took > 10*time.Second {
			rt.Fatalf("it took %s", took)
		}
		if err != nil && !strings.Contains(err.Error(), "any.ics: event 1 of ") {
			rt.Fatal(err)
		}
	})
}
