package day

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Period is a length of calendar time: whole months, then whole days. Either
// may be negative, for a period that leads up to a day. The zero Period is no
// time at all.
type Period struct{ Months, Days int }

// DaysPerMonth is the mean length of a Gregorian month: 400 years have 146,097
// days and 4,800 months.
const DaysPerMonth = 146097.0 / 4800

const daysPerWeek = 7

// maxPeriod bounds the number in a period's text: a thousand months is more
// than any life with an implant.
const maxPeriod = 1000

// ParsePeriod reads a period written as a whole number and a unit: 10d, 3w,
// 4mo, with a minus sign for a period before a day.
func ParsePeriod(text string) (Period, error) {
	number, unit := text, ""
	if i := strings.LastIndexAny(text, "0123456789"); i >= 0 {
		number, unit = text[:i+1], text[i+1:]
	}
	n, err := strconv.Atoi(number)
	if err != nil || strings.HasPrefix(number, "+") || n < -maxPeriod || n > maxPeriod {
		return Period{}, fmt.Errorf("%q is no period: want a whole number with d, w or mo, such as 10d, 3w or 4mo", text)
	}
	switch unit {
	case "d":
		return Period{Days: n}, nil
	case "w":
		return Period{Days: n * daysPerWeek}, nil
	case "mo":
		return Period{Months: n}, nil
	}
	return Period{}, fmt.Errorf("%q is no period: unit %q; want d (days), w (weeks) or mo (months)", text, unit)
}

// HealingMonths converts months of healing, which are no calendar months, into
// whole days, rounded up: a month is DaysPerMonth days.
func HealingMonths(months float64) Period {
	const arithmeticNoise = 1e-9
	return Period{Days: int(math.Ceil(months*DaysPerMonth - arithmeticNoise))}
}

// String returns the period as text that ParsePeriod reads, where one unit is
// enough, and "4mo 1d" otherwise.
func (p Period) String() string {
	switch {
	case p.Months == 0:
		return fmt.Sprintf("%dd", p.Days)
	case p.Days == 0:
		return fmt.Sprintf("%dmo", p.Months)
	}
	return fmt.Sprintf("%dmo %dd", p.Months, p.Days)
}

// Words returns the period for a reader: "10 days", "1 month".
func (p Period) Words() string {
	var parts []string
	if p.Months != 0 {
		parts = append(parts, plural(p.Months, "month"))
	}
	if p.Days != 0 || p.Months == 0 {
		parts = append(parts, plural(p.Days, "day"))
	}
	return strings.Join(parts, " and ")
}

func plural(n int, unit string) string {
	if n == 1 || n == -1 {
		return fmt.Sprintf("%d %s", n, unit)
	}
	return fmt.Sprintf("%d %ss", n, unit)
}
