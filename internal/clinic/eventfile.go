package clinic

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	ics "github.com/arran4/golang-ical"
)

// eventFile reads an .ics file of the given field and hands each of its events
// that takes time to take. A file without any such event is noted with the words
// of none.
func (b *builder) eventFile(field string, f File, none string, take func(name string, from, to moment)) {
	events, others, err := readEvents(f.Data)
	if err != nil {
		b.problem(field, "%s: %v", f.Name, err)
		return
	}
	if others > 0 {
		b.note("%s: entries that are no events ignored: %d", f.Name, others)
	}
	nothing := true
	for n, event := range events {
		from, to, ignored, err := b.eventTaken(event)
		switch {
		case err != nil:
			b.problem(field, "%s: %s: %v", f.Name, eventName(n, event), err)
		case ignored != "":
			b.note("%s: %s ignored: %s", f.Name, eventName(n, event), ignored)
			continue
		default:
			take(text(event, "SUMMARY"), from, to)
		}
		nothing = false
	}
	if nothing {
		b.note("%s %s", f.Name, none)
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
			return nil, 0, errors.New("a cancellation (METHOD:CANCEL), which takes events back and lists none")
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

// eventTaken returns the time that an event takes, the end exclusive, or why it
// takes none.
func (b *builder) eventTaken(event *ics.VEvent) (from, to moment, ignored string, err error) {
	switch {
	case strings.EqualFold(text(event, "STATUS"), "CANCELLED"): // RFC 5545 section 3.8.1.11
		return from, to, "it is cancelled", nil
	case strings.EqualFold(text(event, "TRANSP"), "TRANSPARENT"): // RFC 5545 section 3.8.2.7
		return from, to, "it is marked as taking no time (TRANSP:TRANSPARENT)", nil
	}
	// RFC 5545 section 3.8.5: a rule or a list makes one event into many.
	for _, repeats := range []string{"RRULE", "RDATE", "EXRULE"} {
		if value(event, repeats) != nil {
			return from, to, "", fmt.Errorf("it repeats (%s), which is not read: give every occurrence as an event of its own", repeats)
		}
	}
	from, to, err = b.eventTimes(event)
	if err == nil && !from.at.Before(to.at) {
		ignored = "it has no length"
	}
	return from, to, ignored, err
}
