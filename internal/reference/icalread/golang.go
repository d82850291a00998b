package icalread

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	ical "github.com/arran4/golang-ical"
)

const (
	dateForm    = "20060102"
	localForm   = "20060102T150405"
	instantForm = "20060102T150405Z"
)

// readGo reads the files with golang-ical.
func readGo(t testing.TB, files []string) map[string]Result {
	t.Helper()
	results := map[string]Result{}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		results[file] = goResult(data)
	}
	return results
}

func goResult(data []byte) (result Result) {
	defer func() {
		if fault := recover(); fault != nil {
			result.Errors = append(result.Errors, fmt.Sprint("panic: ", fault))
		}
	}()
	cal, err := ical.ParseCalendar(bytes.NewReader(data))
	if err != nil {
		return Result{Errors: []string{err.Error()}}
	}
	r := goReader{zones: map[string][]onset{}}
	for _, p := range cal.CalendarProperties {
		if p.IANAToken == "METHOD" {
			r.method = p.Value
		}
	}
	for _, zone := range cal.Timezones() {
		if err := r.learn(zone); err != nil {
			result.Errors = append(result.Errors, "VTIMEZONE: "+err.Error())
		}
	}
	for _, e := range cal.Events() {
		event, err := r.event(e)
		if err != nil {
			result.Errors = append(result.Errors, fmt.Sprintf("VEVENT %s: %v", event.UID, err))
		}
		result.Events = append(result.Events, event)
	}
	return result
}

// goReader keeps what the file says of itself.
type goReader struct {
	method string
	zones  map[string][]onset
}

func (r *goReader) event(e *ical.VEvent) (Event, error) {
	seen := Event{
		UID: value(e, "UID"), Summary: value(e, "SUMMARY"), Description: value(e, "DESCRIPTION"), Location: value(e, "LOCATION"),
		Status: value(e, "STATUS"), Transparent: value(e, "TRANSP") == "TRANSPARENT", Method: r.method,
	}
	var faults []error
	note := func(err error) {
		if err != nil {
			faults = append(faults, err)
		}
	}
	var err error
	seen.Start, err = r.moment(e.GetProperty("DTSTART"))
	note(err)
	seen.End, err = r.moment(e.GetProperty("DTEND"))
	note(err)
	if text := value(e, "SEQUENCE"); text != "" {
		seen.Sequence, err = strconv.Atoi(text)
		note(err)
	}
	for _, alarm := range e.Alarms() {
		seconds, err := secondsOf(alarm.GetProperty("TRIGGER"))
		note(err)
		seen.Alarms = append(seen.Alarms, seconds)
	}
	for i, p := range e.Properties {
		switch p.IANAToken {
		case "ORGANIZER":
			seen.Organizer = party(&e.Properties[i])
		case "ATTENDEE":
			seen.Attendees = append(seen.Attendees, party(&e.Properties[i]))
		}
	}
	return seen, errors.Join(faults...)
}

func value(e *ical.VEvent, name ical.ComponentProperty) string {
	if p := e.GetProperty(name); p != nil {
		return p.Value
	}
	return ""
}

func party(p *ical.IANAProperty) Party { return Party{parameter(p, "CN"), p.Value} }

func parameter(p *ical.IANAProperty, name string) string {
	if values := p.ICalParameters[name]; len(values) > 0 {
		return values[0]
	}
	return ""
}

// moment writes a start or end in the form of Event.
func (r *goReader) moment(p *ical.IANAProperty) (string, error) {
	if p == nil {
		return "", nil
	}
	if parameter(p, "VALUE") == "DATE" {
		date, err := time.Parse(dateForm, p.Value)
		return date.Format(time.DateOnly), err
	}
	if strings.HasSuffix(p.Value, "Z") {
		at, err := time.Parse(instantForm, p.Value)
		return at.Format(time.RFC3339), err
	}
	wall, err := time.Parse(localForm, p.Value)
	if err != nil {
		return "", err
	}
	zone := parameter(p, "TZID")
	if zone == "" {
		return "floating " + wall.Format("2006-01-02T15:04:05"), nil
	}
	onsets, known := r.zones[zone]
	if !known {
		return "", fmt.Errorf("TZID %s has no VTIMEZONE", zone)
	}
	return wall.Add(-offset(onsets, wall)).Format(time.RFC3339), nil
}

// secondsOf reads a TRIGGER in weeks or days, or in hours, minutes and seconds.
func secondsOf(p *ical.IANAProperty) (int, error) {
	if p == nil {
		return 0, errors.New("VALARM without TRIGGER")
	}
	text, sign := p.Value, 1
	if rest, before := strings.CutPrefix(text, "-"); before {
		text, sign = rest, -1
	}
	text, isLength := strings.CutPrefix(text, "P")
	days, clock, _ := strings.Cut(text, "T")
	total := 0
	if days != "" {
		perUnit := map[byte]int{'D': 24 * 60 * 60, 'W': 7 * 24 * 60 * 60}[days[len(days)-1]]
		n, err := strconv.Atoi(days[:len(days)-1])
		if err != nil || perUnit == 0 {
			return 0, fmt.Errorf("TRIGGER %q", p.Value)
		}
		total = n * perUnit
	}
	if clock != "" {
		length, err := time.ParseDuration(strings.ToLower(clock))
		if err != nil {
			return 0, fmt.Errorf("TRIGGER %q", p.Value)
		}
		total += int(length.Seconds())
	}
	if !isLength {
		return 0, fmt.Errorf("TRIGGER %q", p.Value)
	}
	return sign * total, nil
}
