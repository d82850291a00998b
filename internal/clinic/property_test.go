package clinic

import (
	"slices"
	"testing"
	"time"

	"github.com/rickar/cal/v2"
	"pgregory.net/rapid"

	"graftclock/internal/day"
)

var (
	someSpan  = day.Span{From: day.New(2027, time.January, 1), To: day.New(2028, time.March, 31)}
	someHours = [][]day.Hours{
		nil,
		{{From: 510, To: 780}},
		{{From: 510, To: 750}, {From: 810, To: 1020}},
		{{From: 0, To: 1440}},
	}
	someDay = rapid.Custom(func(t *rapid.T) day.Day {
		return someSpan.From.AddDays(rapid.IntRange(-20, someSpan.Days()+20).Draw(t, "day"))
	})
)

func specialDays(t *rapid.T, label string) []SpecialDay {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) SpecialDay {
		return SpecialDay{someDay.Draw(t, "day"), rapid.SampledFrom(someHours[1:]).Draw(t, "hours"), label}
	}), 0, 8).Draw(t, label)
}

func someSettings(t *rapid.T) Settings {
	s := Settings{Zone: "Europe/Dublin", Region: rapid.SampledFrom([]string{"", "IE", "GB", "US", "DE-BW"}).Draw(t, "region")}
	s.Holidays.AlsoClosedOnTheDay = true
	for w := range s.Hours {
		s.Hours[w] = rapid.SampledFrom(someHours).Draw(t, "hours")
	}
	s.Holidays.Add = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) NamedDay {
		return NamedDay{someDay.Draw(t, "added"), "added"}
	}), 0, 5).Draw(t, "add")
	s.Closures = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Closure {
		from := someDay.Draw(t, "from")
		return Closure{from, from.AddDays(rapid.IntRange(0, 40).Draw(t, "length")), "closure"}
	}), 0, 6).Draw(t, "closures")
	s.HalfDays, s.ExtraDays = specialDays(t, "half"), specialDays(t, "extra")
	s.People = []Person{{"Nurse", "nurse", day.Weekdays(rapid.IntRange(0, 127).Draw(t, "nurse"))}}
	s.Rooms = []Room{{"Room", []string{"check"}, day.Weekdays(rapid.IntRange(0, 127).Draw(t, "room"))}}
	s.Visits = map[string]Visit{"check": {rapid.IntRange(0, 300).Draw(t, "minutes"), "check", "nurse"}}
	return s
}

// byLayers answers for one day from the topmost layer down, asking the library
// for the two answers it gives right: the holiday's day and the day observed.
func byLayers(s Settings, holidays *cal.Calendar, d day.Day) ([]day.Hours, Kind) {
	for _, x := range slices.Backward(s.ExtraDays) {
		if x.Day == d {
			return x.Hours, ExtraDay
		}
	}
	for _, c := range s.Closures {
		if (day.Span{From: c.From, To: c.To}).Contains(d) {
			return nil, ClosedDays
		}
	}
	actual, observed, _ := holidays.IsHoliday(d.Time())
	if actual || observed || slices.ContainsFunc(s.Holidays.Add, func(h NamedDay) bool { return h.Day == d }) {
		return nil, PublicHoliday
	}
	week := s.Hours[d.Weekday()]
	if len(week) == 0 {
		return nil, WeeklyClosingDay
	}
	for _, h := range slices.Backward(s.HalfDays) {
		if h.Day == d {
			return h.Hours, HalfDay
		}
	}
	return week, Open
}

func fitsByHand(s Settings, hours []day.Hours, w time.Weekday) bool {
	v, in := s.Visits["check"], func(days day.Weekdays) bool { return days == 0 || days.Has(w) }
	return in(s.People[0].Days) && in(s.Rooms[0].Days) &&
		slices.ContainsFunc(hours, func(h day.Hours) bool { return h.Minutes() >= v.Minutes })
}

func TestTableEqualsTheLayersTakenDayByDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := someSettings(t)
		holidays := &cal.Calendar{}
		holidays.AddHoliday(lists[s.Region]...)
		c, err := New(s, someSpan)
		anyOpen := false
		for d := someSpan.From; someSpan.Contains(d); d = d.AddDays(1) {
			hours, kind := byLayers(s, holidays, d)
			anyOpen = anyOpen || len(hours) > 0
			if err != nil {
				continue
			}
			got, _ := c.Status(d)
			if !slices.Equal(got.Hours, hours) || got.Why.Kind != kind {
				t.Fatalf("%s: got %v %q, want %v %q", d, got.Hours, got.Why.Kind, hours, kind)
			}
			if fits, why := c.Fits(d, "check"); fits != fitsByHand(s, hours, d.Weekday()) {
				t.Fatalf("%s: fits %v (%s)", d, fits, why)
			}
			run := 0
			for next := d.AddDays(1); run < margin; next = next.AddDays(1) {
				if hours, _ := byLayers(s, holidays, next); len(hours) > 0 {
					break
				}
				run++
			}
			if got := c.ClosedRunAfter(d); got != run && run < margin {
				t.Fatalf("%s: closed run %d, want %d", d, got, run)
			}
		}
		if anyOpen != (err == nil) {
			t.Fatalf("open at all: %v, error: %v", anyOpen, err)
		}
	})
}

func TestTakingHoursOut(t *testing.T) {
	stretch := func(t *rapid.T, label string) day.Hours {
		from := rapid.IntRange(0, 1439).Draw(t, label)
		return day.Hours{From: day.Clock(from), To: day.Clock(rapid.IntRange(from+1, 1440).Draw(t, label))}
	}
	within := func(list []day.Hours, at day.Clock) bool {
		return slices.ContainsFunc(list, func(h day.Hours) bool { return h.From <= at && at < h.To })
	}
	rapid.Check(t, func(t *rapid.T) {
		hours, out := rapid.SampledFrom(someHours).Draw(t, "hours"), stretch(t, "out")
		left, touched := without(hours, out)
		changed := false
		for at := day.Clock(0); at < 1440; at++ {
			cut := out.From <= at && at < out.To
			if within(left, at) != (within(hours, at) && !cut) {
				t.Fatalf("%v without %v is %v: wrong at %s", hours, out, left, at)
			}
			changed = changed || within(hours, at) && cut
		}
		if touched != changed {
			t.Fatalf("%v without %v: touched %v", hours, out, touched)
		}
	})
}

func FuzzClosureFile(f *testing.F) {
	f.Add(calendarFile(event("DTSTART;VALUE=DATE:20270511", "DTEND;VALUE=DATE:20270513")))
	f.Add(calendarFile(event("DTSTART;TZID=Europe/Berlin:20270511T110000", "DURATION:PT1H")))
	f.Add(calendarFile(event("DTSTART:20270511T110000Z", "DTEND:99991231T235959Z")))
	f.Fuzz(func(t *testing.T, data []byte) {
		s := harbourRow(t)
		s.ClosureFiles = []File{{"fuzz.ics", data}}
		c, err := New(s, someSpan)
		if err != nil {
			return
		}
		for d := someSpan.From; someSpan.Contains(d); d = d.AddDays(1) {
			st, err := c.Status(d)
			if err != nil || st.Open() == st.Why.Kind.closes() {
				t.Fatalf("%s: %v, %v", d, st, err)
			}
		}
	})
}
