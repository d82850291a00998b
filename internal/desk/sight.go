package desk

import (
	"fmt"
	"slices"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
)

// sight is one visit as the calendar shows it.
type sight struct {
	given
	odd   string   // why it can be no visit; empty if it can
	extra []string // what else is in it: guests, links, alarms
}

func (s sight) slot() graft.Slot {
	return graft.Slot{Day: s.Day, Start: s.Start, Minutes: s.Minutes, Room: s.Location}
}

// seen reads the one event of a resource. With a UID it must bear it. Several of one
// UID are a series of which some days differ from the others (RFC 4791 4.1): the first
// of its days is what is seen.
func (k *Keeper) seen(data []byte, uid string) (sight, error) {
	events, err := ics.Read(data, k.Clinic.Zone)
	if err != nil {
		return sight{}, err
	}
	another := func(e ics.Seen) bool { return e.UID != events[0].UID || len(events) > 1 && !e.Recurring }
	if len(events) == 0 || slices.ContainsFunc(events, another) || uid != "" && events[0].UID != uid {
		return sight{}, &graft.Refusal{Kind: graft.Conflict, Message: "another event is at its place in the calendar"}
	}
	zone, err := time.LoadLocation(k.Clinic.Zone)
	if err != nil {
		return sight{}, fmt.Errorf("the clinic's zone: %w", err)
	}
	first := slices.MinFunc(events, func(a, b ics.Seen) int { return a.Start.Compare(b.Start) })
	return sightOf(first, zone), nil
}

func sightOf(e ics.Seen, zone *time.Location) sight {
	s := sight{given: given{Summary: e.Summary, Description: e.Description, Location: e.Location, Status: e.Status, Transparent: e.Transparent, Zone: zone.String()}, extra: e.Extra}
	switch {
	case e.Recurring:
		s.odd = "it repeats there"
	case e.AllDay:
		s.odd = "it takes whole days there"
	case e.Status == ics.Cancelled:
		s.odd = "it is cancelled there"
	}
	if e.AllDay {
		s.Day = day.Of(e.Start)
		return s
	}
	start := e.Start.In(zone)
	s.Day, s.Start = day.Of(start), day.Clock(start.Hour()*60+start.Minute())
	s.Minutes = int(e.End.Sub(e.Start).Minutes())
	return s
}

// saysSame reports whether a reader finds the same in two: the time, the words and
// everything else.
func (s sight) saysSame(other sight) bool {
	return s.odd == other.odd && s.sameTime(other.given) && s.Summary == other.Summary && s.Description == other.Description && s.Location == other.Location &&
		s.Status == other.Status && s.Transparent == other.Transparent && slices.Equal(s.extra, other.extra)
}

// sameWords reports whether a reader finds the same title and text in two.
func (s sight) sameWords(other sight) bool {
	return s.Summary == other.Summary && s.Description == other.Description
}

// differsFrom says what somebody changed of a visit that is still at its time.
func (s sight) differsFrom(was sight) string {
	if s.sameWords(was) {
		return "guests, links, alarms or the like were changed, not its time"
	}
	return "its words were changed, not its time"
}

// asSeen is what was put there as the calendar gives it back: texts are cleaned on
// their way out.
func (k *Keeper) asSeen(put given) (sight, error) {
	data, err := ics.Encode(ics.Calendar{Zone: k.Clinic.Zone, Stamp: epoch, Events: []ics.Event{put.event("as-put")}})
	if err != nil {
		return sight{}, err
	}
	return k.seen(data, "")
}

// epoch stands for a time that does not matter.
var epoch = time.Unix(0, 0).UTC()
