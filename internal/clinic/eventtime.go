package clinic

import (
	"errors"
	"fmt"
	"regexp"
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
	at, _ := day.AtWall(wall, zone)
	return moment{at, wall, allDay}
}

func (m moment) day() day.Day { return day.Of(m.at) }

// after is the moment a length later: its days by the calendar, the rest by the clock.
func (m moment) after(l length) moment {
	if l.days != 0 {
		m = onWall(m.wall.AddDate(0, 0, l.days), m.at.Location(), m.allDay)
	}
	at := m.at.Add(l.clock)
	return moment{at, day.WallOf(at), m.allDay}
}

// eventTimes returns the start of an event and how long it is (RFC 5545 section
// 3.6.1). The way to a DTEND has the same exact length each time that the event
// repeats, a DURATION is counted on the calendar again (section 3.8.5.3).
func (r *eventReader) eventTimes(event *ics.ComponentBase) (from moment, lasts length, err error) {
	start, end, given := value(event, "DTSTART"), value(event, "DTEND"), value(event, "DURATION")
	if start == nil {
		return from, lasts, errors.New("it has no start (DTSTART)")
	}
	if from, err = r.moment(start, start.Value); err != nil {
		return from, lasts, fmt.Errorf("DTSTART: %w", err)
	}
	switch {
	case end != nil && given != nil:
		return from, lasts, errors.New("it has both an end and a length (DTEND and DURATION)")
	case end != nil:
		to, err := r.moment(end, end.Value)
		if err != nil {
			return from, lasts, fmt.Errorf("DTEND: %w", err)
		}
		if err := inOrder(from, to); err != nil {
			return from, lasts, err
		}
		lasts.clock = to.at.Sub(from.at)
	case given != nil:
		if lasts, err = readLength(given.Value, from.allDay); err != nil {
			return from, lasts, fmt.Errorf("DURATION: %w", err)
		}
	}
	// A day without end or length is that one day; and so is one that ends on itself,
	// as some programs write it though RFC 5545 section 3.8.2.2 wants a later end.
	if from.allDay && lasts == (length{}) {
		lasts.days = 1
	}
	return from, lasts, nil
}

// inOrder wants an end of the start's own type, and not before it.
func inOrder(from, to moment) error {
	switch {
	case from.allDay != to.allDay:
		return errors.New("its start and its end are not both days or both times")
	case to.at.Before(from.at):
		return errors.New("it ends before it starts")
	}
	return nil
}

// The forms of RFC 5545 sections 3.3.4 and 3.3.5.
const dateForm, localForm, utcForm = "20060102", "20060102T150405", "20060102T150405Z"

// moment reads one value of a property that holds a DATE (RFC 5545 section 3.3.4)
// or a DATE-TIME (section 3.3.5): in UTC, in a named zone, or floating, which is
// the clinic's time.
func (r *eventReader) moment(p *ics.IANAProperty, text string) (moment, error) {
	zone, text := r.zone, strings.TrimSpace(text)
	if name := parameter(p, "TZID"); name != "" && len(text) == len(localForm) { // RFC 5545 section 3.2.19
		named, err := r.named(name)
		if err != nil {
			return moment{}, err
		}
		zone = named
	}
	m, err := readMoment(text, strings.EqualFold(parameter(p, "VALUE"), "DATE"), zone)
	if err != nil {
		return moment{}, err
	}
	// The end of the last day is the day after.
	if d := day.Of(m.wall); d.Before(day.First) || d.After(day.Last.AddDays(1)) {
		return moment{}, fmt.Errorf("%s is outside %s..%s", d, day.First, day.Last)
	}
	return m, nil
}

// readMoment reads a day, or a time on the clock of the zone where it does not say
// that it is in UTC. It may lie in any year.
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
	if err != nil || len(text) != len(form) { // Parse takes fractions of a second too
		return moment{}, fmt.Errorf("%s is no day or time that exists, such as 20270114 or 20270114T083000", quoted(text))
	}
	return onWall(wall, zone, allDay), nil
}

// length is a DURATION that does not go back: its weeks and days are counted by the
// calendar, the rest by the clock (RFC 5545 section 3.3.6).
type length struct {
	days  int
	clock time.Duration
}

// lengthText is the form of RFC 5545 section 3.3.6.
var lengthText = regexp.MustCompile(`^\+?P(?:(\d+)W|(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?)?)$`)

// mostDays bounds a DURATION; as many are ninety years.
const mostDays = 32_767

// readLength reads a DURATION. A whole-day event takes weeks and days only (RFC 5545
// section 3.6.1), and one at least.
func readLength(text string, allDay bool) (length, error) {
	text = strings.TrimSpace(text)
	part := lengthText.FindStringSubmatch(text)
	if part == nil || strings.HasSuffix(text, "P") || strings.HasSuffix(text, "T") {
		return length{}, fmt.Errorf("%s is no length, such as P3D or PT90M", quoted(text))
	}
	const day = 24 * time.Hour
	var of [5]time.Duration
	for i, unit := range []time.Duration{daysPerWeek * day, day, time.Hour, time.Minute, time.Second} {
		n, err := strconv.ParseInt("0"+part[i+1], 10, 64)
		if err != nil || n > int64(mostDays*day/unit) {
			return length{}, fmt.Errorf("%s is too long: want %d days at most", quoted(text), mostDays)
		}
		of[i] = time.Duration(n) * unit
	}
	l := length{days: int((of[0] + of[1]) / day), clock: of[2] + of[3] + of[4]}
	switch {
	case allDay && l.clock != 0:
		return length{}, fmt.Errorf("%s has hours, but the event starts on a whole day", quoted(text))
	case allDay && l.days == 0:
		return length{}, fmt.Errorf("%s is no day, but the event starts on a whole day", quoted(text))
	}
	return l, nil
}
