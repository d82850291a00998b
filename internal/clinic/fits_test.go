package clinic

import (
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
)

func TestFits(t *testing.T) {
	s := harbourRow(t)
	s.People[0].Days = day.WeekdaySet(time.Monday, time.Thursday, time.Friday)
	s.Rooms[0].Days = day.WeekdaySet(time.Monday, time.Tuesday, time.Wednesday, time.Friday)
	s.HalfDays = append(s.HalfDays, SpecialDay{on(t, "2027-05-10"), hours(t, "08:30-09:30", "12:00-12:30"), "Staff meeting"})
	s.Visits["long"] = Visit{241, "surgery", "surgeon"}
	s.Visits["whole"] = Visit{240, "surgery", "surgeon"}
	s.Visits["call"] = Visit{Minutes: 10, Role: "nurse"}
	s.Visits["scan"] = Visit{Room: "imaging"}
	s.Visits["any"] = Visit{}
	c := build(t, s, "2027-01-01..2027-12-31")
	cases := []struct{ name, day, visit, why string }{
		{"all there", "2027-05-03", "placement", "closed: First Monday in May"},
		{"all there", "2027-05-17", "placement", ""},
		{"exactly the longest stretch", "2027-05-17", "whole", ""},
		{"a minute more, lunch between", "2027-05-17", "long", "open 240 minutes at most, the visit takes 241"},
		{"a half day too short", "2027-05-10", "placement", "open 60 minutes at most, the visit takes 90"},
		{"a half day long enough", "2027-05-10", "wound-check", ""},
		{"no one of the role", "2027-05-18", "placement", "no surgeon in on Tuesdays"},
		{"no room of the kind", "2027-05-20", "placement", "no surgery room on Thursdays"},
		{"room of another kind", "2027-05-19", "imaging", "no imaging room on Wednesdays"},
		{"the person comes first", "2027-05-19", "placement", "no surgeon in on Wednesdays"},
		{"closure", "2027-08-09", "placement", "closed: Summer closure"},
		{"closing day", "2027-05-16", "placement", "closed on Sundays"},
		{"no room needed", "2027-05-20", "call", ""},
		{"no person and no time needed", "2027-05-20", "scan", ""},
		{"room missing, nothing else needed", "2027-05-19", "scan", "no imaging room on Wednesdays"},
		{"nothing needed", "2027-05-19", "any", ""},
		{"unknown visit", "2027-05-19", "massage", `the clinic has no visit "massage"`},
	}
	for _, tc := range cases {
		fits, why := c.Fits(on(t, tc.day), tc.visit)
		if why != tc.why || fits != (tc.why == "") {
			t.Errorf("%s: %s on %s: got %v, %q, want %q", tc.name, tc.visit, tc.day, fits, why, tc.why)
		}
	}
}

func TestFitsRoleAndFitsAny(t *testing.T) {
	c := build(t, harbourRow(t), "2027-01-01..2027-12-31")
	cases := []struct{ day, role, why string }{
		{"2027-05-11", "surgeon", ""},
		{"2027-05-12", "surgeon", "no surgeon in on Wednesdays"},
		{"2027-05-12", "nurse", ""},
		{"2027-05-12", "hygienist", "the clinic has no hygienist"},
		{"2027-03-17", "surgeon", "closed: Saint Patrick's Day"},
	}
	for _, tc := range cases {
		if fits, why := c.FitsRole(on(t, tc.day), tc.role); why != tc.why || fits != (tc.why == "") {
			t.Errorf("%s on %s: got %v, %q, want %q", tc.role, tc.day, fits, why, tc.why)
		}
	}
	if fits, why := c.FitsAny(on(t, "2027-05-12")); !fits || why != "" {
		t.Errorf("an open day: got %v, %q", fits, why)
	}
	if fits, why := c.FitsAny(on(t, "2027-08-09")); fits || why != "closed: Summer closure" {
		t.Errorf("a closed day: got %v, %q", fits, why)
	}
}

func TestNoDaysMeansEveryOpenDay(t *testing.T) {
	s := harbourRow(t)
	s.People = append(s.People, Person{Name: "Locum", Role: "surgeon"})
	s.ExtraDays = []SpecialDay{{on(t, "2027-05-08"), hours(t, "09:00-12:00"), "Saturday list"}}
	c := build(t, s, "2027-01-01..2027-12-31")
	for _, d := range []string{"2027-05-12", "2027-05-08"} {
		if fits, why := c.Fits(on(t, d), "placement"); !fits {
			t.Errorf("%s: %s", d, why)
		}
	}
	if _, why := c.Fits(on(t, "2027-05-08"), "wound-check"); why != "no nurse in on Saturdays" {
		t.Errorf("the nurse on an extra Saturday: got %q", why)
	}
}

func TestVisitThatNeverFitsIsNoted(t *testing.T) {
	s := harbourRow(t)
	s.People[1].Days = day.WeekdaySet(time.Friday) // the imaging room is there on Tuesdays and Thursdays
	notes := strings.Join(build(t, s, "2027-01-01..2027-12-31").Notes(), "\n")
	if notes != "visit imaging fits no day of the calendar" {
		t.Errorf("got notes %q", notes)
	}
}

func TestFitsAgreesWithStatus(t *testing.T) {
	s := harbourRow(t)
	c := build(t, s, "2026-01-01..2028-12-31")
	for d := c.Horizon().From; c.Horizon().Contains(d); d = d.AddDays(1) {
		st, err := c.Status(d)
		if err != nil {
			t.Fatal(err)
		}
		if fits, why := c.FitsAny(d); fits != st.Open() || (!fits && why != st.Why.Words()) {
			t.Fatalf("%s: FitsAny %v, %q; status %v", d, fits, why, st)
		}
		long := false
		for _, h := range st.Hours {
			long = long || h.Minutes() >= 90
		}
		want := long && s.People[0].Days.Has(d.Weekday())
		if fits, why := c.Fits(d, "placement"); fits != want {
			t.Fatalf("%s: placement fits %v (%q), want %v", d, fits, why, want)
		}
	}
}
