package clinic

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// BusyTimes returns the time that the events of a calendar file take on the days of
// the span, by the clocks of the zone (an IANA name), in order, joined where events
// overlap or touch. A slot has neither room nor person; one of 24 hours is a whole
// day. Nothing returned has a title of the file in it. Notes are what was passed
// over. What cannot be read is Problems, all of them at once.
func BusyTimes(f File, zone string, span day.Span) (taken []graft.Slot, notes []string, err error) {
	if span.Days() < 1 || span.From.Before(day.First) || span.To.After(day.Last) {
		return nil, nil, fmt.Errorf("%s is no span of days within %s..%s", span, day.First, day.Last)
	}
	b := newBuilder(Settings{}, span)
	b.untitled = true
	b.checkZone(zone)
	var list []stretch
	b.eventFile("", f, "takes no time", func(_ string, from, to moment) {
		if !from.allDay {
			list = append(list, b.stretches(from.at, to.at)...)
			return
		}
		for d := range b.days(day.Span{From: from.day(), To: to.day().AddDays(-1)}) {
			list = append(list, stretch{d, wholeDay})
		}
	})
	if len(b.problems) > 0 {
		return nil, nil, b.problems
	}
	for _, s := range joined(list) {
		taken = append(taken, graft.Slot{Day: s.day, Start: s.hours.From, Minutes: s.hours.Minutes()})
	}
	return taken, b.notes, nil
}

// joined sorts stretches and joins those of one day that overlap or touch.
func joined(list []stretch) []stretch {
	slices.SortFunc(list, func(x, y stretch) int {
		return cmp.Or(x.day.Sub(y.day), cmp.Compare(x.hours.From, y.hours.From))
	})
	var all []stretch
	for _, s := range list {
		if n := len(all); n > 0 && all[n-1].day == s.day && s.hours.From <= all[n-1].hours.To {
			all[n-1].hours.To = max(all[n-1].hours.To, s.hours.To)
			continue
		}
		all = append(all, s)
	}
	return all
}

// Elapsed returns how many minutes pass in a zone (an IANA name) from the start of
// a slot to its end: as many as it has on the wall, but where clocks are changed in
// between. A start that they show twice is the first, an end the second.
func Elapsed(s graft.Slot, zone string) (int, error) {
	location, err := loadZone(zone)
	if err != nil {
		return 0, err
	}
	wall := func(c day.Clock) time.Time { return s.Day.Time().Add(time.Duration(c) * time.Minute) }
	start, _ := day.AtWall(wall(s.Start), location)
	// The minute before the end is in the slot, the end itself is not.
	end := day.LastAtWall(wall(s.End()-1), location).Add(time.Minute)
	return int(end.Sub(start) / time.Minute), nil
}
