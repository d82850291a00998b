package clinic

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// moment is a DATE of an event, as midnight UTC, or a DATE-TIME in the zone that
// it is written in.
type moment struct {
	at     time.Time
	wall   time.Time // as it is written, carried in UTC; at is later where clocks leave it out
	allDay bool
}

// onWall is the moment at which the wall of a zone shows a time.
func onWall(wall time.Time, zone *time.Location, allDay bool) moment {
	return moment{atWall(wall, zone), wall, allDay}
}

func (m moment) day() day.Day { return day.Of(m.at) }

// later is the moment that comes after an exact length.
func (m moment) later(length time.Duration) moment {
	at := m.at.Add(length)
	return moment{at, wallOf(at), m.allDay}
}

// eventTimes returns start and end of an event; the end is exclusive (RFC 5545
// section 3.6.1).
func (b *builder) eventTimes(event *ics.VEvent) (from, to moment, err error) {
	start, end, length := value(event, "DTSTART"), value(event, "DTEND"), value(event, "DURATION")
	if start == nil {
		return from, to, errors.New("it has no start (DTSTART)")
	}
	if from, err = b.moment(start, start.Value); err != nil {
		return from, to, fmt.Errorf("DTSTART: %w", err)
	}
	switch {
	case end != nil && length != nil:
		return from, to, errors.New("it has both an end and a length (DTEND and DURATION)")
	case end != nil:
		if to, err = b.moment(end, end.Value); err != nil {
			return from, to, fmt.Errorf("DTEND: %w", err)
		}
	case length != nil:
		if to, err = from.plus(length.Value); err != nil {
			return from, to, fmt.Errorf("DURATION: %w", err)
		}
	case from.allDay: // without end or length: that one day
		to = from.later(24 * time.Hour)
	default: // without end or length: no time at all
		to = from
	}
	return from, to, inOrder(from, to, end != nil)
}

// inOrder wants an end of the start's own type, and later (RFC 5545 section
// 3.8.2.2).
func inOrder(from, to moment, given bool) error {
	switch {
	case from.allDay != to.allDay:
		return errors.New("its start and its end are not both days or both times")
	case to.at.Before(from.at), given && to.at.Equal(from.at), from.allDay && to.at.Equal(from.at):
		return errors.New("it does not end after it starts")
	}
	return nil
}

// The forms of RFC 5545 sections 3.3.4 and 3.3.5.
const dateForm, localForm, utcForm = "20060102", "20060102T150405", "20060102T150405Z"

// moment reads one value of a property that holds a DATE (RFC 5545 section 3.3.4)
// or a DATE-TIME (section 3.3.5): in UTC, in a named zone, or floating, which is
// the clinic's time.
func (b *builder) moment(p *ics.IANAProperty, text string) (moment, error) {
	zone, text := b.zone, strings.TrimSpace(text)
	if name := parameter(p, "TZID"); name != "" && len(text) == len(localForm) { // RFC 5545 section 3.2.19
		named, err := loadZone(name)
		if err != nil {
			return moment{}, err
		}
		zone = named
	}
	return readMoment(text, strings.EqualFold(parameter(p, "VALUE"), "DATE"), zone)
}

// readMoment reads a day, or a time on the clock of the zone where it does not say
// that it is in UTC.
func readMoment(text string, isDay bool, zone *time.Location) (moment, error) {
	form, allDay := localForm, isDay || len(text) == len(dateForm)
	switch {
	case allDay:
		// Not in the clinic's zone, where a day may have no midnight.
		form, zone = dateForm, time.UTC
	case strings.HasSuffix(text, "Z"):
		form, zone = utcForm, time.UTC
	}
	wall, err := time.Parse(form, text)
	if err != nil {
		return moment{}, fmt.Errorf("%q is no day or time that exists", text)
	}
	if d := day.Of(wall); d.Before(day.First) || d.After(day.Last) {
		return moment{}, fmt.Errorf("%s is outside %s..%s", d, day.First, day.Last)
	}
	return onWall(wall, zone, allDay), nil
}

// parameter returns a parameter of a property, "" if absent; names are the same
// in any case (RFC 5545 section 3.2).
func parameter(p *ics.IANAProperty, name string) string {
	for _, key := range slices.Sorted(maps.Keys(p.ICalParameters)) {
		if values := p.ICalParameters[key]; strings.EqualFold(key, name) && len(values) > 0 {
			return values[0]
		}
	}
	return ""
}

// plus adds a DURATION: its weeks and days by the calendar, the rest by the clock
// (RFC 5545 section 3.3.6). A whole-day event takes weeks and days only (section
// 3.6.1).
func (m moment) plus(text string) (moment, error) {
	text = strings.TrimSpace(text)
	part := durationText.FindStringSubmatch(text)
	if part == nil || strings.HasSuffix(text, "P") || strings.HasSuffix(text, "T") {
		return moment{}, fmt.Errorf("%q is no length, such as P3D or PT90M", text)
	}
	var n [6]int // weeks, days, hours, minutes, seconds from 1 on
	for i := 1; i < len(n); i++ {
		n[i], _ = strconv.Atoi("0" + part[i])
		if n[i] > maxDuration {
			return moment{}, fmt.Errorf("%q is too long", text)
		}
	}
	clock := time.Duration(n[3])*time.Hour + time.Duration(n[4])*time.Minute + time.Duration(n[5])*time.Second
	if m.allDay && clock != 0 {
		return moment{}, fmt.Errorf("%q has hours, but the event starts on a whole day", text)
	}
	wall := m.wall.AddDate(0, 0, n[1]*daysPerWeek+n[2])
	return onWall(wall, m.at.Location(), m.allDay).later(clock), nil
}

// durationText is the form of RFC 5545 section 3.3.6.
var durationText = regexp.MustCompile(`^\+?P(?:(\d+)W|(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?)?)$`)

// maxDuration bounds each number of a DURATION: as many days are ninety years.
const maxDuration = 32_767
