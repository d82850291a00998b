package clinic

import (
	"errors"
	"fmt"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// instance is one time that an event takes; one that repeats has many (RFC 5545
// section 3.8.5).
type instance struct{ from, to moment }

// standIns lists by UID the instances for which an event of their own stands in:
// moved, changed or cancelled (RFC 5545 section 3.8.4.4). checkStandIn tells of
// those that cannot be read.
func (b *builder) standIns(events []*ics.VEvent) map[string][]moment {
	moved := map[string][]moment{}
	for _, event := range events {
		if p := value(event, "RECURRENCE-ID"); p != nil {
			if m, err := b.moment(p, p.Value); err == nil {
				uid := text(event, "UID")
				moved[uid] = append(moved[uid], m)
			}
		}
	}
	return moved
}

// checkStandIn refuses an event that says it stands in for an instance of another
// one but not clearly for which.
func (b *builder) checkStandIn(event *ics.VEvent) error {
	p := value(event, "RECURRENCE-ID")
	if p == nil {
		return nil
	}
	switch _, err := b.moment(p, p.Value); {
	case err != nil:
		return fmt.Errorf("RECURRENCE-ID: %w", err)
	case parameter(p, "RANGE") != "":
		return fmt.Errorf("it changes all instances from one on (RECURRENCE-ID with RANGE=%s), which is not read: end the event there and start another", parameter(p, "RANGE"))
	case text(event, "UID") == "":
		return errors.New("it changes one instance (RECURRENCE-ID) of an event that it does not name (UID)")
	case value(event, "RRULE") != nil || value(event, "RDATE") != nil:
		return errors.New("it changes one instance of an event (RECURRENCE-ID), yet repeats itself")
	}
	return nil
}

// recurrence collects the instances of one event.
type recurrence struct {
	b          *builder
	first      instance
	length     string           // DURATION of the event, "" where it has an end
	start, end time.Time        // of the table, with what zones are apart on either side
	left       map[int64]bool   // starts that are collected or left out
	leftDays   map[day.Day]bool // days that a timed event leaves out
	found      []instance
}

// instances returns the times that an event takes within the table: its own and
// those of its lists and rules, without those excepted and those that other events
// stand in for. A start of the event's own that does not follow its rule is taken
// too, though RFC 5545 section 3.8.5.3 leaves that open.
func (b *builder) instances(event *ics.VEvent, first instance, moved []moment) ([]instance, error) {
	if value(event, "EXRULE") != nil { // given up with RFC 2445
		return nil, errors.New("it leaves out times by a rule (EXRULE), which is not read: leave them out by EXDATE")
	}
	r := recurrence{
		b: b, first: first, length: text(event, "DURATION"), left: map[int64]bool{}, leftDays: map[day.Day]bool{},
		start: b.span.From.AddDays(-2).Time(), end: b.span.To.AddDays(1 + 2).Time(),
	}
	for _, m := range moved {
		if m.allDay != first.from.allDay {
			return nil, errors.New("the instance that another event stands in for (RECURRENCE-ID) and its start are not both days or both times")
		}
		r.left[m.at.Unix()] = true
	}
	if err := r.except(values(event, "EXDATE")); err != nil {
		return nil, fmt.Errorf("EXDATE: %w", err)
	}
	r.add(first)
	if err := r.list(values(event, "RDATE")); err != nil {
		return nil, fmt.Errorf("RDATE: %w", err)
	}
	for _, p := range values(event, "RRULE") {
		if err := r.follow(oneLine(p.Value)); err != nil {
			return nil, fmt.Errorf("RRULE: %w", err)
		}
	}
	return r.found, nil
}

// add collects an instance once, if it is not left out and may touch the table.
func (r *recurrence) add(i instance) {
	at := i.from.at.Unix()
	if r.left[at] || r.leftDays[i.from.day()] {
		return
	}
	r.left[at] = true
	if i.to.at.After(r.start) && i.from.at.Before(r.end) {
		r.found = append(r.found, i)
	}
}

// except leaves out the starts of EXDATE (RFC 5545 section 3.8.5.1). A day takes
// with it all instances of a timed event that start on it.
func (r *recurrence) except(list []*ics.IANAProperty) error {
	for _, p := range list {
		for _, text := range strings.Split(p.Value, ",") {
			m, err := r.b.moment(p, text)
			switch {
			case err != nil:
				return err
			case m.allDay == r.first.from.allDay:
				r.left[m.at.Unix()] = true
			case m.allDay:
				r.leftDays[m.day()] = true
			default:
				return fmt.Errorf("%q is a time, but the event starts on a whole day", text)
			}
		}
	}
	return nil
}

// list adds the starts of RDATE, or its periods, which have ends of their own (RFC
// 5545 section 3.8.5.2).
func (r *recurrence) list(list []*ics.IANAProperty) error {
	for _, p := range list {
		for _, text := range strings.Split(p.Value, ",") {
			text, end, period := strings.Cut(text, "/")
			from, err := r.b.moment(p, text)
			if err != nil {
				return err
			}
			if from.allDay != r.first.from.allDay {
				return fmt.Errorf("%q and the event's start are not both days or both times", text)
			}
			i := r.from(from)
			if period {
				if i.to, err = r.b.periodEnd(p, from, end); err != nil {
					return err
				}
			}
			r.add(i)
		}
	}
	return nil
}

// periodEnd reads the end of a PERIOD, which is a time or a length (RFC 5545
// section 3.3.9).
func (b *builder) periodEnd(p *ics.IANAProperty, from moment, text string) (to moment, err error) {
	if strings.HasPrefix(strings.TrimLeft(text, " +"), "P") {
		to, err = from.plus(text)
	} else {
		to, err = b.moment(p, text)
	}
	if err == nil {
		err = inOrder(from, to, true)
	}
	return to, err
}

// from gives an instance its end: a DURATION is counted on the calendar again, the
// way to a DTEND has the same exact length each time (RFC 5545 section 3.8.5.3).
func (r *recurrence) from(start moment) instance {
	if r.length != "" {
		to, _ := start.plus(r.length) // eventTimes has read it
		return instance{start, to}
	}
	return instance{start, start.later(r.first.to.at.Sub(r.first.from.at))}
}
