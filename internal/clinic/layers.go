package clinic

import (
	"fmt"
	"iter"
	"slices"
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
	beneath  map[int][]Reason // of a day that closes: what else closes it, the later layers first
	lacks    map[int][]lack   // by day: who is away and what is out of use
	busy     []Busy
	holidays []NamedDay
	zone     *time.Location
	untitled bool // events are named by their numbers
	notes    []string
	problems Problems
}

func newBuilder(s Settings, span day.Span) *builder {
	n := span.Days()
	return &builder{
		span: span, first: span.From.Weekday(),
		hours: make([][]day.Hours, n), why: make([]Reason, n),
		beneath: map[int][]Reason{}, lacks: map[int][]lack{},
	}
}

func (b *builder) problem(field, format string, args ...any) {
	b.problems = append(b.problems, Problem{field, fmt.Sprintf(format, args...)})
}

func (b *builder) note(format string, args ...any) {
	b.notes = append(b.notes, fmt.Sprintf(format, args...))
}

// set decides a day, if it is in the table. A day that was closed before and stays
// so keeps the earlier reason beneath.
func (b *builder) set(d day.Day, hours []day.Hours, why Reason) {
	if !b.span.Contains(d) {
		return
	}
	i := d.Sub(b.span.From)
	if len(hours) == 0 && len(b.hours[i]) == 0 {
		b.beneath[i] = slices.Insert(b.beneath[i], 0, b.why[i])
	}
	b.hours[i], b.why[i] = hours, why
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

// holiday closes a day; a holiday that falls on another one leaves its name and
// goes beneath it.
func (b *builder) holiday(h NamedDay, source string) {
	if !b.span.Contains(h.Day) {
		return
	}
	why := Reason{PublicHoliday, h.Name, source}
	if i := h.Day.Sub(b.span.From); b.why[i].Kind == PublicHoliday {
		b.beneath[i] = slices.Insert(b.beneath[i], 0, why)
		return
	}
	b.set(h.Day, nil, why)
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
	for d := range b.days(span) {
		b.set(d, nil, why)
	}
}

// days returns the days of the span that are in the table.
func (b *builder) days(span day.Span) iter.Seq[day.Day] {
	return func(yield func(day.Day) bool) {
		for d := day.Max(span.From, b.span.From); !d.After(span.To) && !d.After(b.span.To); d = d.AddDays(1) {
			if !yield(d) {
				return
			}
		}
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
