package day_test

import (
	"testing"
	"time"
	_ "time/tzdata" // zones on machines that have none

	"pgregory.net/rapid"

	"graftclock/internal/day"
)

const minuteForm = "2006-01-02 15:04"

// changing are zones that change their clocks by an hour, by half of one, by a day,
// at midnight, and around Ramadan.
var changing = []string{
	"Europe/Dublin", "America/New_York", "Africa/Casablanca", "Asia/Jerusalem", "Australia/Lord_Howe",
	"America/Santiago", "America/Havana", "Africa/Cairo", "Asia/Gaza", "Pacific/Apia", "Africa/Freetown", "Asia/Kolkata",
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func TestAtWall(t *testing.T) {
	tests := []struct {
		name, zone, wall, want string
		shown                  int
		last                   string // where it is another
	}{
		{"winter", "Europe/Berlin", "2026-01-14 08:30", "2026-01-14 07:30", 1, ""},
		{"summer", "Europe/Berlin", "2026-07-14 08:30", "2026-07-14 06:30", 1, ""},
		{"shown twice", "Europe/Berlin", "2026-10-25 02:30", "2026-10-25 00:30", 2, "2026-10-25 01:30"},
		{"last minute before", "Europe/Berlin", "2026-10-25 01:59", "2026-10-24 23:59", 1, ""},
		{"first minute after", "Europe/Berlin", "2026-10-25 03:00", "2026-10-25 02:00", 1, ""},
		{"jumped over", "Europe/Berlin", "2026-03-29 02:30", "2026-03-29 01:30", 0, ""},
		{"first minute after the jump", "Europe/Berlin", "2026-03-29 03:00", "2026-03-29 01:00", 1, ""},
		{"half an hour shown twice", "Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-04 14:45", 2, "2026-04-04 15:15"},
		{"a midnight jumped over", "America/Santiago", "2027-09-05 00:00", "2027-09-05 04:00", 0, ""},
		{"far east", "Pacific/Kiritimati", "2026-01-01 00:00", "2025-12-31 10:00", 1, ""},
		{"far west", "Pacific/Pago_Pago", "2026-01-01 00:00", "2026-01-01 11:00", 1, ""},
		{"a day that never was", "Pacific/Apia", "2011-12-30 10:00", "2011-12-30 20:00", 0, ""},
		{"a day lived twice", "America/Juneau", "1867-10-19 12:00", "1867-10-18 20:57", 2, "1867-10-19 20:57"},
		{"no zone to speak of", "UTC", "2026-01-01 00:00", "2026-01-01 00:00", 1, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			wall, err := time.Parse(minuteForm, tt.wall)
			if err != nil {
				t.Fatal(err)
			}
			at, shown := day.AtWall(wall, zone(t, tt.zone))
			if got := at.UTC().Format(minuteForm); got != tt.want || shown != tt.shown {
				t.Errorf("%s, shown %d times; want %s, %d", got, shown, tt.want, tt.shown)
			}
			if tt.last == "" {
				tt.last = tt.want
			}
			if got := day.LastAtWall(wall, zone(t, tt.zone)).UTC().Format(minuteForm); got != tt.last {
				t.Errorf("the last is %s, want %s", got, tt.last)
			}
			if shown > 0 && !day.WallOf(at).Equal(wall) {
				t.Errorf("the wall shows %s", day.WallOf(at))
			}
		})
	}
}

// TestAtWallFindsAllThereIs tries every offset that clocks have, a quarter of an hour
// apart, near the changes of clocks.
func TestAtWallFindsAllThereIs(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		loc := zone(t, rapid.SampledFrom(changing).Draw(rt, "zone"))
		from := time.Date(rapid.IntRange(1990, 2045).Draw(rt, "year"), 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 364).Draw(rt, "day"))
		for n := 0; n < 200 && sameOffset(from.In(loc), from.AddDate(0, 0, 1).In(loc)); n++ {
			from = from.AddDate(0, 0, 1)
		}
		wall := from.Add(time.Duration(rapid.IntRange(-4*15, 4*48).Draw(rt, "quarters")) * 15 * time.Minute)
		var want []time.Time
		for offset := 15 * time.Hour; offset >= -13*time.Hour; offset -= 15 * time.Minute {
			if at := wall.Add(-offset); at.In(loc).Format(minuteForm) == wall.Format(minuteForm) {
				want = append(want, at)
			}
		}
		at, shown := day.AtWall(wall, loc)
		last := day.LastAtWall(wall, loc)
		if shown != len(want) || shown > 0 && (!at.Equal(want[0]) || !last.Equal(want[shown-1])) {
			rt.Fatalf("%s in %s: %s to %s, shown %d times; want %v", wall, loc, at, last, shown, want)
		}
	})
}

func sameOffset(x, y time.Time) bool {
	_, before := x.Zone()
	_, after := y.Zone()
	return before == after
}

func TestNextChange(t *testing.T) {
	for _, tt := range []struct{ name, zone, from, to, want string }{
		{"none", "Europe/Dublin", "2027-03-26 00:00", "2027-03-28 00:00", "2027-03-28 00:00"},
		{"forward", "Europe/Dublin", "2027-03-28 00:30", "2027-03-29 00:00", "2027-03-28 01:00"},
		{"back", "Europe/Dublin", "2027-10-30 23:00", "2027-10-31 23:00", "2027-10-31 01:00"},
		{"at the end", "Europe/Dublin", "2027-03-28 00:30", "2027-03-28 01:00", "2027-03-28 01:00"},
		{"not from itself on", "Europe/Dublin", "2027-03-28 01:00", "2027-03-29 01:00", "2027-03-29 01:00"},
		{"of no length", "Europe/Dublin", "2027-03-28 01:00", "2027-03-28 01:00", "2027-03-28 01:00"},
		{"a day left out", "Pacific/Apia", "2011-12-30 00:00", "2011-12-31 00:00", "2011-12-30 10:00"},
		{"New Year's Eve of a leap year", "Europe/Dublin", "2028-12-31 12:00", "2029-01-01 00:00", "2029-01-01 00:00"},
		{"the same past all zone data", "Europe/Dublin", "2096-12-31 12:00", "2097-01-01 00:00", "2097-01-01 00:00"},
	} {
		from, _ := time.Parse(minuteForm, tt.from)
		to, _ := time.Parse(minuteForm, tt.to)
		if got := day.NextChange(from.In(zone(t, tt.zone)), to).UTC().Format(minuteForm); got != tt.want {
			t.Errorf("%s: got %s, want %s", tt.name, got, tt.want)
		}
	}
}
