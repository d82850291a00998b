package letter

import (
	"strconv"
	"strings"

	"graftclock/internal/day"
)

// fill puts values into a sentence's {names}, given as pairs of name and value.
// A value is never read for names again.
func fill(sentence string, pairs ...string) string {
	for i := 0; i < len(pairs); i += 2 {
		pairs[i] = "{" + pairs[i] + "}"
	}
	return strings.NewReplacer(pairs...).Replace(sentence)
}

// day spells a day with its weekday, month and year.
func (w *wording) day(d day.Day) string { return w.spell(w.Dates.Day, d) }

func (w *wording) spell(form string, d day.Day) string {
	year, month, dayOfMonth := d.Date()
	return fill(form, "weekday", w.Dates.Weekdays[d.Weekday()], "day", strconv.Itoa(dayOfMonth),
		"month", w.Dates.Months[month-1], "year", strconv.Itoa(year))
}

// implants counts implants in words.
func (w *wording) implants(n int) string {
	if n == 1 {
		return w.Surgery.OneImplant
	}
	return fill(w.Surgery.Implants, "n", strconv.Itoa(n))
}
