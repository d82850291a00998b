package letter

import (
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
	return fill(w.Dates.WithTime, "day", w.day(b.Day), "time", b.Start.String())
}

// implants counts implants in words.
func (w *wording) implants(n int) string {
	if n == 1 {
		return w.Surgery.OneImplant
	}
	return fill(w.Surgery.Implants, "n", strconv.Itoa(n))
}
