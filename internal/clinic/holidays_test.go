package clinic

import (
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/bg"
	"github.com/rickar/cal/v2/nz"
	"github.com/rickar/cal/v2/us"

	"graftclock/internal/day"
)

func sorted(texts []string) []string { return slices.Sorted(slices.Values(texts)) }

// everyDay is a clinic of the region that never closes but for holidays.
func everyDay(t testing.TB, region string) Settings {
	s := Settings{Zone: "UTC", Region: region, Holidays: Holidays{AlsoClosedOnTheDay: true}}
	for w := range s.Hours {
		s.Hours[w] = hours(t, "08:00-18:00")
	}
	return s
}

func TestHolidayOnASaturdayClosesASaturdayClinic(t *testing.T) {
	saturday := time.Date(2026, time.July, 4, 12, 0, 0, 0, time.UTC)
	library := cal.NewBusinessCalendar()
	library.SetWorkday(time.Saturday, true)
	library.AddHoliday(us.Holidays...)
	if !library.IsWorkday(saturday) {
		t.Log("the library has learned that a holiday observed on Friday is also kept on Saturday")
	}
	s := everyDay(t, "US")
	c := build(t, s, "2026-01-01..2026-12-31")
	if got := status(t, c, "2026-07-04").Why.String(); got != "closed: public holiday (Independence Day)" {
		t.Errorf("the day itself: %s", got)
	}
	if got := status(t, c, "2026-07-03").Why.String(); got != "closed: public holiday (Independence Day, observed)" {
		t.Errorf("the day observed: %s", got)
	}
	s.Holidays.AlsoClosedOnTheDay = false
	c = build(t, s, "2026-01-01..2026-12-31")
	if !status(t, c, "2026-07-04").Open() || status(t, c, "2026-07-03").Open() {
		t.Error("a clinic that opts out keeps the observed day only")
	}
}

func TestOneHolidayDoesNotHideAnother(t *testing.T) {
	for _, alsoOnTheDay := range []bool{true, false} {
		s := everyDay(t, "BG")
		s.Holidays.AlsoClosedOnTheDay = alsoOnTheDay
		c := build(t, s, "2028-01-01..2034-12-31")
		for _, d := range []string{"2028-12-25", "2028-12-26", "2028-12-27", "2034-12-26", "2034-12-27"} {
			if status(t, c, d).Open() {
				t.Errorf("%s is open (also on the day: %v)", d, alsoOnTheDay)
			}
		}
		if !status(t, c, "2028-12-28").Open() {
			t.Error("2028-12-28 is closed")
		}
	}
}

func TestObservedDayInTheYearBefore(t *testing.T) {
	c := build(t, everyDay(t, "US"), "2027-12-01..2027-12-31")
	if got := status(t, c, "2027-12-31").Why.Name; got != "New Year's Day, observed" {
		t.Errorf("31 December 2027: got %q", got)
	}
}

func TestReadersAndBuildersDoNotRace(t *testing.T) {
	shared := build(t, everyDay(t, "JP"), "2026-01-01..2027-12-31")
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			own, err := New(everyDay(t, "JP"), shared.Horizon())
			if err != nil {
				t.Error(err)
				return
			}
			for d := own.Horizon().From; own.Horizon().Contains(d); d = d.AddDays(1) {
				one, _ := own.Status(d)
				other, _ := shared.Status(d)
				if !cmp.Equal(one, other) {
					t.Errorf("%s: %v and %v", d, one, other)
				}
			}
		})
	}
	wait.Wait()
	if status(t, shared, "2026-03-20").Open() {
		t.Error("the spring equinox of 2026 is open")
	}
}

func TestOccurrence(t *testing.T) {
	leap := yearly("Leap day", time.February, 29, nil)
	zero := computed("Never", func(int) time.Time { return time.Time{} })
	cases := []struct {
		name    string
		holiday *cal.Holiday
		year    int
		want    string
	}{
		{"29 February of a leap year", leap, 2028, "2028-02-29"},
		{"29 February of another year does not roll over", leap, 2027, "-"},
		{"a rule that answers with another year", nz.Matariki, 2060, "-"},
		{"the same rule inside its table", nz.Matariki, 2027, "2027-06-25"},
		{"the zero time", zero, 2027, "-"},
		{"before the first year", since(2030, "Later", time.May, 5, nil), 2029, "-"},
		{"after the only year", once(2026, "Once", time.May, 5), 2027, "-"},
	}
	for _, tc := range cases {
		if got, _, _ := occurrence(tc.holiday, tc.year); got.String() != tc.want {
			t.Errorf("%s: got %s, want %s", tc.name, got, tc.want)
		}
	}
}

func TestHolidaysStartAtMidnightUTC(t *testing.T) {
	for _, year := range []int{2026, 2027} {
		for _, h := range bg.Holidays {
			if actual, _ := h.Calc(year); !actual.IsZero() && (actual.Location() != time.UTC || actual.Hour() != 0) {
				t.Errorf("%s falls at %s", h.Name, actual)
			}
		}
	}
}

func TestEveryListGivesHolidaysEveryYear(t *testing.T) {
	for _, code := range Regions() {
		list, _, ok := corrected(code)
		if !ok {
			t.Fatalf("%s has no list", code)
		}
		for year := 2025; year <= 2040; year++ {
			whole := day.Span{From: day.New(year, time.January, 1), To: day.New(year, time.December, 31)}
			if n := len(daysOff(list, whole, true)); n < 6 || n > 40 {
				t.Errorf("%s has %d days off in %d", code, n, year)
			}
		}
	}
}

func TestHolidaysOfASpan(t *testing.T) {
	s := harbourRow(t)
	s.Holidays.Drop = []string{"Easter Monday"}
	want := []NamedDay{{on(t, "2027-03-17"), "Saint Patrick's Day"}, {on(t, "2027-03-19"), "Town fair"}}
	got := build(t, s, "2027-01-01..2027-12-31").Holidays(span(t, "2027-02-10..2027-04-30"))
	if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b day.Day) bool { return a == b })); diff != "" {
		t.Errorf("holidays (-want +got):\n%s", diff)
	}
	if outside := build(t, s, "2027-01-01..2027-02-28").Holidays(span(t, "2027-03-01..2027-04-30")); outside != nil {
		t.Errorf("outside the horizon: %v", outside)
	}
}
