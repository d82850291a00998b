package clinic

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"graftclock/internal/day"
)

// builderOf is a builder that knows a zone and a span and nothing else.
func builderOf(t testing.TB, zone, days string) *builder {
	t.Helper()
	b := newBuilder(Settings{}, span(t, days))
	b.checkZone(zone)
	if len(b.problems) > 0 {
		t.Fatal(b.problems)
	}
	return b
}

func TestStretchesOnTheWallClock(t *testing.T) {
	cases := []struct{ name, zone, from, to, want string }{
		{"within a day", "Europe/Dublin", "2027-05-11T10:00:00Z", "2027-05-11T11:30:00Z", "2027-05-11 11:00-12:30"},
		{"over midnight", "Europe/Dublin", "2027-01-11T22:00:00Z", "2027-01-12T02:00:00Z", "2027-01-11 22:00-24:00; 2027-01-12 00:00-02:00"},
		{"until midnight", "Europe/Dublin", "2027-01-11T22:00:00Z", "2027-01-12T00:00:00Z", "2027-01-11 22:00-24:00"},
		{"over two midnights", "Europe/Dublin", "2027-01-11T22:00:00Z", "2027-01-13T02:00:00Z", "2027-01-11 22:00-24:00; 2027-01-12 00:00-24:00; 2027-01-13 00:00-02:00"},
		{"a part of a minute is a whole one", "Europe/Dublin", "2027-01-11T10:00:59Z", "2027-01-11T10:01:01Z", "2027-01-11 10:00-10:02"},
		{"over the hour left out in spring", "Europe/Dublin", "2027-03-28T00:30:00Z", "2027-03-28T02:30:00Z", "2027-03-28 00:30-03:30"},
		{"up to the hour left out", "Europe/Dublin", "2027-03-28T00:30:00Z", "2027-03-28T01:00:00Z", "2027-03-28 00:30-01:00"},
		{"from the hour left out on", "Europe/Dublin", "2027-03-28T01:00:00Z", "2027-03-28T01:30:00Z", "2027-03-28 02:00-02:30"},
		{"over the hour shown twice in autumn", "Europe/Dublin", "2027-10-30T23:30:00Z", "2027-10-31T02:30:00Z", "2027-10-31 00:30-02:30"},
		{"out of the first showing into the second, backwards on the clock", "Europe/Dublin", "2027-10-31T00:45:00Z", "2027-10-31T01:15:00Z", "2027-10-31 01:00-02:00"},
		{"within the second showing", "Europe/Dublin", "2027-10-31T01:15:00Z", "2027-10-31T01:45:00Z", "2027-10-31 01:15-01:45"},
		{"a day of 23 hours", "Europe/Dublin", "2027-03-28T00:00:00Z", "2027-03-28T23:00:00Z", "2027-03-28 00:00-24:00"},
		{"a day of 25 hours", "Europe/Dublin", "2027-10-30T23:00:00Z", "2027-11-01T00:00:00Z", "2027-10-31 00:00-24:00"},
		{"a day without midnight", "America/Santiago", "2027-09-05T02:00:00Z", "2027-09-05T06:00:00Z", "2027-09-04 22:00-24:00; 2027-09-05 01:00-03:00"},
		{"an hour before midnight shown twice", "America/Santiago", "2027-04-04T01:30:00Z", "2027-04-04T05:00:00Z", "2027-04-03 22:30-24:00; 2027-04-04 00:00-01:00"},
		{"a zone half an hour off", "Asia/Kolkata", "2027-05-11T18:00:00Z", "2027-05-11T19:00:00Z", "2027-05-11 23:30-24:00; 2027-05-12 00:00-00:30"},
		{"before the table", "Europe/Dublin", "2026-12-30T10:00:00Z", "2026-12-31T10:00:00Z", ""},
		{"into the table", "Europe/Dublin", "2026-12-30T10:00:00Z", "2027-01-01T10:00:00Z", "2027-01-01 00:00-10:00"},
		{"out of the table", "Europe/Dublin", "2027-12-31T10:00:00Z", "2028-01-05T10:00:00Z", "2027-12-31 10:00-24:00"},
		{"after the table", "Europe/Dublin", "2028-01-01T10:00:00Z", "2028-01-01T11:00:00Z", ""},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			b := builderOf(t, tc.zone, "2027-01-01..2027-12-31")
			if got := written(b.stretches(instant(t, b, tc.from), instant(t, b, tc.to))); got != tc.want {
				t.Errorf("got %q, want %q", got, tc.want)
			}
		})
	}
}

// A table may start on a day without midnight, which time.Date puts into the day
// before.
func TestStretchesOfATableThatStartsWithoutMidnight(t *testing.T) {
	b := builderOf(t, "America/Santiago", "2027-09-05..2027-09-30")
	if got, want := written(b.stretches(instant(t, b, "2027-09-01T12:00:00Z"), instant(t, b, "2027-09-05T06:00:00Z"))), "2027-09-05 01:00-03:00"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// The zone data that the program carries along ends before 2028; the system's own ends
// before 2040.
func TestStretchesOnNewYearsEveOfALeapYear(t *testing.T) {
	for _, year := range []string{"2028", "2040", "2096"} {
		b := builderOf(t, "America/New_York", year+"-01-01.."+year+"-12-31")
		got := written(b.stretches(instant(t, b, year+"-12-30T15:00:00Z"), instant(t, b, year+"-12-31T22:30:00Z")))
		if want := year + "-12-30 10:00-24:00; " + year + "-12-31 00:00-17:30"; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func instant(t *testing.T, b *builder, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at.In(b.zone)
}

// offset returns what a zone's clock is ahead of UTC at noon, in seconds.
func offset(d day.Day, zone *time.Location) int {
	year, month, dayOfMonth := d.Date()
	_, seconds := time.Date(year, month, dayOfMonth, 12, 0, 0, 0, zone).Zone()
	return seconds
}

func written(list []stretch) string {
	var parts []string
	for _, s := range list {
		parts = append(parts, fmt.Sprint(s.day, " ", s.hours))
	}
	return strings.Join(parts, "; ")
}

// TestStretchesHoldEveryMinute walks every minute of an event through the wall
// clock; outside the days on which a clock is changed, nothing else is taken.
func TestStretchesHoldEveryMinute(t *testing.T) {
	zones := []string{"Europe/Dublin", "America/Santiago", "Asia/Kolkata", "Africa/Cairo", "Australia/Lord_Howe", "Pacific/Auckland"}
	rapid.Check(t, func(rt *rapid.T) {
		b := builderOf(t, rapid.SampledFrom(zones).Draw(rt, "zone"), "2027-01-01..2027-12-31")
		start := time.Date(2026, 12, 30, 0, 0, 0, 0, time.UTC).Add(time.Duration(rapid.IntRange(0, 368*24*60).Draw(rt, "start")) * time.Minute)
		minutes := rapid.IntRange(1, 4*24*60).Draw(rt, "minutes")
		from := start.In(b.zone)
		taken := map[day.Day]map[day.Clock]bool{}
		for _, s := range b.stretches(from, from.Add(time.Duration(minutes)*time.Minute)) {
			if taken[s.day] == nil {
				taken[s.day] = map[day.Clock]bool{}
			}
			for c := s.hours.From; c < s.hours.To; c++ {
				taken[s.day][c] = true
			}
		}
		lived := map[day.Day]map[day.Clock]bool{}
		for n := range minutes {
			at := from.Add(time.Duration(n) * time.Minute)
			d, clock := day.Of(at), day.Clock(at.Hour()*60+at.Minute())
			if !b.span.Contains(d) {
				continue
			}
			if !taken[d][clock] {
				rt.Fatalf("%s is not taken", at)
			}
			if lived[d] == nil {
				lived[d] = map[day.Clock]bool{}
			}
			lived[d][clock] = true
		}
		for d, clocks := range taken {
			if offset(d.AddDays(-1), b.zone) == offset(d.AddDays(1), b.zone) && len(clocks) != len(lived[d]) {
				rt.Fatalf("%s: %d minutes taken, %d lived", d, len(clocks), len(lived[d]))
			}
		}
	})
}
