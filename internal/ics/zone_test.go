package ics

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"graftclock/internal/day"
)

func mustZone(t rapid.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// brief writes observances one a line: label, start, rule, offsets, name.
func brief(found []observance) []string {
	var lines []string
	for _, o := range found {
		rule := ""
		if o.rule != (yearly{}) {
			rule = " " + o.rule.String()
		}
		lines = append(lines, fmt.Sprintf("%s%s %s %s %s", o.start.Format(localForm), rule, offsetText(o.from), offsetText(o.to), o.name))
	}
	return lines
}

func TestRegularZones(t *testing.T) {
	tests := map[string][]string{
		"Europe/Dublin": {
			"19700329T010000 FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU +0000 +0100 IST",
			"19701025T020000 FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU +0100 +0000 GMT",
		},
		"America/New_York": {
			"19700308T020000 FREQ=YEARLY;BYMONTH=3;BYDAY=2SU -0500 -0400 EDT",
			"19701101T020000 FREQ=YEARLY;BYMONTH=11;BYDAY=1SU -0400 -0500 EST",
		},
		"Australia/Lord_Howe": {
			"19700405T020000 FREQ=YEARLY;BYMONTH=4;BYDAY=1SU +1100 +1030 +1030",
			"19701004T020000 FREQ=YEARLY;BYMONTH=10;BYDAY=1SU +1030 +1100 +11",
		},
		"Pacific/Chatham": {
			"19700405T034500 FREQ=YEARLY;BYMONTH=4;BYDAY=1SU +1345 +1245 +1245",
			"19700927T024500 FREQ=YEARLY;BYMONTH=9;BYDAY=-1SU +1245 +1345 +1345",
		},
		"Asia/Kolkata": {"19700101T000000 +0530 +0530 IST"},
	}
	for name, want := range tests {
		t.Run(name, func(t *testing.T) {
			if diff := cmp.Diff(want, brief(observances(mustZone(t, name), yearRange{2026, 2028}))); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// A rule that only seems to hold must not be promised for ever.
func TestIrregularZones(t *testing.T) {
	tests := []struct {
		zone  string
		rules []string // the RRULEs there may be
	}{
		{"Asia/Jerusalem", []string{"FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU"}}, // forward on a Friday on or after the 23rd
		{"America/Santiago", nil}, // Sundays on or after the 2nd
		{"Africa/Casablanca", nil},
		{"America/Sao_Paulo", nil},
	}
	for _, tt := range tests {
		for year := 2026; year < 2046; year++ {
			var rules []string
			for _, o := range observances(mustZone(t, tt.zone), yearRange{year, year + 1}) {
				if o.rule != (yearly{}) {
					rules = append(rules, o.rule.String())
				}
				if o.start.Year() == epochYear {
					t.Errorf("%s in %d: %s is moved back to 1970 beside single changes", tt.zone, year, o.start)
				}
			}
			if !slices.Equal(rules, tt.rules) {
				t.Errorf("%s in %d: rules %q, want %q", tt.zone, year, rules, tt.rules)
			}
		}
	}
}

// offsetBy reads an instant the way a reader of the VTIMEZONE does: the latest
// onset that is not after it counts.
func offsetBy(found []observance, at time.Time) int {
	var latest time.Time
	offset := 0
	for _, o := range found {
		for year := o.start.Year(); year <= at.Year()+1; year++ {
			onset := o.start
			if o.rule != (yearly{}) {
				onset = o.rule.in(year, o.start)
			}
			onset = onset.Add(-time.Duration(o.from) * time.Second)
			if !onset.After(at) && !onset.Before(latest) {
				latest, offset = onset, o.to
			}
		}
	}
	return offset
}

func TestObservancesGiveTheOffsetsOfTheZone(t *testing.T) {
	for _, name := range append([]string{"Asia/Tehran", "America/Sao_Paulo"}, transitionZones...) {
		loc := mustZone(t, name)
		found := observances(loc, yearRange{2025, 2028})
		// A year to each side is promised as well.
		for at := yearStart(2024); at.Before(yearStart(2030)); at = at.Add(3 * time.Hour) {
			if got, want := offsetBy(found, at), offsetAt(at, loc); got != want {
				t.Errorf("%s: offset %d at %s, want %d", name, got, at, want)
				break
			}
		}
	}
}

func TestRuleDays(t *testing.T) {
	clock := time.Date(1, 1, 1, 2, 30, 0, 0, time.UTC)
	tests := []struct {
		rule yearly
		year int
		want string
	}{
		{yearly{time.October, time.Sunday, -1}, 2027, "2027-10-31"},
		{yearly{time.October, time.Sunday, -1}, 2028, "2028-10-29"},
		{yearly{time.December, time.Friday, -1}, 2027, "2027-12-31"},
		{yearly{time.March, time.Sunday, 2}, 2026, "2026-03-08"},
		{yearly{time.November, time.Sunday, 1}, 2026, "2026-11-01"},
		{yearly{time.February, time.Tuesday, 5}, 2028, "2028-02-29"},
	}
	for _, tt := range tests {
		if got := tt.rule.in(tt.year, clock).Format("2006-01-02 15:04"); got != tt.want+" 02:30" {
			t.Errorf("%s in %d: %s, want %s", tt.rule, tt.year, got, tt.want)
		}
	}
}

func TestChangesPastTheTabulatedYears(t *testing.T) {
	found := changes(mustZone(t, "Europe/Berlin"), yearStart(2025), yearStart(2061))
	if len(found) != 2*36 {
		t.Fatalf("%d changes in 36 years, want 72", len(found))
	}
	if got := found[len(found)-1].at.UTC().Format(time.DateTime); got != "2060-10-31 01:00:00" {
		t.Errorf("last change at %s", got)
	}
}

func TestOffsetText(t *testing.T) {
	for seconds, want := range map[int]string{0: "+0000", 3600: "+0100", -12600: "-0330", 45900: "+1245", -1521: "-002521"} {
		if got := offsetText(seconds); got != want {
			t.Errorf("%d: %s, want %s", seconds, got, want)
		}
	}
}

func TestWallClockTimes(t *testing.T) {
	tests := []struct {
		name, zone, wall, want string
		sure                   bool
	}{
		{"winter", "Europe/Berlin", "2026-01-14 08:30", "2026-01-14 07:30", true},
		{"summer", "Europe/Berlin", "2026-07-14 08:30", "2026-07-14 06:30", true},
		{"comes twice: the first", "Europe/Berlin", "2026-10-25 02:30", "2026-10-25 00:30", false},
		{"last minute before it comes twice", "Europe/Berlin", "2026-10-25 01:59", "2026-10-24 23:59", true},
		{"first minute after", "Europe/Berlin", "2026-10-25 03:00", "2026-10-25 02:00", true},
		{"jumped over: the offset before", "Europe/Berlin", "2026-03-29 02:30", "2026-03-29 01:30", false},
		{"first minute after the jump", "Europe/Berlin", "2026-03-29 03:00", "2026-03-29 01:00", true},
		{"half an hour twice", "Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-04 14:45", false},
		{"far east", "Pacific/Kiritimati", "2026-01-01 00:00", "2025-12-31 10:00", true},
		{"far west", "Pacific/Pago_Pago", "2026-01-01 00:00", "2026-01-01 11:00", true},
		{"a day that never was", "Pacific/Apia", "2011-12-30 10:00", "2011-12-30 20:00", false},
		{"before the zone is described", "Europe/Berlin", "1960-07-14 08:30", "1960-07-14 07:30", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			wall, err := time.Parse("2006-01-02 15:04", tt.wall)
			if err != nil {
				t.Fatal(err)
			}
			at, sure := resolve(wall, mustZone(t, tt.zone))
			if got := at.UTC().Format("2006-01-02 15:04"); got != tt.want || sure != tt.sure {
				t.Errorf("%s, sure %v; want %s, %v", got, sure, tt.want, tt.sure)
			}
		})
	}
}

// What is taken for a steady day is one on which every clock time means what resolve
// says, and few days are none.
func TestSteadyDays(t *testing.T) {
	for _, name := range append([]string{"Pacific/Apia", "Pacific/Kiritimati", "America/Sao_Paulo"}, transitionZones...) {
		c := clocks{loc: mustZone(t, name), days: map[day.Day]bool{}}
		steady, unsteady := 0, 0
		for d := day.New(1970, 1, 1); d.Before(day.New(2031, 1, 1)); d = d.AddDays(1) {
			if !c.steady(d) {
				unsteady++
				continue
			}
			steady++
			offset := offsetAt(d.Time(), c.loc)
			for minute := 0; minute <= minutesPerDay; minute += 360 {
				wall := d.Time().Add(time.Duration(minute) * time.Minute)
				at, sure := resolve(wall, c.loc)
				if !sure || !at.Equal(wall.Add(-time.Duration(offset)*time.Second)) || !unambiguous(at, c.loc) {
					t.Fatalf("%s: %s is %s, sure %v", name, wall, at, sure)
				}
			}
		}
		if unsteady > 365+61*4*3 || unsteady < 365 {
			t.Errorf("%s: %d days steady, %d not", name, steady, unsteady)
		}
	}
}

func TestZoneHoldsFarAhead(t *testing.T) {
	cal := Calendar{Zone: "Africa/Casablanca", Stamp: stamp}
	for _, d := range []day.Day{day.First, day.New(2028, 12, 31), day.New(2040, 12, 31), day.Last} {
		cal.Events = append(cal.Events, Event{UID: d.String(), Day: d, Start: 1430, Minutes: 60, Summary: "Visit"})
	}
	data, err := Encode(cal)
	if complaints := Lint(data); err != nil || complaints != nil {
		t.Fatal(err, complaints)
	}
	for _, want := range []string{
		"DTSTART:19000102T002020Z", // before 1970 in UTC: no VTIMEZONE speaks for it
		"DTSTART;TZID=Africa/Casablanca:20281231T235000",
		"DTEND;TZID=Africa/Casablanca:22000101T005000",
	} {
		if !strings.Contains(string(data), want+"\r\n") {
			t.Errorf("no %s in the file", want)
		}
	}
}

func TestZoneOnlyWhereNeeded(t *testing.T) {
	one := func(zone string, e Event) Calendar {
		e.UID, e.Summary = "1", "Visit"
		return Calendar{Zone: zone, Stamp: stamp, Events: []Event{e}}
	}
	tests := []struct {
		name string
		cal  Calendar
		want int
	}{
		{"timed", one("Europe/Berlin", Event{Day: day.New(2027, 1, 14), Start: 510, Minutes: 30}), 1},
		{"all-day", one("Europe/Berlin", Event{Day: day.New(2027, 1, 14)}), 0},
		{"all-day in no zone", one("", Event{Day: day.New(2027, 1, 14)}), 0},
		{"timed in UTC", one("UTC", Event{Day: day.New(2027, 1, 14), Start: 510, Minutes: 30}), 0},
		{"only in the hour that comes twice", one("Europe/Berlin", Event{Day: day.New(2027, 10, 31), Start: 150, Minutes: 10}), 0},
		{"ends in the hour that comes twice", one("Europe/Berlin", Event{Day: day.New(2027, 10, 31), Start: 60, Minutes: 90}), 0},
		{"New Year's Eve", one("Europe/Berlin", Event{Day: day.New(2027, 12, 31), Start: 1430, Minutes: 30}), 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			data, err := Encode(tt.cal)
			if got := strings.Count(string(data), "BEGIN:VTIMEZONE"); err != nil || got != tt.want {
				t.Errorf("%d zones, want %d (%v)\n%s", got, tt.want, err, data)
			}
		})
	}
}

func TestZoneIsMadeOnce(t *testing.T) {
	loc, years := mustZone(t, "Asia/Jerusalem"), yearRange{2031, 2032}
	first := timezone(loc, years)
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if timezone(loc, years) != first {
				t.Error("made again")
			}
		})
	}
	all.Wait()
	if timezone(loc, yearRange{2031, 2033}) == first {
		t.Error("other years, same zone")
	}
}
