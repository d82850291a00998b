package demo

import (
	"slices"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// rota gives visits their times when very many cases are written at once: the first
// of a day at which a room and a person are free.
type rota struct {
	calendar *clinic.Calendar
	taken    map[day.Day][]graft.Slot
}

// take finds a slot for a kind of visit on a day, or on one of those after it up to
// a last one, and keeps it; false if all is taken.
func (r *rota) take(visit string, from, last day.Day) (graft.Slot, bool) {
	for d := from; !d.After(last); d = d.AddDays(1) {
		o := r.calendar.Opening(d, visit)
		for _, h := range o.Hours {
			for start := h.From; start+day.Clock(o.Minutes) <= h.To; start += day.Clock(o.Grid) {
				s := graft.Slot{Day: d, Start: start, Minutes: o.Minutes}
				if s.Room, s.Person = r.free(o.Rooms, s, roomOf), r.free(o.People, s, personOf); s.Room != "" && s.Person != "" {
					r.taken[d] = append(r.taken[d], s)
					return s, true
				}
			}
		}
	}
	return graft.Slot{}, false
}

func roomOf(s graft.Slot) string   { return s.Room }
func personOf(s graft.Slot) string { return s.Person }

// free returns the first of the names that nobody has at the time of a slot; empty if
// there is none.
func (r *rota) free(names []string, s graft.Slot, of func(graft.Slot) string) string {
	for _, name := range names {
		if !slices.ContainsFunc(r.taken[s.Day], func(t graft.Slot) bool { return of(t) == name && t.Overlaps(s) }) {
			return name
		}
	}
	return ""
}
