package ics

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"graftclock/internal/day"
)

// foreign is a calendar as a server might hand it back; each case below changes one
// thing in it.
const foreign = `BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//elsewhere//server//EN
BEGIN:VEVENT
UID:1
DTSTAMP:20270104T081530Z
DTSTART;TZID=Europe/Dublin:20270714T083000
DTEND;TZID=Europe/Dublin:20270714T100000
SUMMARY:Visit\, 診療 🦷\; card \\ note
DESCRIPTION:one\ntwo\N 
LOCATION:Room 2
STATUS:CONFIRMED
SEQUENCE:4
TRANSP:OPAQUE
END:VEVENT
END:VCALENDAR
`

// dublin is an instant as the clocks of Europe/Dublin show it.
func dublin(t rapid.TB, text string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", text, mustZone(t, "Europe/Dublin"))
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestRead(t *testing.T) {
	want := Seen{
		UID: "1", Start: dublin(t, "2027-07-14 08:30"), End: dublin(t, "2027-07-14 10:00"), Summary: `Visit, 診療 🦷; card \ note`,
		Description: "one\ntwo", Location: "Room 2", Status: Confirmed, Sequence: 4,
	}
	start, end := "DTSTART;TZID=Europe/Dublin:20270714T083000", "DTEND;TZID=Europe/Dublin:20270714T100000"
	midnight := func(text string) time.Time {
		d, err := day.Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		return d.Time()
	}
	allDay := func(from, to string) func(*Seen) {
		return func(s *Seen) { s.AllDay, s.Start, s.End = true, midnight(from), midnight(to) }
	}
	tests := []struct {
		name, old, new string
		change         func(*Seen)
	}{
		{"as it is", "", "", func(*Seen) {}},
		{"in UTC", start, "DTSTART:20270714T073000Z", func(*Seen) {}},
		{"on the clinic's clocks", start, "DTSTART:20270714T083000", func(*Seen) {}},
		{"in a zone elsewhere", start, "DTSTART;TZID=America/New_York:20270714T033000", func(*Seen) {}},
		{"zone behind a vendor's name", start, "DTSTART;TZID=/vendor.example/2005/America/New_York:20270714T033000", func(*Seen) {}},
		{"zone of three parts behind it", end, "DTEND;TZID=/vendor.example/America/Argentina/Ushuaia:20270714T060000", func(*Seen) {}},
		{"zone in quotes", start, "DTSTART;X-A=\"b;c:d,e\";TZID=\"Europe/Dublin\":20270714T083000", func(*Seen) {}},
		{"folded with a space and a tab", "LOCATION:Room 2\nSTATUS", "LOCATION:R\n oo\n\tm 2\nSTATUS", func(*Seen) {}},
		{"folded within a character", "診療", "\xe8\n \xa8\xba\n\t療", func(*Seen) {}},
		{"names in small letters", start, "dtstart;tzid=Europe/Dublin:20270714T083000", func(*Seen) {}},
		{"length in place of an end", end, "DURATION:PT1H30M", func(*Seen) {}},
		{"length with a sign", end, "DURATION:+P0DT5400S", func(*Seen) {}},
		{"length in weeks", end, "DURATION:P2W", func(s *Seen) { s.End = dublin(t, "2027-07-28 08:30") }},
		{"a day by the calendar", start + "\n" + end, "DTSTART;TZID=Europe/Dublin:20271030T083000\nDURATION:P1D", func(s *Seen) {
			s.Start, s.End = dublin(t, "2027-10-30 08:30"), dublin(t, "2027-10-31 08:30")
		}},
		{"24 hours by the clock", start + "\n" + end, "DTSTART;TZID=Europe/Dublin:20271030T083000\nDURATION:PT24H", func(s *Seen) {
			s.Start, s.End = dublin(t, "2027-10-30 08:30"), dublin(t, "2027-10-31 07:30")
		}},
		{"neither", end + "\n", "", func(s *Seen) { s.End = s.Start }},
		{"end at the start", end, "DTEND:20270714T073000Z", func(s *Seen) { s.End = s.Start }},
		{"hour that comes twice", start + "\n" + end, "DTSTART;TZID=Europe/Dublin:20271031T013000\nDURATION:PT15M", func(s *Seen) {
			s.Start = time.Date(2027, 10, 31, 0, 30, 0, 0, time.UTC)
			s.End = s.Start.Add(15 * time.Minute)
		}},
		{"hour that never was", start + "\n" + end, "DTSTART;TZID=Europe/Dublin:20270328T013000\nDURATION:PT15M", func(s *Seen) {
			s.Start = time.Date(2027, 3, 28, 1, 30, 0, 0, time.UTC)
			s.End = s.Start.Add(15 * time.Minute)
		}},
		{"days", start + "\n" + end, "DTSTART;VALUE=DATE:20270714\nDTEND;VALUE=DATE:20270716", allDay("2027-07-14", "2027-07-16")},
		{"days that do not say so", start + "\n" + end, "DTSTART:20270714\nDTEND:20270716", allDay("2027-07-14", "2027-07-16")},
		{"a day", start + "\n" + end, "DTSTART;VALUE=DATE:20270714", allDay("2027-07-14", "2027-07-15")},
		{"a day that ends on itself", start + "\n" + end, "DTSTART;VALUE=DATE:20270714\nDTEND;VALUE=DATE:20270714", allDay("2027-07-14", "2027-07-15")},
		{"the last day there is", start + "\n" + end, "DTSTART;VALUE=DATE:21991231\nDTEND;VALUE=DATE:22000101", func(s *Seen) {
			s.AllDay, s.Start, s.End = true, day.Last.Time(), day.Last.AddDays(1).Time()
		}},
		{"a day with a length in hours", start + "\n" + end, "DTSTART;VALUE=DATE:20270714\nDURATION:PT48H", allDay("2027-07-14", "2027-07-16")},
		{"a day with a length", start + "\n" + end, "DTSTART;VALUE=DATE:20270714\nDURATION:P3D", allDay("2027-07-14", "2027-07-17")},
		{"cancelled", "CONFIRMED", "cancelled", func(s *Seen) { s.Status = Cancelled }},
		{"a status of no event", "CONFIRMED", "NEEDS-ACTION", func(s *Seen) { s.Status = "" }},
		{"transparent", "OPAQUE", "TRANSPARENT", func(s *Seen) { s.Transparent = true }},
		{"no number", "SEQUENCE:4\n", "", func(s *Seen) { s.Sequence = 0 }},
		{"no UID", "UID:1\n", "", func(s *Seen) { s.UID = "" }},
		{"rule", "STATUS", "RRULE:FREQ=DAILY\nSTATUS", func(s *Seen) { s.Recurring = true }},
		{"list", "STATUS", "RDATE:20270715T083000Z\nSTATUS", func(s *Seen) { s.Recurring = true }},
		{"one of several", "STATUS", "RECURRENCE-ID:20270715T083000Z\nSTATUS", func(s *Seen) { s.Recurring = true }},
		{"unknown property", "STATUS", "X-ELSEWHERE;X-A=\"b:c\":1\nSTATUS", func(*Seen) {}},
		{"alarm", "END:VEVENT", "BEGIN:VALARM\nUID:2\nACTION:DISPLAY\nDESCRIPTION:x\nTRIGGER:-P1D\nEND:VALARM\nEND:VEVENT", func(s *Seen) { s.Extra = []string{"alarm -86400"} }},
		{"alarm a day before, in hours", "END:VEVENT", "BEGIN:VALARM\nACTION:DISPLAY\nDESCRIPTION:x\nTRIGGER;RELATED=START:-PT24H\nEND:VALARM\nEND:VEVENT", func(s *Seen) { s.Extra = []string{"alarm -86400"} }},
		{"alarm before the end", "END:VEVENT", "BEGIN:VALARM\nACTION:DISPLAY\nDESCRIPTION:x\nTRIGGER;RELATED=END:-PT15M\nEND:VALARM\nEND:VEVENT", func(s *Seen) { s.Extra = []string{"alarm -900 from the end"} }},
		{"alarm at an instant", "END:VEVENT", "BEGIN:VALARM\nACTION:DISPLAY\nDESCRIPTION:x\nTRIGGER;VALUE=DATE-TIME:20270713T073000Z\nEND:VALARM\nEND:VEVENT", func(s *Seen) { s.Extra = []string{"alarm 20270713T073000Z"} }},
		{"things of their own, in order", "STATUS", "url:https://x.example/a\nATTENDEE;CN=Wyn:mailto:wyn@x.example\nCATEGORIES:Interpreter\nSTATUS", func(s *Seen) {
			s.Extra = []string{"ATTENDEE mailto:wyn@x.example", "CATEGORIES Interpreter", "URL https://x.example/a"}
		}},
		{"other components", "BEGIN:VEVENT", "BEGIN:VTODO\nUID:3\nEND:VTODO\nBEGIN:VTIMEZONE\nTZID:X\nEND:VTIMEZONE\nBEGIN:VEVENT", func(*Seen) {}},
		{"property between components", "END:VCALENDAR", "X-WR-CALNAME:Desk\nEND:VCALENDAR", func(*Seen) {}},
		{"byte order mark", "BEGIN:VCALENDAR", "\ufeffBEGIN:VCALENDAR", func(*Seen) {}},
	}
	for _, tt := range tests {
		for ends, file := range map[string]string{"\r\n": strings.ReplaceAll(foreign, "\n", "\r\n"), "\n": foreign} {
			t.Run(fmt.Sprintf("%s %q", tt.name, ends), func(t *testing.T) {
				old, new := strings.ReplaceAll(tt.old, "\n", ends), strings.ReplaceAll(tt.new, "\n", ends)
				if !strings.Contains(file, old) {
					t.Fatalf("no %q", old)
				}
				want := want
				tt.change(&want)
				got := seenOf(t, []byte(strings.Replace(file, old, new, 1)), "Europe/Dublin")
				if diff := cmp.Diff(want, got); diff != "" {
					t.Errorf("(-want +got):\n%s", diff)
				}
				if !got.AllDay && got.Start.Location().String() != "Europe/Dublin" {
					t.Errorf("on the clocks of %s", got.Start.Location())
				}
			})
		}
	}
}

func TestReadNamesWhatItCannotRead(t *testing.T) {
	tests := []struct{ name, old, new, want string }{
		{"no calendar", foreign, "<html>", "no whole calendar"},
		{"nothing", foreign, "", "no whole calendar"},
		{"cut short", "END:VCALENDAR\n", "", "no whole calendar"},
		{"two calendars", "END:VCALENDAR\n", "END:VCALENDAR\n" + foreign, "no readable calendar"},
		{"event without end", "END:VEVENT\n", "", "no readable calendar"},
		{"line that is none", "LOCATION:Room 2", "LOCATION", `"LOCATION" does not begin with the name`},
		{"garbage before a name", "LOCATION:Room 2", "!!LOCATION:Room 2", "does not begin with the name"},
		{"components without end in one another", "LOCATION:Room 2", strings.Repeat("BEGIN:VALARM\n", 1_000_000), "too deep"},
		{"the same behind garbage", "LOCATION:Room 2", strings.Repeat("!BEGIN:VALARM\n", 1_000_000), "does not begin with the name"},
		{"the same with folds in the word", "LOCATION:Room 2", strings.Repeat("BEG\n IN:VALARM\n", 1_000_000), "too deep"},
		{"the same behind blank lines", "LOCATION:Room 2", strings.Repeat("\n BEGIN:VALARM\n", 1_000_000), "too deep"},
		{"the same with a parameter", "LOCATION:Room 2", strings.Repeat("BEGIN;X=1:VALARM\n", 1_000_000), "too deep"},
		{"zone of a vendor's own", "DTSTART;TZID=Europe/Dublin", "DTSTART;TZID=W. Europe Standard Time", `(UID "1"): DTSTART: "W. Europe Standard Time"`},
		{"zone of the file's own", "DTEND;TZID=Europe/Dublin", "DTEND;TZID=/vendor.example/Harbour", `DTEND: "/vendor.example/Harbour" is no time zone`},
		{"tail without a slash before it", "DTEND;TZID=Europe/Dublin", "DTEND;TZID=vendor/Europe/Dublin", `"vendor/Europe/Dublin" is no time zone`},
		{"zone of this machine", "DTSTART;TZID=Europe/Dublin", "DTSTART;TZID=Local", `"Local" is no time zone`},
		{"zone outside the zone folder", "DTSTART;TZID=Europe/Dublin", "DTSTART;TZID=/../../etc/passwd", "is no time zone"},
		{"no start", "DTSTART;TZID=Europe/Dublin:20270714T083000\n", "", "no DTSTART"},
		{"start that is none", "20270714T083000", "20270231T083000", "no day or time"},
		{"start in another form", "20270714T083000", "2027-07-14T08:30", "no day or time"},
		{"start with fractions", "20270714T083000", "20270714T083000.5", "no day or time"},
		{"start too long ago", "20270714T083000", "18991231T083000", "outside"},
		{"end before the start", "20270714T100000", "20270713T100000", "ends before it starts"},
		{"end is a day", "DTEND;TZID=Europe/Dublin:20270714T100000", "DTEND;VALUE=DATE:20270715", "not both days or both times"},
		{"length that is none", "DTEND;TZID=Europe/Dublin:20270714T100000", "DURATION:90M", "no length"},
		{"days with half a day", "DTSTART;TZID=Europe/Dublin:20270714T083000\nDTEND;TZID=Europe/Dublin:20270714T100000", "DTSTART;VALUE=DATE:20270714\nDURATION:PT36H", "has hours"},
		{"event in small letters", foreign, strings.ReplaceAll(foreign, "VEVENT", "vevent"), "must be in capitals"},
		{"start is a day", "DTSTART;TZID=Europe/Dublin:20270714T083000", "DTSTART;VALUE=DATE:20270714", "not both days or both times"},
		{"length before the start", "DTEND;TZID=Europe/Dublin:20270714T100000", "DURATION:-PT90M", "no length"},
		{"length past all bounds", "DTEND;TZID=Europe/Dublin:20270714T100000", "DURATION:PT99999999999999999999H", "too long"},
		{"length of hours past all bounds", "DTEND;TZID=Europe/Dublin:20270714T100000", "DURATION:PT9000000H", "too long"},
		{"length of days past all bounds", "DTEND;TZID=Europe/Dublin:20270714T100000", "DURATION:P9000W", "too long"},
		{"number that is none", "SEQUENCE:4", "SEQUENCE:four", `SEQUENCE "four"`},
		{"number below 0", "SEQUENCE:4", "SEQUENCE:-4", `SEQUENCE "-4"`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			seen, err := Read(crlf(strings.Replace(foreign, tt.old, tt.new, 1)), "Europe/Dublin")
			if err == nil || !strings.Contains(err.Error(), tt.want) || len(seen) > 0 {
				t.Errorf("got %v, %v; want an error with %q", seen, err, tt.want)
			}
		})
	}
	for _, zone := range []string{"", "Local", "Harbour/Row", "../../etc/passwd"} {
		if _, err := Read(crlf(foreign), zone); err == nil || !strings.Contains(err.Error(), "is no time zone") {
			t.Errorf("zone %q: %v", zone, err)
		}
	}
}

func TestReadKeepsTheEventsThatCanBeRead(t *testing.T) {
	event := foreign[strings.Index(foreign, "BEGIN:VEVENT"):strings.Index(foreign, "END:VCALENDAR")]
	bad := strings.NewReplacer("UID:1", "UID:2", "20270714T083000", "tomorrow").Replace(event)
	worse := strings.NewReplacer("UID:1", "UID:3", "SEQUENCE:4", "SEQUENCE:x").Replace(event)
	last := strings.Replace(event, "UID:1", "UID:4", 1)
	seen, err := Read(crlf(strings.Replace(foreign, "END:VCALENDAR", bad+worse+last+"END:VCALENDAR", 1)), "Europe/Dublin")
	if len(seen) != 2 || seen[0].UID != "1" || seen[1].UID != "4" {
		t.Errorf("got %v", seen)
	}
	if err == nil || !strings.Contains(err.Error(), `event 2 (UID "2")`) || !strings.Contains(err.Error(), `event 3 (UID "3")`) {
		t.Errorf("got %v, want events 2 and 3 named", err)
	}
}

// What Encode writes, Read reads.
func TestReadIsTheInverseOfEncode(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone := rapid.SampledFrom(testZones).Draw(t, "zone")
		loc := mustZone(t, zone)
		cal := Calendar{Zone: zone, Stamp: stamp}
		var want []Seen
		for i := range rapid.IntRange(1, 4).Draw(t, "events") {
			e := randomEvent(t, fmt.Sprint(i))
			cal.Events = append(cal.Events, e)
			s := Seen{
				UID: e.UID, Summary: visible(e.Summary), Description: visible(e.Description), Location: visible(e.Location),
				Status: e.Status, Sequence: e.Sequence, Transparent: e.Transparent, AllDay: !e.timed(),
				Start: e.Day.Time(), End: e.lastDay().AddDays(1).Time(),
			}
			if e.timed() {
				start, _ := resolve(e.Day.Time().Add(time.Duration(e.Start)*time.Minute), loc)
				s.Start, s.End = start, start.Add(time.Duration(e.Minutes)*time.Minute)
			}
			for _, before := range e.Alarms {
				if e.Status != Cancelled {
					s.Extra = append(s.Extra, fmt.Sprintf("alarm %d", before.Days*24*60*60))
				}
			}
			slices.Sort(s.Extra)
			want = append(want, s)
		}
		got, err := Read(encode(t, cal), zone)
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Fatalf("%v (-want +got):\n%s", err, diff)
		}
	})
}
