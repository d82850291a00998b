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
	for _, name := range []string{"Nurse One", "Nurse Two"}[:rapid.IntRange(1, 2).Draw(t, "nurses")] {
		s.People = append(s.People, Person{name, "nurse", someWeekdays(t), someAbsences(t), nil})
	}
	for _, name := range []string{"Room One", "Room Two"}[:rapid.IntRange(1, 2).Draw(t, "rooms")] {
		s.Rooms = append(s.Rooms, Room{name, []string{"check"}, someWeekdays(t), someAbsences(t), nil})
	}
	s.Visits = map[string]Visit{
		"check": {rapid.IntRange(0, 300).Draw(t, "minutes"), "check", "nurse"},
		"call":  {Minutes: 10, Role: "nurse"},
	}
	return s
}

func someWeekdays(t *rapid.T) day.Weekdays {
	return day.Weekdays(rapid.SampledFrom([]int{0, 127, 62, 42, 4}).Draw(t, "weekdays"))
}

func someAbsences(t *rapid.T) []Closure {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Closure {
		from := someDay.Draw(t, "from")
		return Closure{from, from.AddDays(rapid.IntRange(0, 90).Draw(t, "length")), rapid.SampledFrom([]string{"", "course", "leave"}).Draw(t, "name")}
	}), 0, 4).Draw(t, "absences")
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

// namesByHand lists who and what is there on a day, asset by asset.
func namesByHand(s Settings, d day.Day) (people, rooms []string) {
	in := func(days day.Weekdays, away []Closure) bool {
		return (days == 0 || days.Has(d.Weekday())) &&
			!slices.ContainsFunc(away, func(c Closure) bool { return day.Span{From: c.From, To: c.To}.Contains(d) })
	}
	for _, p := range s.People {
		if in(p.Days, p.Absent) {
			people = append(people, p.Name)
		}
	}
	for _, r := range s.Rooms {
		if in(r.Days, r.OutOfUse) {
			rooms = append(rooms, r.Name)
		}
	}
	return people, rooms
}

func fitsByHand(s Settings, hours []day.Hours, d day.Day) bool {
	people, rooms := namesByHand(s, d)
	return len(people) > 0 && len(rooms) > 0 &&
		slices.ContainsFunc(hours, func(h day.Hours) bool { return h.Minutes() >= s.Visits["check"].Minutes })
}

func TestObstaclesAreThereExactlyWhenItDoesNotFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := someSettings(t)
		c, err := New(s, someSpan)
		if err != nil {
			return
		}
		for d := someSpan.From.AddDays(-3); d.Before(someSpan.To.AddDays(3)); d = d.AddDays(1) {
			same := func(fits bool, why string, obstacles []string) {
				if fits != (len(obstacles) == 0) || !fits && why != obstacles[0] {
					t.Fatalf("%s: fits %v, %q, but obstacles %q", d, fits, why, obstacles)
				}
				if len(slices.Compact(slices.Sorted(slices.Values(obstacles)))) != len(obstacles) {
					t.Fatalf("%s: an obstacle twice: %q", d, obstacles)
				}
			}
			for _, visit := range []string{"check", "call", "massage"} {
				fits, why := c.Fits(d, visit)
				same(fits, why, c.Obstacles(d, visit, "nurse"))
			}
			for _, role := range []string{"nurse", "surgeon"} {
				fits, why := c.FitsRole(d, role)
				same(fits, why, c.Obstacles(d, "", role))
			}
			fits, why := c.FitsAny(d)
			same(fits, why, c.Obstacles(d, "", ""))
		}
	})
}

func TestOpeningEqualsTheSettingsTakenDayByDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := someSettings(t)
		c, err := New(s, someSpan)
		if err != nil {
			return
		}
		for d := someSpan.From; someSpan.Contains(d); d = d.AddDays(1) {
			people, rooms := namesByHand(s, d)
			status, _ := c.Status(d)
			o := c.Opening(d, "check")
			if !slices.Equal(o.People, people) || !slices.Equal(o.Rooms, rooms) || !slices.Equal(o.Hours, status.Hours) {
				t.Fatalf("%s: got %+v, want %v, %v, %v", d, o, status.Hours, rooms, people)
			}
			for _, p := range s.People {
				if in, why := c.PersonIn(d, p.Name); in != slices.Contains(people, p.Name) {
					t.Fatalf("%s: %s in: %v, %q", d, p.Name, in, why)
				}
			}
		}
	})
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
			if fits, why := c.Fits(d, "check"); fits != fitsByHand(s, hours, d) {
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
		s.People[0].BusyFiles = s.ClosureFiles
		c, err := New(s, someSpan)
		if err != nil {
			return
		}
		for _, b := range c.Busy() {
			if !someSpan.Contains(b.Day) || b.Start < 0 || b.Minutes < 1 || b.End() > midnight {
				t.Fatalf("busy: %+v", b)
			}
		}
		for d := someSpan.From; someSpan.Contains(d); d = d.AddDays(1) {
			st, err := c.Status(d)
			if err != nil || st.Open() == st.Why.Kind.closes() {
				t.Fatalf("%s: %v, %v", d, st, err)
			}
		}
	})
}
