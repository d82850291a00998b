package icalread

import (
	"errors"
	"fmt"
	"time"

	ical "github.com/arran4/golang-ical"
	"github.com/teambition/rrule-go"
)

// onset is when a zone's clocks begin to show another offset: the wall-clock time
// just before, carried in UTC.
type onset struct {
	wall     time.Time
	from, to time.Duration // offsets from UTC
}

// lastYear bounds the onsets of a rule without an end.
const lastYear = 2101

// learn works out all onsets of a VTIMEZONE.
func (r *goReader) learn(zone *ical.VTimezone) error {
	name := zone.GetProperty("TZID")
	if name == nil {
		return errors.New("no TZID")
	}
	var all []onset
	for _, c := range zone.Components {
		switch c := c.(type) {
		case *ical.Standard:
			found, err := onsets(&c.ComponentBase)
			if err != nil {
				return err
			}
			all = append(all, found...)
		case *ical.Daylight:
			found, err := onsets(&c.ComponentBase)
			if err != nil {
				return err
			}
			all = append(all, found...)
		}
	}
	if len(all) == 0 {
		return fmt.Errorf("%s says nothing", name.Value)
	}
	r.zones[name.Value] = all
	return nil
}

// onsets lists those of one STANDARD or DAYLIGHT.
func onsets(c *ical.ComponentBase) ([]onset, error) {
	text := map[ical.ComponentProperty]string{}
	for _, name := range []ical.ComponentProperty{"DTSTART", "TZOFFSETFROM", "TZOFFSETTO", "RRULE"} {
		if p := c.GetProperty(name); p != nil {
			text[name] = p.Value
		}
	}
	start, err := time.Parse(localForm, text["DTSTART"])
	if err != nil {
		return nil, err
	}
	from, err := offsetOf(text["TZOFFSETFROM"])
	if err != nil {
		return nil, err
	}
	to, err := offsetOf(text["TZOFFSETTO"])
	if err != nil {
		return nil, err
	}
	all := []onset{{start, from, to}}
	if text["RRULE"] == "" {
		return all, nil
	}
	options, err := rrule.StrToROption(text["RRULE"])
	if err != nil {
		return nil, err
	}
	options.Dtstart = start
	rule, err := rrule.NewRRule(*options)
	if err != nil {
		return nil, err
	}
	for _, wall := range rule.Between(start, time.Date(lastYear, 1, 1, 0, 0, 0, 0, time.UTC), false) {
		all = append(all, onset{wall, from, to})
	}
	return all, nil
}

// offsetOf reads an offset from UTC (RFC 5545 3.3.14).
func offsetOf(text string) (time.Duration, error) {
	form := "-0700"
	if len(text) > len(form) {
		form = "-070000"
	}
	t, err := time.Parse(form, text)
	_, seconds := t.Zone()
	return time.Duration(seconds) * time.Second, err
}

// offset is what the clocks are ahead of UTC by when they show a wall-clock time: by
// the latest onset before it, or by what stood before the first. Of a time that comes
// twice the earlier is meant, and one that clocks jump over is read on the old ones.
func offset(all []onset, wall time.Time) time.Duration {
	first, latest := all[0], onset{}
	for _, o := range all {
		if o.wall.Before(first.wall) {
			first = o
		}
		begins := o.wall.Add(max(0, o.to-o.from))
		if !wall.Before(begins) && o.wall.After(latest.wall) {
			latest = o
		}
	}
	if latest == (onset{}) {
		return first.from
	}
	return latest.to
}
