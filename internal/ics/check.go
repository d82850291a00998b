package ics

import (
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"graftclock/internal/day"
)

const (
	minutesPerDay  = 24 * 60
	maxAlarmDays   = 366
	maxTimedLength = 14 * minutesPerDay
)

// check returns every reason to refuse the calendar, joined.
func (c Calendar) check() error {
	var refused []error
	if len(c.Events) == 0 {
		refused = append(refused, errors.New("no events"))
	}
	if c.Refresh < 0 || c.Refresh%time.Minute != 0 {
		refused = append(refused, fmt.Errorf("refresh after %s is no number of whole minutes", c.Refresh))
	}
	refused = append(refused, c.messageRefusals()...)
	seen := make(map[string]int, len(c.Events))
	for i := range c.Events {
		e := &c.Events[i]
		for _, err := range append(e.refusals(), stampRefusals(e.stampOr(c.Stamp))...) {
			refused = append(refused, fmt.Errorf("event %d: %w", i+1, err))
		}
		if first, twice := seen[e.UID]; twice {
			refused = append(refused, fmt.Errorf("event %d: same UID as event %d", i+1, first))
		}
		seen[e.UID] = i + 1
	}
	return errors.Join(refused...)
}

// stampRefusals lists what is wrong with the time an event last changed.
func stampRefusals(at time.Time) []error {
	if at.IsZero() {
		return []error{errors.New("no stamp, neither its own nor the calendar's")}
	}
	if year := at.UTC().Year(); year < 1 || year > 9999 {
		return []error{fmt.Errorf("stamp in the year %d", year)}
	}
	return nil
}

// refusals lists what makes the event unfit for a file.
func (e *Event) refusals() []error {
	var refused []error
	refuse := func(format string, args ...any) {
		refused = append(refused, fmt.Errorf(format, args...))
	}
	if why := uidFault(e.UID); why != "" {
		refuse("UID %s", why)
	}
	if visible(e.Summary) == "" {
		refuse("no summary")
	}
	switch e.Status {
	case "", Tentative, Confirmed, Cancelled:
	default:
		refuse("status %q is not tentative, confirmed or cancelled", e.Status)
	}
	if e.Sequence < 0 {
		refuse("sequence %d is below 0", e.Sequence)
	}
	for _, alarm := range e.Alarms {
		if alarm.Months != 0 || alarm.Days >= 0 || alarm.Days < -maxAlarmDays {
			refuse("alarm %s is not 1 to %d days before the start", alarm, maxAlarmDays)
		}
	}
	return append(refused, e.timeRefusals()...)
}

// timeRefusals lists what is wrong with the event's days and times.
func (e *Event) timeRefusals() []error {
	var refused []error
	refuse := func(format string, args ...any) {
		refused = append(refused, fmt.Errorf(format, args...))
	}
	if e.Day.Before(day.First) || day.Last.Before(e.lastDay()) {
		refuse("day %s..%s is outside %s..%s", e.Day, e.lastDay(), day.First, day.Last)
	}
	if e.lastDay().Before(e.Day) {
		refuse("ends on %s, before its start on %s", e.LastDay, e.Day)
	}
	switch {
	case e.Minutes < 0:
		refuse("ends %d minutes before its start", -e.Minutes)
	case e.Minutes > maxTimedLength:
		refuse("lasts %d minutes; want %d at most", e.Minutes, maxTimedLength)
	case !e.timed() && e.Start != 0:
		refuse("starts at %s but has no length", e.Start)
	case e.timed() && (e.Start < 0 || e.Start >= minutesPerDay):
		refuse("start %d is no minute of a day", int(e.Start))
	case e.timed() && e.lastDay() != e.Day:
		refuse("has both a time of day and a last day")
	}
	return refused
}

// uidFault says why a UID cannot be written unchanged, which it must be, or "".
func uidFault(uid string) string {
	switch {
	case uid == "":
		return "is empty"
	case !utf8.ValidString(uid):
		return "is not UTF-8"
	case strings.ContainsFunc(uid, func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) }):
		return "has a control character or a space"
	}
	return ""
}
