package clinic

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode"

	ics "github.com/arran4/golang-ical"
)

// eventFile reads an .ics file of the given field and hands all time that its
// events take to take. A file without any such event is noted with the words of
// none.
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
	moved := b.standIns(events)
	for n, event := range events {
		taken, ignored, err := b.eventTaken(event, moved)
		switch {
		case err != nil:
			b.problem(field, "%s: %s: %v", f.Name, b.eventName(n, event), err)
		case ignored != "":
			b.note("%s: %s ignored: %s", f.Name, b.eventName(n, event), ignored)
			continue
		}
		for _, t := range taken {
			take(text(event, "SUMMARY"), t.from, t.to)
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

// values returns all properties of the event that have a name. Names are the same
// in any case (RFC 5545 section 3.1), which the parser's own search does not know.
func values(event *ics.VEvent, name string) []*ics.IANAProperty {
	var all []*ics.IANAProperty
	for i, p := range event.Properties {
		if strings.EqualFold(p.IANAToken, name) {
			all = append(all, &event.Properties[i])
		}
	}
	return all
}

// value returns the first property of a name, nil if there is none.
func value(event *ics.VEvent, name string) *ics.IANAProperty {
	if all := values(event, name); len(all) > 0 {
		return all[0]
	}
	return nil
}

// text returns the value of a property on one line, "" if there is none.
func text(event *ics.VEvent, name string) string {
	if p := value(event, name); p != nil {
		return oneLine(p.Value)
	}
	return ""
}

// oneLine makes what others wrote fit for a line of a message or a list.
func oneLine(text string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(text, "?")))
}

// eventName names an event in messages: its title and start, or its number in the
// file, counted from 1, where it has no title or that must not be told.
func (b *builder) eventName(n int, event *ics.VEvent) string {
	title := text(event, "SUMMARY")
	if title == "" {
		title = text(event, "UID")
	}
	switch {
	case b.untitled && value(event, "DTSTART") != nil:
		return fmt.Sprintf("event %d of %s", n+1, text(event, "DTSTART"))
	case b.untitled, title == "":
		return fmt.Sprintf("event %d", n+1)
	}
	return fmt.Sprintf("event %q of %s", title, text(event, "DTSTART"))
}

// eventTaken returns the time that an event takes, or why it takes none. Moved are
// the instances that other events of the file stand in for, by UID.
func (b *builder) eventTaken(event *ics.VEvent, moved map[string][]moment) (taken []instance, ignored string, err error) {
	if err := b.checkStandIn(event); err != nil {
		return nil, "", err
	}
	switch {
	case strings.EqualFold(text(event, "STATUS"), "CANCELLED"): // RFC 5545 section 3.8.1.11
		return nil, "it is cancelled", nil
	case strings.EqualFold(text(event, "TRANSP"), "TRANSPARENT"): // RFC 5545 section 3.8.2.7
		return nil, "it is marked as taking no time (TRANSP:TRANSPARENT)", nil
	}
	from, to, err := b.eventTimes(event)
	switch {
	case err != nil:
		return nil, "", err
	case !from.at.Before(to.at):
		return nil, "it has no length", nil
	case value(event, "RECURRENCE-ID") != nil:
		return []instance{{from, to}}, "", nil
	}
	taken, err = b.instances(event, instance{from, to}, moved[text(event, "UID")])
	return taken, "", err
}
