package day

import (
	"fmt"
	"strings"
	"time"
)

// Span is a run of days, both ends included. The zero Span holds no day.
type Span struct{ From, To Day }

// ParseSpan reads FROM..TO, or one day for a span of one day.
func ParseSpan(text string) (Span, error) {
	from, to, two := strings.Cut(text, "..")
	if !two {
		to = from
	}
	first, err := Parse(from)
	if err != nil {
		return Span{}, err
	}
	last, err := Parse(to)
	if err != nil {
		return Span{}, err
	}
	if last.Before(first) {
		return Span{}, fmt.Errorf("%q ends before it starts", text)
	}
	return Span{first, last}, nil
}

// Contains reports whether d lies in the span.
func (s Span) Contains(d Day) bool {
	return !d.IsZero() && !d.Before(s.From) && !d.After(s.To)
}

// Days returns how many days the span has.
func (s Span) Days() int {
	if s.From.IsZero() {
		return 0
	}
	return s.To.Sub(s.From) + 1
}

// String returns FROM..TO, or the one day.
func (s Span) String() string {
	if s.From == s.To {
		return s.From.String()
	}
	return s.From.String() + ".." + s.To.String()
}

// Weekdays is a set of days of the week. The zero value is the empty set.
type Weekdays uint8

var weekdayWords = [daysPerWeek]string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"}

// ParseWeekday reads a weekday as its first three letters in lower case.
func ParseWeekday(text string) (time.Weekday, error) {
	for i, word := range weekdayWords {
		if text == word {
			return time.Weekday(i), nil
		}
	}
	return 0, fmt.Errorf("%q is no weekday: want mon, tue, wed, thu, fri, sat or sun", text)
}

// ParseWeekdays reads one weekday, or a run such as mon-thu; a run may pass the
// end of the week (fri-mon).
func ParseWeekdays(text string) (Weekdays, error) {
	from, to, run := strings.Cut(text, "-")
	first, err := ParseWeekday(from)
	if err != nil {
		return 0, err
	}
	if !run {
		return WeekdaySet(first), nil
	}
	last, err := ParseWeekday(to)
	if err != nil {
		return 0, err
	}
	set := WeekdaySet(last)
	for w := first; w != last; w = (w + 1) % daysPerWeek {
		set |= WeekdaySet(w)
	}
	return set, nil
}

// WeekdaySet returns the set of the given weekdays.
func WeekdaySet(weekdays ...time.Weekday) Weekdays {
	var set Weekdays
	for _, w := range weekdays {
		set |= 1 << w
	}
	return set
}

// Has reports whether the set holds the weekday.
func (s Weekdays) Has(w time.Weekday) bool { return s&(1<<w) != 0 }

// String lists the weekdays from Monday on: "Mon, Tue, Thu".
func (s Weekdays) String() string {
	var names []string
	for i := 1; i <= daysPerWeek; i++ {
		if w := time.Weekday(i % daysPerWeek); s.Has(w) {
			names = append(names, w.String()[:3])
		}
	}
	return strings.Join(names, ", ")
}
