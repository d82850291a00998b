package clinic

import (
	"fmt"
	"strings"
	"time"

	"graftclock/internal/day"
)

// builder lays one layer of the settings over the other, the later over the
// earlier: weekly hours, public holidays, half days, closures, extra days.
type builder struct {
	span     day.Span
	first    time.Weekday
	hours    [][]day.Hours
	why      []Reason
	holidays []NamedDay
	zone     *time.Location
	notes    []string
	problems Problems
}

func newBuilder(s Settings, span day.Span) *builder {
	n := span.Days()
	return &builder{span: span, first: span.From.Weekday(), hours: make([][]day.Hours, n), why: make([]Reason, n)}
}

func (b *builder) problem(field, format string, args ...any) {
	b.problems = append(b.problems, Problem{field, fmt.Sprintf(format, args...)})
}

func (b *builder) note(format string, args ...any) {
	b.notes = append(b.notes, fmt.Sprintf(format, args...))
}

// set decides a day, if it is in the table.
func (b *builder) set(d day.Day, hours []day.Hours, why Reason) {
	if b.span.Contains(d) {
		i := d.Sub(b.span.From)
		b.hours[i], b.why[i] = hours, why
	}
}

func (b *builder) weekly(week Week) {
	var why [len(week)]Reason
	for w := range week {
		why[w] = Reason{Kind: Open, Source: "hours"}
		if len(week[w]) == 0 {
			why[w] = Reason{WeeklyClosingDay, time.Weekday(w).String(), "hours"}
		}
	}
	for i := range b.hours {
		w := weekdayOf(b.first, i)
		b.hours[i], b.why[i] = week[w], why[w]
	}
}

func (b *builder) publicHolidays(s Settings) {
	list, notes, err := regionHolidays(s.Region)
	if err != nil {
		b.problem("region", "%v", err)
	}
	b.notes = append(b.notes, notes...)
	kept, unknown := dropHolidays(list, s.Holidays.Drop)
	for _, i := range unknown {
		if err == nil {
			b.problem(fmt.Sprintf("holidays.drop[%d]", i), "no holiday %q in the list of %q: it has %s", s.Holidays.Drop[i], s.Region, strings.Join(holidayNames(list), "; "))
		}
	}
	for _, h := range daysOff(kept, b.span, s.Holidays.AlsoClosedOnTheDay) {
		b.holiday(h, s.Region)
	}
	for _, h := range s.Holidays.Add {
		b.holiday(h, "holidays.add")
	}
}

// holiday closes a day; a holiday that falls on another one leaves its name.
func (b *builder) holiday(h NamedDay, source string) {
	if !b.span.Contains(h.Day) || b.why[h.Day.Sub(b.span.From)].Kind == PublicHoliday {
		return
	}
	b.set(h.Day, nil, Reason{PublicHoliday, h.Name, source})
	b.holidays = append(b.holidays, h)
}

func (b *builder) halfDays(days []SpecialDay) {
	for _, d := range days {
		if !b.span.Contains(d.Day) {
			continue
		}
		if i := d.Day.Sub(b.span.From); len(b.hours[i]) == 0 {
			b.note("half day %s has no effect: %s", d.Day, b.why[i])
			continue
		}
		b.set(d.Day, d.Hours, Reason{HalfDay, d.Name, "half_days"})
	}
}

func (b *builder) closures(closures []Closure) {
	for _, c := range closures {
		b.close(day.Span{From: c.From, To: day.Max(c.From, c.To)}, Reason{ClosedDays, c.Name, "closures"})
	}
}

// close closes the days of the span that are in the table.
func (b *builder) close(span day.Span, why Reason) {
	last := span.To
	if last.After(b.span.To) {
		last = b.span.To
	}
	for d := day.Max(span.From, b.span.From); !d.After(last); d = d.AddDays(1) {
		b.set(d, nil, why)
	}
}

// cut takes some hours out of an open day and closes it if none are left.
func (b *builder) cut(d day.Day, out day.Hours, why Reason) {
	if !b.span.Contains(d) {
		return
	}
	i := d.Sub(b.span.From)
	left, touched := without(b.hours[i], out)
	switch {
	case !touched:
	case len(left) == 0:
		b.set(d, nil, why)
	default:
		b.set(d, left, Reason{HalfDay, why.Name, why.Source})
	}
}

// without returns the hours less the stretch out, and whether that changed them.
func without(hours []day.Hours, out day.Hours) (left []day.Hours, touched bool) {
	for _, h := range hours {
		if out.To <= h.From || h.To <= out.From {
			left = append(left, h)
			continue
		}
		touched = true
		if h.From < out.From {
			left = append(left, day.Hours{From: h.From, To: out.From})
		}
		if out.To < h.To {
			left = append(left, day.Hours{From: out.To, To: h.To})
		}
	}
	return left, touched
}

func (b *builder) extraDays(days []SpecialDay) {
	for _, d := range days {
		b.set(d.Day, d.Hours, Reason{ExtraDay, d.Name, "extra_days"})
	}
}
