package day_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"graftclock/internal/day"
)

func TestParseRefusesWhatIsNoDay(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"29 February of a common year", "2027-02-29", "February 2027 has 28 days"},
		{"31 April", "2027-04-31", "April 2027 has 30 days"},
		{"month 13", "2027-13-01", "there is no month 13"},
		{"no leading zero", "2027-1-4", "want YYYY-MM-DD"},
		{"day first", "14-01-2027", "want YYYY-MM-DD"},
		{"blank", "", "want YYYY-MM-DD"},
		{"sign", "+027-01-14", "want YYYY-MM-DD"},
		{"too early", "1899-12-31", "outside"},
		{"too late", "2200-01-01", "outside"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, err := day.Parse(c.text)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("Parse(%q) = %v, %v; want an error that says %q", c.text, d, err, c.says)
			}
		})
	}
}

func TestAddMonthsStopsAtTheEndOfAShortMonth(t *testing.T) {
	for _, c := range []struct {
		from   string
		months int
		want   string
	}{
		{"2027-01-31", 1, "2027-02-28"},
		{"2028-01-31", 1, "2028-02-29"},
		{"2028-02-29", 12, "2029-02-28"},
		{"2027-08-31", 6, "2028-02-29"},
		{"2027-12-31", 2, "2028-02-29"},
		{"2027-03-31", -1, "2027-02-28"},
		{"2027-01-14", 4, "2027-05-14"},
		{"2027-01-14", -13, "2025-12-14"},
	} {
		from, _ := day.Parse(c.from)
		if got := from.AddMonths(c.months).String(); got != c.want {
			t.Errorf("%s + %d months = %s, want %s", c.from, c.months, got, c.want)
		}
	}
}

func TestHealingMonthsRoundUpToWholeDays(t *testing.T) {
	for _, c := range []struct {
		months float64
		days   int
	}{{0, 0}, {4, 122}, {6, 183}, {8, 244}, {10.6, 323}, {4800, 146097}, {6.71, 205}} {
		if got := day.HealingMonths(c.months); got != (day.Period{Days: c.days}) {
			t.Errorf("HealingMonths(%v) = %v, want %d days", c.months, got, c.days)
		}
	}
}

func TestParsePeriod(t *testing.T) {
	for _, c := range []struct {
		text string
		want day.Period
	}{{"10d", day.Period{Days: 10}}, {"3w", day.Period{Days: 21}}, {"4mo", day.Period{Months: 4}}, {"-28d", day.Period{Days: -28}}, {"0d", day.Period{}}} {
		if got, err := day.ParsePeriod(c.text); err != nil || got != c.want {
			t.Errorf("ParsePeriod(%q) = %v, %v; want %v", c.text, got, err, c.want)
		}
	}
	for _, bad := range []string{"", "10", "d", "4m", "4 mo", "1.5mo", "+3d", "9999d", "4mo1d", "--3d"} {
		if got, err := day.ParsePeriod(bad); err == nil {
			t.Errorf("ParsePeriod(%q) = %v, want an error", bad, got)
		}
	}
}

func TestParseSpanAndHours(t *testing.T) {
	span, err := day.ParseSpan("2027-07-05..2027-07-16")
	if err != nil || span.Days() != 12 || span.String() != "2027-07-05..2027-07-16" {
		t.Errorf("span = %v of %d days, %v", span, span.Days(), err)
	}
	if !span.Contains(span.From) || !span.Contains(span.To) || span.Contains(span.To.AddDays(1)) || span.Contains(span.From.AddDays(-1)) {
		t.Error("a span holds both its ends and nothing beyond")
	}
	for _, bad := range []string{"2027-07-16..2027-07-05", "2027-07-16..", "2027-02-29"} {
		if _, err := day.ParseSpan(bad); err == nil {
			t.Errorf("ParseSpan(%q) was accepted", bad)
		}
	}
	hours, err := day.ParseHours("08:30-12:30")
	if err != nil || hours.Minutes() != 240 || hours.String() != "08:30-12:30" {
		t.Errorf("hours = %v of %d minutes, %v", hours, hours.Minutes(), err)
	}
	for _, bad := range []string{"8:30-12:30", "12:30-08:30", "08:30", "08:30-25:00", "08:60-09:00"} {
		if _, err := day.ParseHours(bad); err == nil {
			t.Errorf("ParseHours(%q) was accepted", bad)
		}
	}
}

func TestParseWeekdays(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"mon", "Mon"}, {"mon-thu", "Mon, Tue, Wed, Thu"}, {"fri-mon", "Mon, Fri, Sat, Sun"}, {"sun", "Sun"}, {"tue-tue", "Tue"},
	} {
		if got, err := day.ParseWeekdays(c.text); err != nil || got.String() != c.want {
			t.Errorf("ParseWeekdays(%q) = %v, %v; want %s", c.text, got, err, c.want)
		}
	}
	for _, bad := range []string{"", "Mon", "mon-", "monday", "mon-fri-sat"} {
		if _, err := day.ParseWeekdays(bad); err == nil {
			t.Errorf("ParseWeekdays(%q) was accepted", bad)
		}
	}
}

// anyDay draws a day that Parse accepts.
func anyDay() *rapid.Generator[day.Day] {
	return rapid.Custom(func(t *rapid.T) day.Day {
		return day.First.AddDays(rapid.IntRange(0, day.Last.Sub(day.First)).Draw(t, "days"))
	})
}

// The standard library's own civil arithmetic is the reference here.
func TestDaysAgreeWithTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, n := anyDay().Draw(t, "day"), rapid.IntRange(-40000, 40000).Draw(t, "n")
		want := d.Time().AddDate(0, 0, n)
		if got := d.AddDays(n); got.Time() != want || got.Weekday() != want.Weekday() || got.Sub(d) != n {
			t.Fatalf("%s + %d days = %s (%s), want %s", d, n, got, got.Weekday(), want)
		}
		if back, err := day.Parse(d.String()); err != nil || back != d {
			t.Fatalf("Parse(%s) = %v, %v", d, back, err)
		}
	})
}

func TestAddMonthsIsMonotoneAndKeepsTheMonth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, n := anyDay().Draw(t, "day"), rapid.IntRange(-600, 600).Draw(t, "months")
		got := d.AddMonths(n)
		year, month, _ := d.Date()
		first := time.Date(year, month+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
		if got.Year() != first.Year() || got.Time().Month() != first.Month() {
			t.Fatalf("%s + %d months = %s, want a day of %s", d, n, got, first.Format("2006-01"))
		}
		if next := d.AddDays(1).AddMonths(n); next.Before(got) {
			t.Fatalf("the day after %s comes out earlier: %s before %s", d, next, got)
		}
	})
}

func FuzzParsePeriod(f *testing.F) {
	for _, seed := range []string{"10d", "3w", "4mo", "-28d", "x", "+3d"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := day.ParsePeriod(text)
		if err != nil {
			return
		}
		if again, err := day.ParsePeriod(p.String()); err != nil || again != p {
			t.Errorf("%q reads as %v, which reads as %v, %v", text, p, again, err)
		}
	})
}

func TestTheClockOfAMomentIsThatOfItsZone(t *testing.T) {
	at := time.Date(2027, 1, 25, 23, 59, 59, 0, time.FixedZone("", 2*60*60))
	if got := day.ClockOf(at); got != 23*60+59 {
		t.Errorf("%s", got)
	}
}
