package ics

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	ical "github.com/arran4/golang-ical"
)

// usualBytes is how much room a file is given.
const usualBytes = 16 << 10

// encoder gathers a file in memory, so that a fault leaves no half of it.
type encoder struct {
	out  []byte
	line []byte // the content line in the making, before folding
}

// serialize returns the bytes of a model. The model's own serializer is not
// used: it ends lines in LF, escapes parameters the way texts are escaped, and
// lets control characters through.
func serialize(cal *ical.Calendar) ([]byte, error) {
	e := &encoder{out: make([]byte, 0, usualBytes)}
	if len(cal.Components) == 0 {
		return nil, errors.New("no components")
	}
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
	e.out = append(e.out, edge+":"+name+"\r\n"...)
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
	e.line = append(e.line[:0], p.IANAToken...)
	if err := e.parameters(p.ICalParameters); err != nil {
		return fmt.Errorf("%s: %w", p.IANAToken, err)
	}
	e.line = append(e.line, ':')
	if strings.EqualFold(string(p.GetValueType()), string(ical.ValueDataTypeText)) {
		e.line = appendText(e.line, clean(p.Value))
	} else {
		if strings.ContainsFunc(p.Value, isForbidden) || !utf8.ValidString(p.Value) {
			return fmt.Errorf("%s: control character or bad UTF-8 in a value that is no text", p.IANAToken)
		}
		e.line = append(e.line, p.Value...)
	}
	e.out = appendFolded(e.out, e.line)
	return nil
}

func (e *encoder) parameters(all map[string][]string) error {
	if len(all) == 0 {
		return nil
	}
	names := make([]string, 0, len(all))
	for name := range all {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if !isToken(name) {
			return fmt.Errorf("%q is no parameter name", name)
		}
		e.line = append(append(append(e.line, ';'), name...), '=')
		for i, value := range all[name] {
			if i > 0 {
				e.line = append(e.line, ',')
			}
			value = lineEnds.Replace(value)
			if strings.ContainsFunc(strings.ReplaceAll(value, "\n", ""), isForbidden) {
				return fmt.Errorf("control character in the parameter %s", name)
			}
			e.line = appendParameter(e.line, name, value)
		}
	}
	return nil
}
