package web

import (
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// mostLooked is how many days are looked at for offers at once.
const mostLooked = 92

// looked are the days that somebody wants offers of; none: the window's.
func (q *request) looked(page *stepPage) day.Span {
	var span day.Span
	for _, end := range []struct {
		name, label string
		field       *formField
		day         *day.Day
	}{{"from", "First day to look at", &page.From, &span.From}, {"to", "Last day to look at", &page.To, &span.To}} {
		text := graft.OneLine(q.URL.Query().Get(end.name))
		*end.field = formField{ID: "look-" + end.name, Name: end.name, Label: end.label, Value: text}
		if d, err := day.Parse(text); err == nil {
			*end.day = d
			end.field.Reading, _ = q.reading(text)
		} else if text != "" {
			end.field.Fault = err.Error()
		}
	}
	switch {
	case span.From.IsZero() && span.To.IsZero():
		return day.Span{}
	case span.From.IsZero():
		span.From = q.on
	case span.To.IsZero():
		span.To = span.From.AddDays(mostLooked)
	}
	if span.To.Before(span.From) {
		page.To.Fault = "this is before the first day"
		return day.Span{}
	}
	if last := span.From.AddDays(mostLooked); span.To.After(last) {
		span.To = last
	}
	return span
}

// roomsFor are the rooms and the people that a visit may be booked with.
func (q *request) roomsFor(visit string) (rooms, people []string) {
	kind := q.keeper.Clinic.Visits[visit]
	for _, r := range q.keeper.Clinic.Rooms {
		if slices.Contains(r.For, kind.Room) {
			rooms = append(rooms, r.Name)
		}
	}
	for _, p := range q.keeper.Clinic.People {
		if kind.Role == "" || p.Role == kind.Role {
			people = append(people, p.Name)
		}
	}
	return rooms, people
}

// toCome are the starts of an offer that have not passed yet.
func (q *request) toCome(o diary.Offer) []day.Clock {
	if o.Day != q.on || o.Minutes == 0 {
		return o.Starts
	}
	return slices.DeleteFunc(slices.Clone(o.Starts), func(start day.Clock) bool { return start <= day.ClockOf(q.at) })
}

// offerLines writes the offers for who looks: none below a floor, none of a time of today
// that has passed, and before a gate only to a surgeon.
func (q *request) offerLines(offers []diary.Offer) []offerLine {
	var list []offerLine
	for _, o := range offers {
		starts := q.toCome(o)
		if o.BelowFloor || o.BeforeGate && !isSurgeon(q.who) || len(starts) == 0 || len(list) == mostOffers {
			continue
		}
		line := offerLine{N: len(list) + 1, Day: o.Day.String(), Long: longDay(o.Day), Why: half(o.Says), Asks: !o.Inside || o.BeforeGate}
		for _, start := range starts {
			line.Starts = append(line.Starts, start.String())
		}
		for _, part := range []string{o.Room, o.Person} {
			if part != "" && line.Where != "" {
				line.Where += ", "
			}
			line.Where += part
		}
		list = append(list, line)
	}
	return list
}
