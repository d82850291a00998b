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

// standIns are the instances of an event for which others of the file stand in: moved,
// changed or cancelled (RFC 5545 section 3.8.4.4).
type standIns struct {
	at          map[int64]bool // starts, in seconds since 1970
	days, times bool           // what there is among them
}

// standIns lists by UID the instances for which others stand in. checkStandIn tells
// of those that cannot be read.
func (r *eventReader) standIns(entries []fileEntry) map[string]standIns {
	moved := map[string]standIns{}
	for _, e := range entries {
		p := value(e.ComponentBase, "RECURRENCE-ID")
		if p == nil {
			continue
		}
		m, err := r.moment(p, p.Value)
		if err != nil {
			continue
		}
		uid := text(e.ComponentBase, "UID")
		s := moved[uid]
		if s.at == nil {
			s.at = map[int64]bool{}
		}
		s.at[m.at.Unix()] = true
		s.days, s.times = s.days || m.allDay, s.times || !m.allDay
		moved[uid] = s
	}
	return moved
}

// checkStandIn refuses an event that says it stands in for an instance of another
// one but not clearly for which.
func (r *eventReader) checkStandIn(event *ics.ComponentBase) error {
	p := value(event, "RECURRENCE-ID")
	if p == nil {
		return nil
	}
	switch _, err := r.moment(p, p.Value); {
	case err != nil:
		return fmt.Errorf("RECURRENCE-ID: %w", err)
	case parameter(p, "RANGE") != "":
		return fmt.Errorf("it changes all instances from one on (RECURRENCE-ID with RANGE=%s), which is not read: end the event there and start another", shortened(oneLine(parameter(p, "RANGE"))))
	case text(event, "UID") == "":
		return errors.New("it changes one instance (RECURRENCE-ID) of an event that it does not name (UID)")
	case value(event, "RRULE") != nil || value(event, "RDATE") != nil:
		return errors.New("it changes one instance of an event (RECURRENCE-ID), yet repeats itself")
	}
	return nil
}

// recurrence collects the instances of one event.
type recurrence struct {
	*eventReader
	first      moment
	lasts      length
	start, end time.Time        // of the table, with what zones are apart on either side
	replaced   map[int64]bool   // starts for which others stand in
	left       map[int64]bool   // starts that are left out, or collected already
	leftDays   map[day.Day]bool // days that a timed event leaves out
	found      []instance
}

// instances returns the times that an event takes within the table: its own and
// those of its lists and rules, without those excepted and those that other events
// stand in for. A start of the event's own that does not follow its rule is taken
// too, though RFC 5545 section 3.8.5.3 leaves that open.
func (r *eventReader) instances(event *ics.ComponentBase, first moment, lasts length) ([]instance, error) {
	if value(event, "EXRULE") != nil { // given up with RFC 2445
		return nil, errors.New("it leaves out times by a rule (EXRULE), which is not read: leave them out by EXDATE")
	}
	others := r.moved[text(event, "UID")]
	if first.allDay && others.times || !first.allDay && others.days {
		return nil, errors.New("the instance that another event stands in for (RECURRENCE-ID) and its start are not both days or both times")
	}
	c := recurrence{
		eventReader: r, first: first, lasts: lasts, replaced: others.at, left: map[int64]bool{}, leftDays: map[day.Day]bool{},
		start: r.span.From.AddDays(-2).Time(), end: endAnywhere(r.span.To),
	}
	if err := c.except(values(event, "EXDATE")); err != nil {
		return nil, fmt.Errorf("EXDATE: %w", err)
	}
	// The list comes first: a period of it may start with the event, and last longer.
	if err := c.list(values(event, "RDATE")); err != nil {
		return nil, fmt.Errorf("RDATE: %w", err)
	}
	c.add(first)
	for _, p := range values(event, "RRULE") {
		rule, err := readRule(oneLine(p.Value), first, r.zone)
		if err == nil {
			err = r.follow(rule, first, r.span.To, c.add)
		}
		if err != nil {
			return nil, fmt.Errorf("RRULE: %w", err)
		}
	}
	return c.found, nil
}

// add collects the instance of a start.
func (c *recurrence) add(from moment) { c.addInstance(instance{from, from.after(c.lasts)}) }

// addInstance collects an instance once, if it may touch the table and is not left
// out.
func (c *recurrence) addInstance(i instance) {
	if !i.to.at.After(c.start) || !i.from.at.Before(c.end) {
		return
	}
	at := i.from.at.Unix()
	if c.left[at] || c.replaced[at] || c.leftDays[i.from.day()] {
		return
	}
	c.left[at] = true
	c.found = append(c.found, i)
}

// except leaves out the starts of EXDATE (RFC 5545 section 3.8.5.1). A day takes
// with it all instances of a timed event that start on it.
func (c *recurrence) except(list []*ics.IANAProperty) error {
	for _, p := range list {
		for _, text := range strings.Split(p.Value, ",") {
			m, err := c.moment(p, text)
			switch {
			case err != nil:
				return err
			case m.allDay == c.first.allDay:
				c.left[m.at.Unix()] = true
			case m.allDay:
				c.leftDays[m.day()] = true
			default:
				return fmt.Errorf("%s is a time, but the event starts on a whole day", quoted(text))
			}
		}
	}
	return nil
}

// list adds the starts of RDATE, or its periods, which have ends of their own (RFC
// 5545 section 3.8.5.2).
func (c *recurrence) list(list []*ics.IANAProperty) error {
	for _, p := range list {
		for _, text := range strings.Split(p.Value, ",") {
			text, end, period := strings.Cut(text, "/")
			from, err := c.moment(p, text)
			if err != nil {
				return err
			}
			if from.allDay != c.first.allDay {
				return fmt.Errorf("%s and the event's start are not both days or both times", quoted(text))
			}
			if !period {
				c.add(from)
				continue
			}
			to, err := c.periodEnd(p, from, end)
			if err != nil {
				return err
			}
			c.addInstance(instance{from, to})
		}
	}
	return nil
}

// periodEnd reads the end of a PERIOD, which is a time or a length (RFC 5545
// section 3.3.9).
func (r *eventReader) periodEnd(p *ics.IANAProperty, from moment, text string) (moment, error) {
	if strings.HasPrefix(strings.TrimLeft(text, " +"), "P") {
		lasts, err := readLength(text, from.allDay)
		return from.after(lasts), err
	}
	to, err := r.moment(p, text)
	if err == nil {
		err = inOrder(from, to)
	}
	return to, err
}
