package clinic

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
)

func on(t testing.TB, text string) day.Day {
	t.Helper()
	d, err := day.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func hours(t testing.TB, texts ...string) (list []day.Hours) {
	t.Helper()
	for _, text := range texts {
		h, err := day.ParseHours(text)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, h)
	}
	return list
}

func span(t testing.TB, text string) day.Span {
	t.Helper()
	s, err := day.ParseSpan(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// harbourRow is the valid clinic from which the cases start.
func harbourRow(t testing.TB) Settings {
	full, friday := hours(t, "08:30-12:30", "13:30-17:00"), hours(t, "08:30-13:00")
	return Settings{
		Name: "Harbour Row Oral Surgery", ShortName: "Harbour Row",
		Zone: "Europe/Dublin", Region: "IE",
		Holidays:    Holidays{AlsoClosedOnTheDay: true, Add: []NamedDay{{on(t, "2027-03-19"), "Town fair"}}},
		Hours:       Week{time.Monday: full, time.Tuesday: full, time.Wednesday: full, time.Thursday: full, time.Friday: friday},
		Closures:    []Closure{{on(t, "2027-08-02"), on(t, "2027-08-20"), "Summer closure"}},
		HalfDays:    []SpecialDay{{on(t, "2027-12-23"), hours(t, "08:30-12:00"), "Christmas"}},
		GridMinutes: 15,
		Rooms: []Room{
			{Name: "Surgery 1", For: []string{"surgery", "check"}},
			{Name: "Imaging", For: []string{"imaging"}, Days: day.WeekdaySet(time.Tuesday, time.Thursday)},
		},
		People: []Person{
			{Name: "Dr Alba Quill", Role: "surgeon", Days: day.WeekdaySet(time.Monday, time.Tuesday, time.Thursday)},
			{Name: "Nurse Wyn Tate", Role: "nurse", Days: day.WeekdaySet(time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday)},
		},
		Visits: map[string]Visit{
			"wound-check": {20, "check", "nurse"},
			"imaging":     {15, "imaging", "nurse"},
			"placement":   {90, "surgery", "surgeon"},
		},
	}
}

func build(t testing.TB, s Settings, horizon string) *Calendar {
	t.Helper()
	c, err := New(s, span(t, horizon))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func status(t testing.TB, c *Calendar, text string) Status {
	t.Helper()
	got, err := c.Status(on(t, text))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func TestStatusOfTheExampleClinic(t *testing.T) {
	c := build(t, harbourRow(t), "2026-01-01..2028-12-31")
	cases := []struct{ name, day, hours, why string }{
		{"an ordinary Monday", "2027-03-15", "08:30-12:30 13:30-17:00", "open"},
		{"a short Friday", "2027-03-12", "08:30-13:00", "open"},
		{"a Saturday", "2027-03-13", "", "closed: weekly closing day (Saturday)"},
		{"a public holiday", "2027-03-17", "", "closed: public holiday (Saint Patrick's Day)"},
		{"a holiday on a Saturday is a holiday", "2026-12-26", "", "closed: public holiday (Saint Stephen's Day)"},
		{"an added holiday", "2027-03-19", "", "closed: public holiday (Town fair)"},
		{"the first day of a closure", "2027-08-02", "", "closed: closure (Summer closure)"},
		{"its last day", "2027-08-20", "", "closed: closure (Summer closure)"},
		{"the weekend after it", "2027-08-21", "", "closed: weekly closing day (Saturday)"},
		{"the day it is over", "2027-08-23", "08:30-12:30 13:30-17:00", "open"},
		{"a half day", "2027-12-23", "08:30-12:00", "open: half day (Christmas)"},
		{"the last day of the year", "2027-12-31", "08:30-13:00", "open"},
		{"New Year", "2028-01-01", "", "closed: public holiday (New Year's Day)"},
		{"29 February", "2028-02-29", "08:30-12:30 13:30-17:00", "open"},
		{"the first day of the horizon", "2026-01-01", "", "closed: public holiday (New Year's Day)"},
		{"its last day, a Sunday", "2028-12-31", "", "closed: weekly closing day (Sunday)"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			got := status(t, c, tc.day)
			if diff := cmp.Diff(hours(t, strings.Fields(tc.hours)...), got.Hours); diff != "" {
				t.Errorf("hours of %s (-want +got):\n%s", tc.day, diff)
			}
			if got.Why.String() != tc.why {
				t.Errorf("why of %s: got %q, want %q", tc.day, got.Why, tc.why)
			}
			if got.Open() != (tc.hours != "") {
				t.Errorf("%s: open = %v", tc.day, got.Open())
			}
		})
	}
}

func TestLaterLayersWin(t *testing.T) {
	short, late := hours(t, "09:00-11:00"), hours(t, "18:00-20:00")
	cases := []struct {
		name, desc string
		lay        func(*Settings)
		day, want  string
	}{
		{"half day over weekly hours", "a Tuesday", func(s *Settings) {
			s.HalfDays = []SpecialDay{{on(t, "2027-05-11"), short, "Staff meeting"}}
		}, "2027-05-11", "open: half day (Staff meeting)"},
		{"half day never opens a holiday", "Saint Patrick's Day, a Wednesday", func(s *Settings) {
			s.HalfDays = []SpecialDay{{on(t, "2027-03-17"), short, "Parade"}}
		}, "2027-03-17", "closed: public holiday (Saint Patrick's Day)"},
		{"half day never opens a closing day", "a Sunday", func(s *Settings) {
			s.HalfDays = []SpecialDay{{on(t, "2027-05-09"), short, "Open house"}}
		}, "2027-05-09", "closed: weekly closing day (Sunday)"},
		{"closure over half day", "both on a Tuesday", func(s *Settings) {
			s.HalfDays = []SpecialDay{{on(t, "2027-05-11"), short, "Staff meeting"}}
			s.Closures = []Closure{{From: on(t, "2027-05-11"), Name: "Refit"}}
		}, "2027-05-11", "closed: closure (Refit)"},
		{"closure over holiday", "the longer reason is told", func(s *Settings) {
			s.Closures = []Closure{{on(t, "2027-03-15"), on(t, "2027-03-20"), "Refit"}}
		}, "2027-03-17", "closed: closure (Refit)"},
		{"extra day over closure", "inside the summer closure", func(s *Settings) {
			s.ExtraDays = []SpecialDay{{on(t, "2027-08-10"), late, "Suture list"}}
		}, "2027-08-10", "open: extra day (Suture list)"},
		{"extra day over holiday", "Saint Patrick's Day", func(s *Settings) {
			s.ExtraDays = []SpecialDay{{on(t, "2027-03-17"), late, "Suture list"}}
		}, "2027-03-17", "open: extra day (Suture list)"},
		{"extra day over weekly closing day", "a Saturday", func(s *Settings) {
			s.ExtraDays = []SpecialDay{{on(t, "2027-05-08"), late, "Saturday list"}}
		}, "2027-05-08", "open: extra day (Saturday list)"},
		{"dropped holiday is worked", "by name, whatever its apostrophe", func(s *Settings) {
			s.Holidays.Drop = []string{"saint patrick’s day"}
		}, "2027-03-17", "open"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			s := harbourRow(t)
			tc.lay(&s)
			if got := status(t, build(t, s, "2027-01-01..2027-12-31"), tc.day).Why.String(); got != tc.want {
				t.Errorf("%s: got %q, want %q", tc.desc, got, tc.want)
			}
		})
	}
}

func TestHalfDayWithoutEffectIsNoted(t *testing.T) {
	s := harbourRow(t)
	s.HalfDays = []SpecialDay{{on(t, "2027-12-25"), hours(t, "08:30-12:00"), "Christmas"}}
	want := "half day 2027-12-25 has no effect: closed: public holiday (Christmas Day)"
	if diff := cmp.Diff([]string{want}, build(t, s, "2027-01-01..2027-12-31").Notes()); diff != "" {
		t.Errorf("notes (-want +got):\n%s", diff)
	}
}

func TestDayOutsideTheHorizonIsNeverGuessed(t *testing.T) {
	c := build(t, harbourRow(t), "2027-01-01..2027-12-31")
	for _, d := range []day.Day{{}, on(t, "2026-12-31"), on(t, "2028-01-01")} {
		if got, err := c.Status(d); err == nil {
			t.Errorf("%s: got %v, want an error", d, got)
		}
		if n := c.ClosedRunAfter(d); n != -1 {
			t.Errorf("%s: closed run %d, want -1", d, n)
		}
		for name, fits := range map[string]func() (bool, string){
			"visit": func() (bool, string) { return c.Fits(d, "placement") },
			"role":  func() (bool, string) { return c.FitsRole(d, "nurse") },
			"any":   func() (bool, string) { return c.FitsAny(d) },
		} {
			if ok, why := fits(); ok || !strings.Contains(why, "outside the clinic calendar") {
				t.Errorf("%s, %s: got %v, %q", d, name, ok, why)
			}
		}
	}
}

func TestClosedRunAfter(t *testing.T) {
	c := build(t, harbourRow(t), "2027-01-01..2027-12-31")
	cases := []struct {
		name, day string
		want      int
	}{
		{"middle of the week", "2027-05-11", 0},
		{"before a weekend", "2027-05-14", 2},
		{"before a holiday in the week", "2027-03-16", 1},
		{"before a holiday and a weekend", "2027-03-18", 3},
		{"before three weeks' closure", "2027-07-30", 2 + 19 + 2},
		{"inside it", "2027-08-10", 12},
		{"before Christmas", "2027-12-24", 2},
		{"the last day of the horizon", "2027-12-31", 2},
	}
	for _, tc := range cases {
		if got := c.ClosedRunAfter(on(t, tc.day)); got != tc.want {
			t.Errorf("%s (%s): got %d, want %d", tc.name, tc.day, got, tc.want)
		}
	}
}

func TestAllProblemsAtOnce(t *testing.T) {
	s := harbourRow(t)
	s.Zone = "Local"
	s.Holidays.Drop = []string{"Easter Monday", "Saint Nobody's Day", "Good Fryday"}
	s.Holidays.Add = append(s.Holidays.Add, NamedDay{Name: "no day"})
	s.Hours[time.Tuesday] = hours(t, "13:30-17:00", "08:30-12:30")
	s.Closures = append(s.Closures, Closure{on(t, "2027-09-10"), on(t, "2027-09-01"), "backwards"}, Closure{Name: "never"})
	s.HalfDays = []SpecialDay{{Day: on(t, "2027-12-23")}}
	s.ExtraDays = []SpecialDay{{Day: on(t, "2027-12-27"), Hours: []day.Hours{{From: 600, To: 1500}}}}
	s.ClosureFiles = []File{{"empty.ics", nil}}
	s.Rooms = append(s.Rooms, Room{Name: "SURGERY 1", For: []string{"surgery"}, OutOfUse: []Closure{{Name: "never"}}, BusyFiles: []File{{"empty.ics", nil}}})
	s.People = append(s.People, Person{Name: "dr alba quill", Role: "desk", Absent: []Closure{{on(t, "2027-09-10"), on(t, "2027-09-01"), "backwards"}}, BusyFiles: []File{{"empty.ics", nil}}})
	s.Visits["placement"] = Visit{2000, "theatre", "surgeon"}
	s.Visits["imaging"] = Visit{15, "imaging", "radiographer"}
	want := []string{
		"closure_files[0]", "closures[1]", "closures[2].from", "extra_days[0].hours", "half_days[0].hours",
		"holidays.add[1].day", "holidays.drop[1]", "holidays.drop[2]", "hours.tue",
		"people[2].absent[0]", "people[2].busy_files[0]", "people[2].name",
		"rooms[2].busy_files[0]", "rooms[2].name", "rooms[2].out_of_use[0].from",
		"visits.imaging.role", "visits.placement.minutes", "visits.placement.room", "zone",
	}
	_, err := New(s, span(t, "2027-01-01..2027-12-31"))
	var problems Problems
	if !errors.As(err, &problems) {
		t.Fatalf("got %v, want problems", err)
	}
	var got []string
	for _, p := range problems {
		got = append(got, p.Field)
		if !strings.Contains(err.Error(), p.String()) {
			t.Errorf("the error does not tell %q", p)
		}
	}
	if diff := cmp.Diff(want, sorted(got)); diff != "" {
		t.Errorf("fields (-want +got):\n%s\n%v", diff, err)
	}
}

func TestClinicThatNeverOpensIsRefused(t *testing.T) {
	closed := harbourRow(t)
	closed.Hours = Week{}
	if _, err := New(closed, span(t, "2027-01-01..2027-12-31")); err == nil || !strings.Contains(err.Error(), "hours: no open day from 2027-01-01 to 2027-12-31") {
		t.Errorf("no hours: got %v", err)
	}
	// The day after the horizon is open; that does not help.
	if _, err := New(harbourRow(t), span(t, "2027-08-02..2027-08-22")); err == nil {
		t.Error("closed for the whole horizon: got no error")
	}
	closed.ExtraDays = []SpecialDay{{on(t, "2027-05-08"), hours(t, "09:00-11:00"), ""}}
	if _, err := New(closed, span(t, "2027-01-01..2027-12-31")); err != nil {
		t.Errorf("one extra day is enough: got %v", err)
	}
}

func TestHorizonThatIsNoSpanIsRefused(t *testing.T) {
	backwards := day.Span{From: on(t, "2027-02-01"), To: on(t, "2027-01-01")}
	for _, horizon := range []day.Span{{}, backwards, {From: day.First.AddDays(-1), To: day.First}, {From: day.Last, To: day.Last.AddDays(1)}} {
		if _, err := New(harbourRow(t), horizon); err == nil {
			t.Errorf("%s: got no error", horizon)
		}
	}
}

func TestStatusIsACopy(t *testing.T) {
	c := build(t, harbourRow(t), "2027-01-01..2027-12-31")
	status(t, c, "2027-05-11").Hours[0] = day.Hours{}
	if got := status(t, c, "2027-05-11").Hours[0].String(); got != "08:30-12:30" {
		t.Errorf("a reader changed the table: %s", got)
	}
}

func TestWords(t *testing.T) {
	cases := []struct {
		reason Reason
		want   string
	}{
		{Reason{Kind: Open}, "open"},
		{Reason{HalfDay, "Christmas", "half_days"}, "open"},
		{Reason{WeeklyClosingDay, "Sunday", "hours"}, "closed on Sundays"},
		{Reason{PublicHoliday, "Easter Monday", "IE"}, "closed: Easter Monday"},
		{Reason{Kind: ClosedDays}, "closed: closure"},
	}
	for _, tc := range cases {
		if got := tc.reason.Words(); got != tc.want {
			t.Errorf("%v: got %q, want %q", tc.reason, got, tc.want)
		}
	}
}
