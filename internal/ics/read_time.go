package ics

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	ical "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// times returns start and end of an event, the end exclusive. Without DTEND and
// DURATION an event takes its one day, or no time at all (RFC 5545 3.6.1).
func (r *reader) times(event *ical.VEvent) (start, end time.Time, allDay bool, err error) {
	first, last, length := property(event, ical.PropertyDtstart), property(event, ical.PropertyDtend), property(event, ical.PropertyDuration)
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
	case length != nil:
		end, err = later(start, length.Value)
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
		return at, allDay, fmt.Errorf("%s %q is no day or time that exists", p.IANAToken, value)
	}
	if d := day.Of(wall); d.Before(day.First) || d.After(day.Last) {
		return at, allDay, fmt.Errorf("%s %q is outside %s..%s", p.IANAToken, value, day.First, day.Last)
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
	return nil, fmt.Errorf("%q is no time zone that is known here: want an IANA name, such as Europe/Dublin", tzid)
}

// durationParts are the numbers of a DURATION: weeks, days, hours, minutes, seconds.
var durationParts = regexp.MustCompile(`(\d+)([WDHMS])`)

// later adds a DURATION (RFC 5545 3.3.6): its weeks and days by the calendar, the
// rest by the clock.
func later(start time.Time, value string) (time.Time, error) {
	value = strings.TrimSpace(value)
	if !durationForm.MatchString(value) || value[0] == '-' {
		return start, fmt.Errorf("DURATION %q is no length of time", value)
	}
	days, seconds := 0, 0
	for _, part := range durationParts.FindAllStringSubmatch(value, -1) {
		n, err := strconv.Atoi(part[1])
		if err != nil || n > maxSeconds {
			return start, fmt.Errorf("DURATION %q is too long", value)
		}
		switch part[2] {
		case "W":
			days += n * daysPerWeek
		case "D":
			days += n
		case "H":
			seconds += n * secondsPerHour
		case "M":
			seconds += n * secondsPerMinute
		case "S":
			seconds += n
		}
	}
	if days > maxDays || seconds > maxSeconds {
		return start, fmt.Errorf("DURATION %q is too long", value)
	}
	if days > 0 {
		clocks := start.Location()
		wall := start.UTC().Add(time.Duration(offsetAt(start, clocks)) * time.Second)
		start, _ = resolve(wall.AddDate(0, 0, days), clocks)
		start = start.In(clocks)
	}
	return start.Add(time.Duration(seconds) * time.Second), nil
}

const (
	daysPerWeek      = 7
	secondsPerMinute = 60
	secondsPerHour   = 60 * secondsPerMinute
	maxDays          = 100 * 366 // of an event that is read
	maxSeconds       = maxDays * 24 * secondsPerHour
)
