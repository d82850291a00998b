package clinic

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"

	ics "github.com/arran4/golang-ical"
)

// fileEntry is a component of a file that may take time: an event, or a VFREEBUSY, which
// lists the taken times of somebody.
type fileEntry struct {
	*ics.ComponentBase
	freeBusy bool
	line     int // on which it begins, from 1
}

// contents is what a file has in it.
type contents struct {
	entries []fileEntry
	zones   map[string]*ics.VTimezone // by TZID, the first of each
	others  int                       // entries that are none of these
}

// mostBytes bounds a file; as many hold some hundred thousand events.
const mostBytes = 64 << 20

// readContents parses a file. The parser takes a text cut short for a calendar, so
// the frame is looked at first.
func readContents(data []byte) (contents, error) {
	if len(data) > mostBytes {
		return contents{}, fmt.Errorf("no readable iCalendar file: longer than %d bytes", mostBytes)
	}
	begin := bytes.Index(data, []byte("BEGIN:VCALENDAR"))
	text := bytes.TrimSpace(data[max(begin, 0):])
	// RFC 5545 section 3.4: an object begins and ends with its own lines.
	if before := bytes.TrimPrefix(data[:max(begin, 0)], []byte("\ufeff")); begin < 0 || len(bytes.TrimSpace(before)) > 0 || !bytes.HasSuffix(text, []byte("END:VCALENDAR")) {
		return contents{}, errors.New("no whole iCalendar file: it must run from BEGIN:VCALENDAR to END:VCALENDAR")
	}
	lines, err := entryLines(text, bytes.Count(data[:begin], []byte("\n"))+1)
	if err != nil {
		return contents{}, fmt.Errorf("no readable iCalendar file: %w", err)
	}
	calendar, err := parseCalendar(text)
	if err != nil {
		return contents{}, fmt.Errorf("no readable iCalendar file: %w", err)
	}
	for _, p := range calendar.CalendarProperties {
		// RFC 5546 section 3.2.5: such a file takes events back.
		if strings.EqualFold(p.IANAToken, "METHOD") && strings.EqualFold(strings.TrimSpace(p.Value), "CANCEL") {
			return contents{}, errors.New("a cancellation (METHOD:CANCEL), which takes events back and lists none")
		}
	}
	return sortComponents(calendar.Components, lines)
}

// parseCalendar hands a text to the parser. What stands between the components, some
// programs put there what belongs to the calendar.
func parseCalendar(text []byte) (calendar *ics.Calendar, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			calendar, err = nil, fmt.Errorf("the parser gives up: %v", fault)
		}
	}()
	return ics.ParseCalendarWithOptions(bytes.NewReader(text), ics.WithUnknownPropertyHandler(ics.AcceptUnknownPropertyHandler))
}

// sortComponents sorts the components of a file by what they are. Lines are those on which
// they begin.
func sortComponents(components []ics.Component, lines []int) (c contents, err error) {
	c.zones = map[string]*ics.VTimezone{}
	for n, component := range components {
		switch x := component.(type) {
		case *ics.VEvent:
			c.entries = append(c.entries, fileEntry{&x.ComponentBase, false, lines[n]})
		case *ics.VBusy:
			c.entries = append(c.entries, fileEntry{&x.ComponentBase, true, lines[n]})
		case *ics.VTimezone:
			if name := text(&x.ComponentBase, "TZID"); c.zones[name] == nil {
				c.zones[name] = x
			}
		case *ics.GeneralComponent:
			if strings.EqualFold(strings.TrimSpace(x.Token), "VEVENT") {
				return c, fmt.Errorf("line %d: BEGIN:%s must be in capitals, without spaces, to be read", lines[n], x.Token)
			}
			c.others++
		default:
			c.others++
		}
	}
	return c, nil
}

// mostDepth is how deep components may lie in one another; no standard has four.
const mostDepth = 8

// entryLines returns the lines on which the components of a calendar begin. It
// refuses a text whose components lie too deep in one another, for the parser would
// follow them until it has no stack left, which ends the process; and lines of which
// parser and reader could think differently. First is the number of the first line.
func entryLines(calendar []byte, first int) (lines []int, err error) {
	depth, number, begun := 0, first, first
	var unfolded []byte // a line with its continuations (RFC 5545 section 3.1)
	for rest := calendar; len(rest) > 0; number++ {
		var line []byte
		line, rest, _ = bytes.Cut(rest, []byte("\n"))
		unfolded = append(unfolded, bytes.TrimSuffix(line, []byte("\r"))...)
		if len(rest) > 0 && (rest[0] == ' ' || rest[0] == '\t') {
			rest = rest[1:]
			continue
		}
		name := unfolded[:max(bytes.IndexAny(unfolded, ":;"), 0)]
		switch {
		case len(unfolded) == 0:
		case len(name) == 0 || !isName(name):
			return nil, fmt.Errorf("line %d does not begin with the name of a property", begun)
		case string(name) == "BEGIN":
			if depth++; depth == 2 {
				lines = append(lines, begun)
			}
		case string(name) == "END":
			depth--
		case bytes.EqualFold(name, []byte("BEGIN")), bytes.EqualFold(name, []byte("END")):
			return nil, fmt.Errorf("line %d: %s must be in capitals to be read", begun, name)
		}
		if depth > mostDepth {
			return nil, fmt.Errorf("line %d: components lie too deep in one another", begun)
		}
		unfolded, begun = unfolded[:0], number+1
	}
	return lines, nil
}

// isName reports whether a text may name a property (RFC 5545 section 3.1).
func isName(text []byte) bool {
	return !bytes.ContainsFunc(text, func(r rune) bool {
		return r != '-' && (r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r))
	})
}

// values returns all properties of a component that have a name. Names are the same
// in any case (RFC 5545 section 3.1), which the parser's own search does not know.
func values(c *ics.ComponentBase, name string) []*ics.IANAProperty {
	var all []*ics.IANAProperty
	for i, p := range c.Properties {
		if strings.EqualFold(p.IANAToken, name) {
			all = append(all, &c.Properties[i])
		}
	}
	return all
}

// value returns the first property of a name, nil if there is none.
func value(c *ics.ComponentBase, name string) *ics.IANAProperty {
	if all := values(c, name); len(all) > 0 {
		return all[0]
	}
	return nil
}

// text returns the value of a property on one line, "" if there is none.
func text(c *ics.ComponentBase, name string) string {
	if p := value(c, name); p != nil {
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

// shortened is the beginning of what others wrote, where it is long.
func shortened(text string) string {
	const most = 60
	if letters := []rune(text); len(letters) > most {
		return string(letters[:most]) + "..."
	}
	return text
}

// quoted quotes what others wrote for a message.
func quoted(text string) string { return strconv.Quote(shortened(text)) }

// parameter returns a parameter of a property, "" if absent; names are the same
// in any case (RFC 5545 section 3.2).
func parameter(p *ics.IANAProperty, name string) string {
	for _, key := range slices.Sorted(maps.Keys(p.ICalParameters)) {
		if values := p.ICalParameters[key]; strings.EqualFold(key, name) && len(values) > 0 {
			return values[0]
		}
	}
	return ""
}
