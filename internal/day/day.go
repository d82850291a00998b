// Package day is the civil calendar: a day without zone or time of day, a
// period such as "10d" or "4mo", a span of days, a weekday set, a wall-clock time
// and the instant at which a zone shows it. It decides nothing about clinics or
// bones and never asks what day it is.
package day

import (
	"fmt"
	"regexp"
	"time"
)

// Day is one day of the Gregorian calendar, without zone and without time of
// day. The zero Day is no day at all: IsZero reports it and String prints "-".
// Days compare with == and order with Before.
type Day struct {
	ordinal int32 // days since 31 December of the year 0; 0 = no day
}

// First and Last bound the days that can be read from text.
var (
	First = New(1900, time.January, 1)
	Last  = New(2199, time.December, 31)
)

const secondsPerDay = 24 * 60 * 60

// epoch is the ordinal of 1 January 1970.
var epoch = int32((time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC).Unix() - time.Date(0, 12, 31, 0, 0, 0, 0, time.UTC).Unix()) / secondsPerDay)

// New returns the day of the given year, month and day of the month. Values
// outside a month roll over as in time.Date; text goes through Parse, which
// refuses them.
func New(year int, month time.Month, dayOfMonth int) Day {
	return Day{int32(time.Date(year, month, dayOfMonth, 0, 0, 0, 0, time.UTC).Unix()/secondsPerDay) + epoch}
}

// Of returns the day on which the instant falls in its own zone.
func Of(t time.Time) Day { return New(t.Date()) }

// Parse reads a day written as YYYY-MM-DD (ISO 8601 calendar date, extended
// form). It refuses a day that does not exist, such as 2027-02-29, and a day
// outside First..Last.
func Parse(text string) (Day, error) {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return Day{}, fmt.Errorf("%q is no day: %s", text, whyNoDay(text))
	}
	d := Of(t)
	if d.Before(First) || Last.Before(d) {
		return Day{}, fmt.Errorf("%q is outside %s..%s", text, First, Last)
	}
	return d, nil
}

// whyNoDay tells a day that does not exist from text that is not a day.
func whyNoDay(text string) string {
	if !dayForm.MatchString(text) {
		return "want YYYY-MM-DD, such as 2027-01-14"
	}
	var y, m, d int
	fmt.Sscanf(text, "%d-%d-%d", &y, &m, &d)
	if m < 1 || m > 12 {
		return fmt.Sprintf("there is no month %02d", m)
	}
	return fmt.Sprintf("%s %d has %d days", time.Month(m), y, daysIn(y, time.Month(m)))
}

var dayForm = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}$`)

func daysIn(year int, month time.Month) int {
	return time.Date(year, month+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

// IsZero reports whether d is no day at all.
func (d Day) IsZero() bool { return d.ordinal == 0 }

// Time returns midnight UTC of the day: for formatting and for libraries that
// know only time.Time.
func (d Day) Time() time.Time {
	return time.Unix(int64(d.ordinal-epoch)*secondsPerDay, 0).UTC()
}

// Date returns year, month and day of the month.
func (d Day) Date() (year int, month time.Month, dayOfMonth int) { return d.Time().Date() }

// Year returns the year.
func (d Day) Year() int { return d.Time().Year() }

// Weekday returns the day of the week.
func (d Day) Weekday() time.Weekday { return d.Time().Weekday() }

// String returns the day as YYYY-MM-DD, or "-" for no day.
func (d Day) String() string {
	if d.IsZero() {
		return "-"
	}
	year, month, dayOfMonth := d.Date()
	text := [len(time.DateOnly)]byte{4: '-', 7: '-'}
	decimal(text[0:4], year)
	decimal(text[5:7], int(month))
	decimal(text[8:10], dayOfMonth)
	return string(text[:])
}

// decimal writes a number into all of dst, with leading zeros.
func decimal(dst []byte, n int) {
	for i := len(dst) - 1; i >= 0; i-- {
		dst[i] = byte('0' + n%10)
		n /= 10
	}
}

// MarshalText writes the day as YYYY-MM-DD and no day as the empty text.
func (d Day) MarshalText() ([]byte, error) {
	if d.IsZero() {
		return nil, nil
	}
	return []byte(d.String()), nil
}

// UnmarshalText is the inverse of MarshalText.
func (d *Day) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*d = Day{}
		return nil
	}
	parsed, err := Parse(string(text))
	*d = parsed
	return err
}

// Before reports whether d is an earlier day than other.
func (d Day) Before(other Day) bool { return d.ordinal < other.ordinal }

// After reports whether d is a later day than other.
func (d Day) After(other Day) bool { return d.ordinal > other.ordinal }

// Sub returns how many days d is later than other; negative if it is earlier.
func (d Day) Sub(other Day) int { return int(d.ordinal - other.ordinal) }

// AddDays returns the day n days later; n may be negative.
func (d Day) AddDays(n int) Day { return Day{d.ordinal + int32(n)} }

// AddMonths returns the same day of the month n months later, or the last day
// of that month when it is shorter: 31 January plus one month is 28 February.
func (d Day) AddMonths(n int) Day {
	year, month, dayOfMonth := d.Date()
	first := time.Date(year, month+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
	return New(first.Year(), first.Month(), min(dayOfMonth, daysIn(first.Year(), first.Month())))
}

// Add returns the day one period later: months first, then days.
func (d Day) Add(p Period) Day { return d.AddMonths(p.Months).AddDays(p.Days) }

// Max returns the latest of the days; no day counts as earliest.
func Max(days ...Day) Day {
	var latest Day
	for _, d := range days {
		if d.After(latest) {
			latest = d
		}
	}
	return latest
}
