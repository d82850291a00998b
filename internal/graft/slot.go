package graft

import (
	"strings"

	"graftclock/internal/day"
)

// Slot is a time in the clinic's diary with the room and the person it takes.
// Room or Person is empty where the visit takes none. The zero Slot is no slot.
type Slot struct {
	Day          day.Day
	Start        day.Clock
	Minutes      int
	Room, Person string
}

// End returns the time of day at which the slot is over.
func (s Slot) End() day.Clock { return s.Start + day.Clock(s.Minutes) }

// Overlaps reports whether the two slots have a minute in common, whatever rooms
// and people they take. Slots that only touch do not overlap.
func (s Slot) Overlaps(other Slot) bool {
	return s.Day == other.Day && s.Start < other.End() && other.Start < s.End()
}

// String writes the slot for a desk: "Thu 2027-02-11 10:00-10:20, Surgery 1, Dr
// Alba Quill"; a slot without minutes is its day.
func (s Slot) String() string {
	if s.Day.IsZero() {
		return "-"
	}
	parts := []string{s.Day.Weekday().String()[:3] + " " + s.Day.String()}
	if s.Minutes > 0 {
		parts[0] += " " + s.Start.String() + "-" + s.End().String()
	}
	for _, part := range []string{s.Room, s.Person} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, ", ")
}

// Override is a surgeon's own day for a milestone, in place of the computed one.
type Override struct {
	Day      day.Day
	By       string
	On       day.Day // when it was given
	Why      string
	Computed Window // what the rules alone say
}
