package ics

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	ical "github.com/arran4/golang-ical"
)

// encoder gathers a file in memory, so that a fault leaves no half of it.
type encoder struct {
	out  []byte
	line []byte // a content line that is too long, before folding
}

// serialize returns the bytes of a model. The model's own serializer is not
// used: it ends lines in LF, escapes parameters the way texts are escaped, and
// lets control characters through.
func serialize(cal *ical.Calendar) ([]byte, error) {
	if len(cal.Components) == 0 {
		return nil, errors.New("no components")
	}
	e := &encoder{out: make([]byte, 0, roomFor(cal.Components)+usualBytes)}
	e.mark("BEGIN", "VCALENDAR")
	for i := range cal.CalendarProperties {
		if err := e.property(&cal.CalendarProperties[i].BaseProperty); err != nil {
			return nil, err
		}
	}
	// Zones first, whenever they were added: some readers resolve a TZID only
	// with what they have already seen.
	for _, wantZone := range []bool{true, false} {
		for _, c := range cal.Components {
			if _, isZone := c.(*ical.VTimezone); isZone != wantZone {
				continue
			}
			if err := e.component(c); err != nil {
				return nil, err
			}
		}
	}
	e.mark("END", "VCALENDAR")
	return e.out, nil
}

func (e *encoder) mark(edge, name string) {
	e.out = append(append(append(append(e.out, edge...), ':'), name...), "\r\n"...)
}

func (e *encoder) component(c ical.Component) error {
	name := componentName(c)
	if name == "" {
		return fmt.Errorf("unknown component %T", c)
	}
	e.mark("BEGIN", name)
	properties := c.UnknownPropertiesIANAProperties()
	for i := range properties {
		if err := e.property(&properties[i].BaseProperty); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	for _, sub := range c.SubComponents() {
		if err := e.component(sub); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	e.mark("END", name)
	return nil
}

func componentName(c ical.Component) string {
	switch c.(type) {
	case *ical.VEvent:
		return "VEVENT"
	case *ical.VAlarm:
		return "VALARM"
	case *ical.VTimezone:
		return "VTIMEZONE"
	case *ical.Standard:
		return "STANDARD"
	case *ical.Daylight:
		return "DAYLIGHT"
	}
	return ""
}

// property appends one content line: name, parameters by name, value.
func (e *encoder) property(p *ical.BaseProperty) error {
	if !isToken(p.IANAToken) {
		return fmt.Errorf("%q is no property name", p.IANAToken)
	}
	start := len(e.out)
	e.out = append(e.out, p.IANAToken...)
	if len(p.ICalParameters) > 0 {
		if err := e.parameters(p.ICalParameters); err != nil {
			return fmt.Errorf("%s: %w", p.IANAToken, err)
		}
	}
	e.out = append(e.out, ':')
	switch {
	case strings.EqualFold(string(p.GetValueType()), string(ical.ValueDataTypeText)):
		e.out = appendText(e.out, clean(p.Value))
	case isWritable(p.Value):
		e.out = append(e.out, p.Value...)
	default:
		return fmt.Errorf("%s: control character or bad UTF-8 in a value that is no text", p.IANAToken)
	}
	e.endLine(start)
	return nil
}

// endLine ends the content line that begins at start, and folds it if it must be.
func (e *encoder) endLine(start int) {
	if len(e.out)-start <= maxOctets {
		e.out = append(e.out, "\r\n"...)
		return
	}
	e.line = append(e.line[:0], e.out[start:]...)
	e.out = appendFolded(e.out[:start], e.line)
}

func (e *encoder) parameters(all map[string][]string) error {
	names := make([]string, 0, 8) // on the stack: no property has as many
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if !isToken(name) {
			return fmt.Errorf("%q is no parameter name", name)
		}
		e.out = append(append(append(e.out, ';'), name...), '=')
		for i, value := range all[name] {
			if i > 0 {
				e.out = append(e.out, ',')
			}
			if !isWritable(value) {
				value = strings.ToValidUTF8(lineEnds.Replace(value), string(utf8.RuneError))
				if !isWritable(strings.ReplaceAll(value, "\n", "")) {
					return fmt.Errorf("control character in the parameter %s", name)
				}
			}
			e.out = appendParameter(e.out, name, value)
		}
	}
	return nil
}

// usualBytes is room for the calendar's own lines and for what escapes and folds
// add to a small file.
const usualBytes = 1 << 10

// roomFor returns about as many octets as the components take.
func roomFor(components []ical.Component) int {
	const perLine, perParameters, perPart = len(":\r\n"), len(";TZID=Europe/Dublin"), len("BEGIN:VEVENT\r\nEND:VEVENT\r\n")
	room := 0
	for _, c := range components {
		properties := c.UnknownPropertiesIANAProperties()
		for i := range properties {
			p := &properties[i]
			room += len(p.IANAToken) + len(p.Value) + perLine
			if p.ICalParameters != nil {
				room += perParameters
			}
		}
		room += perPart + roomFor(c.SubComponents())
	}
	return room + room/16 // escapes and folds
}
