package ics

import (
	"regexp"
	"strconv"
	"strings"
	"time"
)

var (
	eventStatuses = words("TENTATIVE CONFIRMED CANCELLED") // RFC 5545 3.8.1.11
	transparency  = words("OPAQUE TRANSPARENT")            // RFC 5545 3.8.2.7
)

// durationForm is a length of time (RFC 5545 3.3.6).
var durationForm = regexp.MustCompile(`^[+-]?P(\d+W|\d+D(T(\d+H(\d+M(\d+S)?)?|\d+M(\d+S)?|\d+S))?|T(\d+H(\d+M(\d+S)?)?|\d+M(\d+S)?|\d+S))$`)

// placeForm is a latitude and a longitude in degrees (RFC 5545 3.8.1.6).
var placeForm = regexp.MustCompile(`^[+-]?\d+(\.\d+)?;[+-]?\d+(\.\d+)?$`)

// event checks a VEVENT (RFC 5545 3.6.1), which some messages may send without a start.
func (l *linter) event(event *part, zones map[string]bool, undated bool) {
	l.exactlyOne(event, "UID", "DTSTAMP")
	if _, dated := event.one("DTSTART"); dated || !undated {
		l.exactlyOne(event, "DTSTART")
	}
	l.atMostOne(event, "DTEND", "DURATION", "SUMMARY", "DESCRIPTION", "LOCATION", "STATUS", "SEQUENCE",
		"TRANSP", "CLASS", "CREATED", "LAST-MODIFIED", "ORGANIZER", "URL", "RECURRENCE-ID", "GEO", "PRIORITY")
	l.oneOf(event, "STATUS", eventStatuses)
	l.oneOf(event, "TRANSP", transparency)
	if line, ok := event.one("SEQUENCE"); ok {
		if n, err := strconv.ParseInt(line.value, 10, 32); err != nil || n < 0 {
			l.complain(line.at, "SEQUENCE %q is no whole number from 0", line.value)
		}
	}
	if line, ok := event.one("GEO"); ok && !placeForm.MatchString(line.value) {
		l.complain(line.at, "GEO %q is no latitude and longitude", line.value)
	}
	for _, name := range []string{"DTSTAMP", "LAST-MODIFIED", "CREATED"} {
		if line, ok := event.one(name); ok && l.moment(line, zones).kind != inUTC {
			l.complain(line.at, "%s is not in UTC", name)
		}
	}
	l.times(event, zones)
	l.repeats(event, zones)
	for _, alarm := range event.inner("VALARM") {
		l.alarm(alarm)
	}
}

func (l *linter) oneOf(p *part, name string, allowed map[string]bool) {
	if line, ok := p.one(name); ok && !allowed[line.value] {
		l.complain(line.at, "%s %q is unknown", name, line.value)
	}
}

// times checks the start and end of an event (RFC 5545 3.8.2.2).
func (l *linter) times(event *part, zones map[string]bool) {
	first, hasStart := event.one("DTSTART")
	last, hasEnd := event.one("DTEND")
	length, hasLength := event.one("DURATION")
	start, end := l.moment(first, zones), l.moment(last, zones)
	if hasEnd && hasLength {
		l.complain(length.at, "the event has both DTEND and DURATION")
	}
	if hasLength && !durationForm.MatchString(length.value) {
		l.complain(length.at, "DURATION %q is no length of time", length.value)
	}
	if !hasStart || !hasEnd || start.kind == noMoment || end.kind == noMoment {
		return
	}
	switch {
	case (start.kind == onDay) != (end.kind == onDay), (start.kind == floating) != (end.kind == floating):
		l.complain(last.at, "DTEND is of another kind than DTSTART")
	case start.kind == end.kind && start.zone == end.zone && !end.wall.After(start.wall):
		l.complain(last.at, "DTEND is not after DTSTART")
	}
}

// momentKind is the form of a date or date-time.
type momentKind int

const (
	noMoment momentKind = iota // absent or malformed
	onDay                      // DATE
	floating                   // on every clock
	inZone                     // with TZID
	inUTC                      // with Z
)

type moment struct {
	kind momentKind
	wall time.Time // what the value says, carried in UTC
	zone string
}

// moment reads a DATE or DATE-TIME (RFC 5545 3.3.4, 3.3.5); the zero
// contentLine is no moment.
func (l *linter) moment(line contentLine, zones map[string]bool) moment {
	zone, value := line.parameter("TZID"), line.value
	m := moment{kind: floating, zone: zone}
	form := localForm
	switch isUTC := len(value) == len(instantForm) && value[len(value)-1] == 'Z'; {
	case line.name == "":
		return moment{}
	case strings.EqualFold(line.parameter("VALUE"), "DATE"):
		m.kind, form = onDay, dateForm
	case isUTC:
		m.kind, form = inUTC, instantForm
	case zone != "":
		m.kind = inZone
	}
	wall, err := time.Parse(form, value)
	if err != nil || len(value) != len(form) {
		l.complain(line.at, "%s %q is no day or time of the kind it should be", line.name, value)
		return moment{}
	}
	if zone != "" && m.kind != inZone {
		l.complain(line.at, "%s has a TZID but its value is not on the clocks of a zone", line.name)
	}
	if zone != "" && !zones[zone] {
		l.complain(line.at, "%s: the TZID %q has no VTIMEZONE", line.name, zone)
	}
	m.wall = wall
	return m
}

// alarm checks a VALARM (RFC 5545 3.6.6).
func (l *linter) alarm(alarm *part) {
	l.exactlyOne(alarm, "ACTION", "TRIGGER")
	if action, _ := alarm.one("ACTION"); action.value == "DISPLAY" {
		l.exactlyOne(alarm, "DESCRIPTION")
	}
	trigger, ok := alarm.one("TRIGGER")
	switch {
	case !ok:
	case strings.EqualFold(trigger.parameter("VALUE"), "DATE-TIME"):
		if l.moment(trigger, nil).kind != inUTC {
			l.complain(trigger.at, "TRIGGER is not in UTC")
		}
	case !durationForm.MatchString(trigger.value):
		l.complain(trigger.at, "TRIGGER %q is no length of time", trigger.value)
	}
}
