package letter

import (
	"fmt"
	"strconv"
	"strings"

	"graftclock/internal/day"
)

// fill puts values into a sentence's {names}, given as pairs of name and value.
// A value is never read for names again, and a name without a value stays.
func fill(sentence string, pairs ...string) string {
	var filled strings.Builder
	for {
		before, rest, opened := strings.Cut(sentence, "{")
		filled.WriteString(before)
		name, after, shut := strings.Cut(rest, "}")
		if !opened {
			return filled.String()
		}
		value := "{" + name + "}"
		if !shut {
			value = "{" + rest
		}
		for i := 0; shut && i < len(pairs); i += 2 {
			if pairs[i] == name {
				value = pairs[i+1]
			}
		}
		filled.WriteString(value)
		sentence = after
	}
}

// day spells a day with its weekday, month and year.
func (w *wording) day(d day.Day) string { return w.spell(w.Dates.Day, d) }

func (w *wording) spell(form string, d day.Day) string {
	year, month, dayOfMonth := d.Date()
	return fill(form, "weekday", w.Dates.Weekdays[d.Weekday()], "day", strconv.Itoa(dayOfMonth),
		"month", w.Dates.Months[month-1], "year", strconv.Itoa(year))
}

// at spells a day with its time, if it has one; nothing for the zero Booking.
func (w *wording) at(b Booking) string {
	switch {
	case b.Day.IsZero():
		return ""
	case b.Start == 0:
		return w.day(b.Day)
	}
	return fill(w.Dates.WithTime, "day", w.day(b.Day), "time", w.time(b.Start))
}

// time is a time of day as the region tells it: 14:05, or 2:05 PM.
func (w *wording) time(c day.Clock) string {
	if !w.Dates.Noon {
		return c.String()
	}
	const hour, noon = 60, 12
	half := "AM"
	if int(c)/hour >= noon {
		half = "PM"
	}
	return fmt.Sprintf("%d:%02d %s", (int(c)/hour+noon-1)%noon+1, int(c)%hour, half)
}

// which is which of a row of visits, a period such as "3 months", in the language's own
// words; empty for anything else, which is the clinic's business.
func (w *wording) which(text string) string {
	number, unit, _ := strings.Cut(text, " ")
	n, err := strconv.Atoi(number)
	switch {
	case err != nil:
	case unit == "day" || unit == "days":
		return w.count(w.Periods.Days, n)
	case unit == "month" || unit == "months":
		return w.count(w.Periods.Months, n)
	}
	return ""
}
