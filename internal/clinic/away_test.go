package clinic

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// locum is a second surgeon, in on every open day.
var locum = Person{Name: "Dr Finn Oake", Role: "surgeon"}

func TestAwayAndOutOfUse(t *testing.T) {
	monday := "2027-05-17"
	course := func(s *Settings) {
		s.People[0].Absent = append(s.People[0].Absent, Closure{on(t, monday), on(t, "2027-05-18"), "course"})
	}
	repair := func(s *Settings) {
		s.Rooms[0].OutOfUse = []Closure{{From: on(t, monday), Name: "repair"}}
	}
	cases := []struct {
		name, day string
		lay       []func(*Settings)
		want      string
	}{
		{"nobody away", monday, nil, ""},
		{"the day before", "2027-05-13", []func(*Settings){course}, ""},
		{"the only surgeon away", monday, []func(*Settings){course}, "no surgeon in: Dr Alba Quill away (course)"},
		{"the last day away", "2027-05-18", []func(*Settings){course}, "no surgeon in: Dr Alba Quill away (course)"},
		{"the day after", "2027-05-20", []func(*Settings){course}, ""},
		{"none of the surgeon's days anyway", "2027-05-19", []func(*Settings){func(s *Settings) {
			s.People[0].Absent = []Closure{{From: on(t, "2027-05-19"), Name: "course"}}
		}}, "no surgeon in on Wednesdays"},
		{"away without a name", monday, []func(*Settings){func(s *Settings) {
			s.People[0].Absent = []Closure{{From: on(t, monday)}}
		}}, "no surgeon in: Dr Alba Quill away"},
		{"away for two reasons", monday, []func(*Settings){course, func(s *Settings) {
			s.People[0].Absent = append(s.People[0].Absent, Closure{From: on(t, monday), Name: "jury"}, Closure{From: on(t, monday), Name: "course"})
		}}, "no surgeon in: Dr Alba Quill away (course, jury)"},
		{"another surgeon is in", monday, []func(*Settings){course, func(s *Settings) {
			s.People = append(s.People, locum)
		}}, ""},
		{"both surgeons away", monday, []func(*Settings){course, func(s *Settings) {
			s.People = append(s.People, locum)
			s.People[2].Absent = []Closure{{From: on(t, monday)}}
		}}, "no surgeon in: Dr Alba Quill away (course), Dr Finn Oake away"},
		{"the room out of use", monday, []func(*Settings){repair}, "no surgery room: Surgery 1 out of use (repair)"},
		{"person and room", monday, []func(*Settings){course, repair}, "no surgeon in: Dr Alba Quill away (course); no surgery room: Surgery 1 out of use (repair)"},
		{"a whole day of a busy file", monday, []func(*Settings){func(s *Settings) {
			s.People[0].BusyFiles = []File{{"quill.ics", calendarFile(event("DTSTART;VALUE=DATE:20270517"))}}
		}}, "no surgeon in: Dr Alba Quill away (Refit)"},
		{"all the hours of the day", monday, []func(*Settings){func(s *Settings) {
			s.Rooms[0].BusyFiles = []File{{"room.ics", calendarFile(event("DTSTART:20270517T083000", "DTEND:20270517T170000"))}}
		}}, "no surgery room: Surgery 1 out of use (Refit)"},
		{"all of the day but its last minute", monday, []func(*Settings){func(s *Settings) {
			s.Rooms[0].BusyFiles = []File{{"room.ics", calendarFile(event("DTSTART:20270517T083000", "DTEND:20270517T165900"))}}
		}}, ""},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			s := harbourRow(t)
			for _, lay := range tc.lay {
				lay(&s)
			}
			c := build(t, s, "2027-01-01..2027-12-31")
			if got := strings.Join(c.Obstacles(on(t, tc.day), "placement", ""), "; "); got != tc.want {
				t.Errorf("got %q, want %q", got, tc.want)
			}
			first, _, _ := strings.Cut(tc.want, "; ")
			if fits, why := c.Fits(on(t, tc.day), "placement"); why != first || fits != (first == "") {
				t.Errorf("fits %v, %q, want %q", fits, why, first)
			}
		})
	}
}

func TestBusyFile(t *testing.T) {
	cases := []struct {
		name  string
		lines []string
		busy  string // without the person
		away  []string
		note  string // a part of the one note
	}{
		{"a time of day", []string{"DTSTART:20270517T110000", "DTEND:20270517T113000"}, "Mon 2027-05-17 11:00-11:30", nil, ""},
		{"UTC in summer", []string{"DTSTART:20270517T100000Z", "DTEND:20270517T103000Z"}, "Mon 2027-05-17 11:00-11:30", nil, ""},
		{"UTC in winter", []string{"DTSTART:20270111T100000Z", "DTEND:20270111T103000Z"}, "Mon 2027-01-11 10:00-10:30", nil, ""},
		{"another zone, while only its clock is changed", []string{"DTSTART;TZID=America/New_York:20270315T060000", "DURATION:PT30M"}, "Mon 2027-03-15 10:00-10:30", nil, ""},
		{"over midnight", []string{"DTSTART:20270517T160000", "DTEND:20270518T090000"}, "Mon 2027-05-17 16:00-24:00; Tue 2027-05-18 00:00-09:00", nil, ""},
		{"over midnight and a whole day", []string{"DTSTART:20270517T160000", "DTEND:20270519T090000"},
			"Mon 2027-05-17 16:00-24:00; Wed 2027-05-19 00:00-09:00", []string{"2027-05-18"}, ""},
		{"over the night in which summer time starts", []string{"DTSTART:20270326T120000Z", "DTEND:20270330T080000Z"},
			"Fri 2027-03-26 12:00-24:00; Tue 2027-03-30 00:00-09:00", []string{"2027-03-27", "2027-03-28", "2027-03-29"}, ""},
		{"in the hour shown twice", []string{"DTSTART:20271031T004500Z", "DTEND:20271031T011500Z"}, "Sun 2027-10-31 01:00-02:00", nil, ""},
		{"all day", []string{"DTSTART;VALUE=DATE:20270517", "DTEND;VALUE=DATE:20270519"}, "", []string{"2027-05-17", "2027-05-18"}, ""},
		{"all day when the clinic is closed", []string{"DTSTART;VALUE=DATE:20270516"}, "", []string{"2027-05-16"}, ""},
		{"a time when the clinic is closed", []string{"DTSTART:20270516T090000", "DTEND:20270516T100000"}, "Sun 2027-05-16 09:00-10:00", nil, ""},
		{"all the hours of a short Friday", []string{"DTSTART:20270514T083000", "DTEND:20270514T130000"}, "", []string{"2027-05-14"}, ""},
		{"the same hours of a long Thursday", []string{"DTSTART:20270513T083000", "DTEND:20270513T130000"}, "Thu 2027-05-13 08:30-13:00", nil, ""},
		{"before the horizon", []string{"DTSTART:20261231T090000", "DTEND:20261231T100000"}, "", nil, ""},
		{"just after the horizon", []string{"DTSTART:20280103T090000", "DTEND:20280103T100000"}, "", nil, ""},
		{"cancelled", []string{"DTSTART:20270517T110000", "DTEND:20270517T113000", "STATUS:CANCELLED"}, "", nil, "it is cancelled"},
		{"takes no time", []string{"DTSTART:20270517T110000", "DTEND:20270517T113000", "TRANSP:TRANSPARENT"}, "", nil, "TRANSP:TRANSPARENT"},
		{"no length", []string{"DTSTART:20270517T110000"}, "", nil, "it has no length"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			s := harbourRow(t)
			s.People = append(s.People, locum)
			s.People[2].BusyFiles = []File{{"oake.ics", calendarFile(event(tc.lines...))}}
			c := build(t, s, "2027-01-01..2027-12-31")
			var busy, away []string
			for _, b := range c.Busy() {
				if b.Person != locum.Name || b.Room != "" || b.Name != "Refit" {
					t.Errorf("busy: got %+v", b)
				}
				b.Person = ""
				busy = append(busy, b.String())
			}
			for d := c.Horizon().From; c.Horizon().Contains(d); d = d.AddDays(1) {
				if in, _ := c.PersonIn(d, locum.Name); !in {
					away = append(away, d.String())
				}
			}
			if got := strings.Join(busy, "; "); got != tc.busy {
				t.Errorf("busy: got %q, want %q", got, tc.busy)
			}
			if diff := cmp.Diff(tc.away, away); diff != "" {
				t.Errorf("away (-want +got):\n%s", diff)
			}
			notes := strings.Join(c.Notes(), "\n")
			if (tc.note == "") != (notes == "") || !strings.Contains(notes, tc.note) {
				t.Errorf("got notes %q, want one with %q", notes, tc.note)
			}
		})
	}
}

func TestBusyTimesOfPeopleAndRoomsComeInOrder(t *testing.T) {
	s := harbourRow(t)
	s.People[1].BusyFiles = []File{{"tate.ics", calendarFile(
		event("DTSTART:20270518T100000", "DTEND:20270518T110000"), event("DTSTART:20270517T100000", "DTEND:20270517T110000"))}}
	s.Rooms[1].BusyFiles = []File{{"imaging.ics", calendarFile(event("DTSTART:20270518T090000", "DTEND:20270518T093000"))}}
	var got []string
	for _, b := range build(t, s, "2027-01-01..2027-12-31").Busy() {
		got = append(got, b.String())
	}
	want := []string{"Mon 2027-05-17 10:00-11:00, Nurse Wyn Tate", "Tue 2027-05-18 09:00-09:30, Imaging", "Tue 2027-05-18 10:00-11:00, Nurse Wyn Tate"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("busy (-want +got):\n%s", diff)
	}
}

func TestBusyFilesAreRefusedLikeClosureFiles(t *testing.T) {
	const refit = `event "Refit" of 20270517T100000, line 4: `
	for name, tc := range map[string]struct {
		data []byte
		want string
	}{
		"no such rule":   {calendarFile(event("DTSTART:20270517T100000", "DTEND:20270517T110000", "RRULE:FREQ=WEEKDAYS")), refit + "RRULE: undefined frequency: WEEKDAYS"},
		"no calendar":    {[]byte("busy"), "no whole iCalendar file"},
		"a cancellation": {calendarFile("METHOD:CANCEL"), "a cancellation (METHOD:CANCEL)"},
		"no such zone":   {calendarFile(event("DTSTART;TZID=Local:20270517T100000", "DURATION:PT1H")), refit + `DTSTART: "Local" is no time zone`},
		"backwards":      {calendarFile(event("DTSTART:20270517T100000", "DTEND:20270517T090000")), refit + "it ends before it starts"},
	} {
		s := harbourRow(t)
		s.People[0].BusyFiles = []File{{"good.ics", calendarFile(event("DTSTART;VALUE=DATE:20270517"))}, {"quill.ics", tc.data}}
		s.Rooms[1].BusyFiles = []File{{"imaging.ics", tc.data}}
		_, err := New(s, span(t, "2027-01-01..2027-12-31"))
		for _, field := range []string{"people[0].busy_files[1]: quill.ics: ", "rooms[1].busy_files[0]: imaging.ics: "} {
			if err == nil || !strings.Contains(err.Error(), field+tc.want) {
				t.Errorf("%s: got %v, want %q", name, err, field+tc.want)
			}
		}
	}
}

func TestBusyFileThatTakesNothingIsNoted(t *testing.T) {
	s := harbourRow(t)
	s.Rooms[0].BusyFiles = []File{{"room.ics", calendarFile("BEGIN:VTODO\nUID:2@clinic\nEND:VTODO")}}
	got := strings.Join(build(t, s, "2027-01-01..2027-12-31").Notes(), "; ")
	if want := "room.ics: entries that are no events ignored: 1; room.ics takes no time of Surgery 1"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestPersonInAndRoomIn(t *testing.T) {
	s := harbourRow(t)
	s.People[0].Absent = []Closure{{on(t, "2027-05-13"), on(t, "2027-05-17"), "course"}}
	s.Rooms[1].OutOfUse = []Closure{{From: on(t, "2027-05-18"), Name: "repair"}}
	c := build(t, s, "2027-01-01..2027-12-31")
	for _, tc := range []struct{ day, person, room, want string }{
		{"2027-05-18", "Dr Alba Quill", "", ""},
		{"2027-05-17", "Dr Alba Quill", "", "Dr Alba Quill away (course)"},
		{"2027-05-14", "Dr Alba Quill", "", "Dr Alba Quill not in on Fridays"},
		{"2027-05-14", "Nurse Wyn Tate", "", ""},
		{"2027-05-14", "Surgery 1", "", "the clinic has no Surgery 1"},
		{"2028-05-14", "Nurse Wyn Tate", "", "2028-05-14 is outside the clinic calendar, which runs from 2027-01-01 to 2027-12-31"},
		{"2027-05-16", "", "Surgery 1", ""}, // closed, but not for want of the room
		{"2027-05-17", "", "Imaging", "Imaging not to be had on Mondays"},
		{"2027-05-18", "", "Imaging", "Imaging out of use (repair)"},
		{"2027-05-18", "", "Nurse Wyn Tate", "the clinic has no room Nurse Wyn Tate"},
	} {
		in, why := c.PersonIn(on(t, tc.day), tc.person)
		if tc.room != "" {
			in, why = c.RoomIn(on(t, tc.day), tc.room)
		}
		if why != tc.want || in != (tc.want == "") {
			t.Errorf("%s%s on %s: got %v, %q, want %q", tc.person, tc.room, tc.day, in, why, tc.want)
		}
	}
}

func TestOpening(t *testing.T) {
	s := harbourRow(t)
	s.Rooms = append(s.Rooms, Room{Name: "Surgery 2", For: []string{"surgery"}})
	s.People = append(s.People, locum)
	s.People[0].Absent = []Closure{{From: on(t, "2027-05-18"), Name: "course"}}
	s.Visits["call"] = Visit{Minutes: 10, Role: "nurse"}
	s.Visits["any"] = Visit{}
	c := build(t, s, "2027-01-01..2027-12-31")
	full, both, surgery := hours(t, "08:30-12:30", "13:30-17:00"), []string{"Dr Alba Quill", "Dr Finn Oake"}, []string{"Surgery 1", "Surgery 2"}
	offers := func(minutes int, hours []day.Hours, rooms, people []string) graft.Opening {
		return graft.Opening{Minutes: minutes, Grid: 15, Hours: hours, NeedsRoom: true, NeedsPerson: true, Rooms: rooms, People: people}
	}
	for _, tc := range []struct {
		name, day, visit string
		want             graft.Opening
	}{
		{"all there", "2027-05-17", "placement", offers(90, full, surgery, both)},
		{"one away", "2027-05-18", "placement", offers(90, full, surgery, both[1:])},
		{"a room of few days", "2027-05-17", "imaging", offers(15, full, nil, []string{"Nurse Wyn Tate"})},
		{"a half day", "2027-12-23", "placement", offers(90, hours(t, "08:30-12:00"), surgery, both)},
		{"a closed day", "2027-05-16", "placement", offers(90, nil, surgery, both[1:])},
		{"no room needed", "2027-05-17", "call", graft.Opening{Minutes: 10, Grid: 15, Hours: full, NeedsPerson: true, People: []string{"Nurse Wyn Tate"}}},
		{"nothing needed", "2027-05-17", "any", graft.Opening{Grid: 15, Hours: full}},
		{"unknown visit", "2027-05-17", "massage", graft.Opening{}},
		{"before the horizon", "2026-12-31", "placement", graft.Opening{}},
		{"after the horizon", "2028-01-03", "placement", graft.Opening{}},
	} {
		if diff := cmp.Diff(tc.want, c.Opening(on(t, tc.day), tc.visit)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tc.name, diff)
		}
	}
	if c.Grid() != 15 {
		t.Errorf("grid: got %d", c.Grid())
	}
	s.GridMinutes = 0
	if got := build(t, s, "2027-01-01..2027-12-31").Opening(on(t, "2027-05-17"), "any").Grid; got != 1 {
		t.Errorf("grid of settings without one: got %d, want 1", got)
	}
}

func TestObstaclesAreAllTold(t *testing.T) {
	s := harbourRow(t)
	s.Closures = append(s.Closures,
		Closure{on(t, "2027-08-09"), on(t, "2027-08-10"), "Painters"},
		Closure{From: on(t, "2027-03-17"), Name: "Refit"})
	s.Holidays.Add = append(s.Holidays.Add, NamedDay{on(t, "2027-03-17"), "Harbour day"})
	s.HalfDays = append(s.HalfDays, SpecialDay{on(t, "2027-05-14"), hours(t, "08:30-09:00"), "Staff meeting"})
	s.ExtraDays = []SpecialDay{{on(t, "2027-08-11"), hours(t, "09:00-11:00"), "Suture list"}}
	s.ClosureFiles = []File{{"refit.ics", calendarFile(event("DTSTART;VALUE=DATE:20270317"))}}
	s.People[0].Absent = []Closure{{on(t, "2027-08-09"), on(t, "2027-08-20"), "leave"}}
	c := build(t, s, "2027-01-01..2027-12-31")
	const outside = "2028-01-03 is outside the clinic calendar, which runs from 2027-01-01 to 2027-12-31"
	for _, tc := range []struct {
		name, day, visit, role string
		want                   []string
	}{
		{"fits", "2027-05-17", "placement", "", nil},
		{"a closing day", "2027-05-16", "", "", []string{"closed on Sundays"}},
		{"a closing day, for a visit", "2027-05-16", "wound-check", "", []string{"closed on Sundays", "no nurse in on Sundays"}},
		{"closure over a closing day", "2027-08-08", "", "", []string{"closed: Summer closure", "closed on Sundays"}},
		{"two closures, and someone away", "2027-08-09", "placement", "", []string{"closed: Painters", "closed: Summer closure", "no surgeon in: Dr Alba Quill away (leave)"}},
		{"the same for a role", "2027-08-09", "", "surgeon", []string{"closed: Painters", "closed: Summer closure", "no surgeon in: Dr Alba Quill away (leave)"}},
		{"the visit goes before the role", "2027-08-09", "wound-check", "surgeon", []string{"closed: Painters", "closed: Summer closure"}},
		{"two closures of one name over two holidays", "2027-03-17", "", "", []string{"closed: Refit", "closed: Saint Patrick's Day", "closed: Harbour day"}},
		{"an extra day opens all", "2027-08-11", "wound-check", "", nil},
		{"person, room and hours", "2027-05-14", "placement", "", []string{"no surgeon in on Fridays", "open 30 minutes at most, the visit takes 90"}},
		{"room alone", "2027-05-17", "imaging", "", []string{"no imaging room on Mondays"}},
		{"unknown visit", "2027-05-16", "massage", "", []string{`the clinic has no visit "massage"`, "closed on Sundays"}},
		{"unknown role", "2027-05-17", "", "hygienist", []string{"the clinic has no hygienist"}},
		{"outside", "2028-01-03", "placement", "", []string{outside}},
		{"outside and unknown", "2028-01-03", "massage", "", []string{`the clinic has no visit "massage"`, outside}},
	} {
		if diff := cmp.Diff(tc.want, c.Obstacles(on(t, tc.day), tc.visit, tc.role)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tc.name, diff)
		}
	}
}

func TestBusyStringTellsWhoAndWhen(t *testing.T) {
	b := Busy{graft.Slot{Day: on(t, "2027-05-17"), Start: 660, Minutes: 30, Room: "Imaging"}, "service"}
	if got := fmt.Sprint(b); got != "Mon 2027-05-17 11:00-11:30, Imaging" {
		t.Errorf("got %q", got)
	}
}
