package clinic

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"

	ics "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// closureFiles lays the events of the closure files over the table: an all-day
// event closes its days, a timed one takes its hours out of them.
func (b *builder) closureFiles(s Settings) {
	for i, f := range s.ClosureFiles {
		field := fmt.Sprintf("closure_files[%d]", i)
		events, others, err := readEvents(f.Data)
		if err != nil {
			b.problem(field, "%s: %v", f.Name, err)
			continue
		}
		if others > 0 {
			b.note("%s: entries that are no events ignored: %d", f.Name, others)
		}
		closed := 0
		for n, event := range events {
			taken, err := b.closureEvent(f.Name, n, event)
			if err != nil {
				b.problem(field, "%s: %s: %v", f.Name, eventName(n, event), err)
			}
			if taken || err != nil {
				closed++
			}
		}
		if closed == 0 {
			b.note("%s closes no day", f.Name)
		}
	}
}

// readEvents parses a file and returns its events, and how many other entries it
// has. The parser takes a text cut short for a calendar, so the frame is looked
// at first.
func readEvents(data []byte) (events []*ics.VEvent, others int, err error) {
	data = bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff")))
	// RFC 5545 section 3.4: an object begins and ends with its own lines.
	if !bytes.HasPrefix(data, []byte("BEGIN:VCALENDAR")) || !bytes.HasSuffix(data, []byte("END:VCALENDAR")) {
		return nil, 0, errors.New("no whole iCalendar file: it must run from BEGIN:VCALENDAR to END:VCALENDAR")
	}
	calendar, err := ics.ParseCalendar(bytes.NewReader(data))
	if err != nil {
		return nil, 0, fmt.Errorf("no readable iCalendar file: %w", err)
	}
	for _, p := range calendar.CalendarProperties {
		// RFC 5546 section 3.2.5: such a file takes events back.
		if strings.EqualFold(p.IANAToken, "METHOD") && strings.EqualFold(p.Value, "CANCEL") {
			return nil, 0, errors.New("a cancellation (METHOD:CANCEL), not a list of closed days")
		}
	}
	for _, c := range calendar.Components {
		switch c := c.(type) {
		case *ics.VEvent:
			events = append(events, c)
		case *ics.VTimezone:
		case *ics.GeneralComponent:
			if strings.EqualFold(c.Token, "VEVENT") {
				return nil, 0, fmt.Errorf("BEGIN:%s must be in capitals to be read", c.Token)
			}
			others++
		default:
			others++
		}
	}
	return events, others, nil
}

// value returns a property of the event, nil if absent. Names are the same in any
// case (RFC 5545 section 3.1), which the parser's own search does not know.
func value(event *ics.VEvent, name string) *ics.IANAProperty {
	for i, p := range event.Properties {
		if strings.EqualFold(p.IANAToken, name) {
			return &event.Properties[i]
		}
	}
	return nil
}

func text(event *ics.VEvent, name string) string {
	if p := value(event, name); p != nil {
		return strings.TrimSpace(strings.ToValidUTF8(p.Value, "?"))
	}
	return ""
}

// eventName names an event in messages: its title and start, or its number in the
// file, counted from 1.
func eventName(n int, event *ics.VEvent) string {
	title := text(event, "SUMMARY")
	if title == "" {
		title = text(event, "UID")
	}
	if title == "" {
		return fmt.Sprintf("event %d", n+1)
	}
	return fmt.Sprintf("event %q of %s", title, text(event, "DTSTART"))
}

// closureEvent lays one event over the table and reports whether it did. An
// event that says it takes no time is passed over with a note.
func (b *builder) closureEvent(file string, n int, event *ics.VEvent) (taken bool, err error) {
	pass := func(why string) (bool, error) {
		b.note("%s: %s ignored: %s", file, eventName(n, event), why)
		return false, nil
	}
	switch {
	case strings.EqualFold(text(event, "STATUS"), "CANCELLED"): // RFC 5545 section 3.8.1.11
		return pass("it is cancelled")
	case strings.EqualFold(text(event, "TRANSP"), "TRANSPARENT"): // RFC 5545 section 3.8.2.7
		return pass("it is marked as taking no time (TRANSP:TRANSPARENT)")
	}
	// RFC 5545 section 3.8.5: a rule or a list makes one event into many.
	for _, repeats := range []string{"RRULE", "RDATE", "EXRULE"} {
		if value(event, repeats) != nil {
			return false, fmt.Errorf("it repeats (%s), which is not read: give every closure as an event of its own", repeats)
		}
	}
	from, to, err := b.eventTimes(event)
	if err != nil {
		return false, err
	}
	why := Reason{ClosedDays, text(event, "SUMMARY"), file}
	if from.allDay {
		b.close(day.Span{From: from.day(), To: to.day().AddDays(-1)}, why)
		return true, nil
	}
	if !from.at.Before(to.at) {
		return pass("it has no length")
	}
	b.cutHours(from, to, why)
	return true, nil
}

// cutHours takes the time from one moment to another out of every day it touches
// in the clinic's zone.
func (b *builder) cutHours(from, to moment, why Reason) {
	const midnight = day.Clock(24 * 60)
	last := to.day()
	for d := day.Max(from.day(), b.span.From); !d.After(last) && b.span.Contains(d); d = d.AddDays(1) {
		out := day.Hours{From: 0, To: midnight}
		if d == from.day() {
			out.From = from.clock()
		}
		if d == last {
			out.To = to.clockUp()
		}
		if out.From < out.To {
			b.cut(d, out, why)
		}
	}
}

// durationText is the form of RFC 5545 section 3.3.6.
var durationText = regexp.MustCompile(`^\+?P(?:(\d+)W|(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?)?)$`)
