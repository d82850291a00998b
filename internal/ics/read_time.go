package ics

import (
	"errors"
	"fmt"
	"strings"
	"time"

	ical "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// times returns start and end of an event, the end exclusive. Without DTEND and
// DURATION an event takes its one day, or no time at all (RFC 5545 3.6.1).
func (r *reader) times(event *ical.VEvent) (start, end time.Time, allDay bool, err error) {
	first, last, lasts := property(event, ical.PropertyDtstart), property(event, ical.PropertyDtend), property(event, ical.PropertyDuration)
	if first == nil {
		return start, end, false, errors.New("it has no DTSTART")
	}
	if start, allDay, err = r.moment(first); err != nil {
		return start, end, allDay, err
	}
	end = start
	endsAllDay := allDay
	switch {
	case last != nil:
		end, endsAllDay, err = r.moment(last)
	case lasts != nil:
		end, err = later(start, lasts.Value)
		if allDay && err == nil && !end.Equal(day.Of(end).Time()) {
			err = fmt.Errorf("DURATION %.40q has hours, but it starts on a whole day", lasts.Value)
		}
	}
	switch {
	case err != nil:
		return start, end, allDay, err
	case endsAllDay != allDay:
		return start, end, allDay, errors.New("DTSTART and DTEND are not both days or both times")
	case end.Before(start):
		return start, end, allDay, errors.New("it ends before it starts")
	}
	if allDay && end.Equal(start) {
		end = start.AddDate(0, 0, 1) // some programs write a day that ends on itself
	}
	return start, end, allDay, nil
}

// moment reads a DATE as midnight UTC, or a DATE-TIME: in UTC, on the clocks of a
// named zone, or on those of the reader's (RFC 5545 3.3.4, 3.3.5).
func (r *reader) moment(p *ical.IANAProperty) (at time.Time, allDay bool, err error) {
	value, zone := strings.TrimSpace(p.Value), r.zone
	allDay = len(value) == len(dateForm)
	form := localForm
	switch tzid := firstParameter(p, "TZID"); {
	case allDay:
		form, zone = dateForm, time.UTC
	case strings.HasSuffix(value, "Z"):
		form, zone = instantForm, time.UTC
	case tzid != "": // RFC 5545 3.2.19
		if zone, err = r.named(tzid); err != nil {
			return at, allDay, fmt.Errorf("%s: %w", p.IANAToken, err)
		}
	}
	wall, err := time.Parse(form, value)
	if err != nil || len(value) != len(form) { // Parse takes fractions of a second too
		return at, allDay, fmt.Errorf("%s %.40q is no day or time that exists", p.IANAToken, value)
	}
	if d := day.Of(wall); d.Before(day.First) || d.After(day.Last.AddDays(1)) { // the end of the last day is the day after
		return at, allDay, fmt.Errorf("%s %.40q is outside %s..%s", p.IANAToken, value, day.First, day.Last)
	}
	if allDay {
		return wall, true, nil
	}
	at, _ = resolve(wall, zone)
	return at.In(r.zone), false, nil
}

// firstParameter returns the first value of a parameter, "" if there is none.
func firstParameter(p *ical.IANAProperty, name string) string {
	for key, values := range p.ICalParameters {
		if strings.EqualFold(key, name) && len(values) > 0 {
			return values[0]
		}
	}
	return ""
}

// named loads the zone of a TZID. One that begins with a slash (RFC 5545 3.8.3.1)
// mostly ends in an IANA name.
func (r *reader) named(tzid string) (*time.Location, error) {
	if loc, met := r.zones[tzid]; met {
		return loc, nil
	}
	for name := tzid; name != "" && name != "Local"; {
		if loc, err := time.LoadLocation(name); err == nil {
			r.zones[tzid] = loc
			return loc, nil
		}
		_, tail, more := strings.Cut(name, "/")
		if !more || !strings.HasPrefix(tzid, "/") {
			break
		}
		name = tail
	}
	return nil, fmt.Errorf("%.40q is no time zone that is known here: want an IANA name, such as Europe/Dublin", tzid)
}
