package ics

import (
	"strings"
)

// methods are the words METHOD can say (RFC 5546 1.4).
var methods = words("PUBLISH REQUEST REPLY ADD CANCEL REFRESH COUNTER DECLINECOUNTER")

// textNames are the properties whose value is a single TEXT, where a comma or a
// semicolon that is not escaped ends the text for some readers.
var textNames = words("COMMENT CONTACT DESCRIPTION LOCATION NAME PRODID SUMMARY TZID TZNAME UID X-WR-CALNAME X-WR-CALDESC")

func words(list string) map[string]bool {
	set := map[string]bool{}
	for _, word := range strings.Fields(list) {
		set[word] = true
	}
	return set
}

// calendar checks a VCALENDAR and all that is in it.
func (l *linter) calendar(cal *part) {
	l.text(cal)
	l.exactlyOne(cal, "VERSION", "PRODID")
	l.atMostOne(cal, "METHOD", "CALSCALE", "X-WR-CALNAME")
	if version, ok := cal.one("VERSION"); ok && version.value != "2.0" {
		l.complain(version.at, "VERSION is %q; want 2.0", version.value)
	}
	if scale, ok := cal.one("CALSCALE"); ok && scale.value != "GREGORIAN" {
		l.complain(scale.at, "CALSCALE is %q; want GREGORIAN", scale.value)
	}
	method, _ := cal.one("METHOD")
	if method.name != "" && !methods[method.value] {
		l.complain(method.at, "METHOD %q is unknown", method.value)
	}
	if len(cal.parts) == 0 {
		l.complain(cal.at, "the calendar is empty")
	}
	zones := l.zones(cal)
	seen := map[string]int{}
	for _, event := range cal.inner("VEVENT") {
		l.event(event, zones)
		l.scheduling(event, method.value)
		l.unique(event, seen)
	}
}

// text checks the escapes of every TEXT in a part and the parts within it, and
// that addresses are addresses.
func (l *linter) text(p *part) {
	for _, line := range p.lines {
		if textNames[line.name] {
			if fault := textFault(line.value); fault != "" {
				l.complain(line.at, "%s: %s", line.name, fault)
			}
		}
		if (line.name == "ORGANIZER" || line.name == "ATTENDEE") && !isAddress(line.value) {
			l.complain(line.at, "%s: the value is no address such as mailto:", line.name)
		}
	}
	for _, sub := range p.parts {
		l.text(sub)
	}
}

// textFault says what is wrong with the escapes of a TEXT (RFC 5545 3.3.11).
func textFault(value string) string {
	for i := 0; i < len(value); i++ {
		switch value[i] {
		case ',', ';':
			return "a comma or semicolon is not escaped"
		case '\\':
			i++
			if i == len(value) || !strings.ContainsRune(`\;,nN`, rune(value[i])) {
				return `a backslash escapes nothing`
			}
		}
	}
	return ""
}

// isAddress reports whether the value starts with a scheme (RFC 3986 3.1).
func isAddress(value string) bool {
	scheme, rest, found := strings.Cut(value, ":")
	return found && rest != "" && isToken(scheme)
}

func (l *linter) exactlyOne(p *part, names ...string) {
	for _, name := range names {
		if _, ok := p.one(name); !ok {
			l.complain(p.at, "%s has no %s", p.name, name)
		}
	}
	l.atMostOne(p, names...)
}

func (l *linter) atMostOne(p *part, names ...string) {
	for _, name := range names {
		if lines := p.all(name); len(lines) > 1 {
			l.complain(lines[1].at, "%s has a second %s", p.name, name)
		}
	}
}

// unique checks that no other event has the same UID and RECURRENCE-ID (RFC 5545
// 3.8.4.7).
func (l *linter) unique(event *part, seen map[string]int) {
	uid, _ := event.one("UID")
	instance, _ := event.one("RECURRENCE-ID")
	key := uid.value + "\n" + instance.value
	if first, twice := seen[key]; twice && uid.value != "" {
		l.complain(uid.at, "the same UID as the event in line %d", first)
		return
	}
	seen[key] = event.at
}

// scheduling checks what a METHOD asks of an event (RFC 5546 3.2).
func (l *linter) scheduling(event *part, method string) {
	organizers, attendees := len(event.all("ORGANIZER")), len(event.all("ATTENDEE"))
	switch method {
	case "":
		if organizers+attendees > 0 {
			l.complain(event.at, "an ORGANIZER or ATTENDEE in a file without METHOD: it would be taken for a meeting")
		}
	case "PUBLISH":
		if organizers != 1 || attendees != 0 {
			l.complain(event.at, "METHOD:PUBLISH wants one ORGANIZER and no ATTENDEE")
		}
	case "REQUEST":
		if organizers != 1 || attendees == 0 {
			l.complain(event.at, "METHOD:REQUEST wants one ORGANIZER and an ATTENDEE")
		}
	case "CANCEL":
		status, _ := event.one("STATUS")
		if _, ok := event.one("SEQUENCE"); !ok || organizers != 1 || status.value != "CANCELLED" {
			l.complain(event.at, "METHOD:CANCEL wants one ORGANIZER, a SEQUENCE and STATUS:CANCELLED")
		}
	}
}
