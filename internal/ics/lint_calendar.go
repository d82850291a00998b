package ics

import "strings"

// textNames are the properties whose value is a single TEXT, where a comma or a
// semicolon that is not escaped ends the text for some readers. X-WR-CALNAME is not one
// of them: no standard says what it holds, and programs write it either way.
var textNames = words("COMMENT CONTACT DESCRIPTION LOCATION NAME PRODID SUMMARY TZID TZNAME UID")

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
	l.atMostOne(cal, "METHOD", "CALSCALE", "X-WR-CALNAME") // NAME may come once per language
	if version, ok := cal.one("VERSION"); ok && version.value != "2.0" {
		l.complain(version.at, "VERSION is %q; want 2.0", version.value)
	}
	if scale, ok := cal.one("CALSCALE"); ok && scale.value != "GREGORIAN" {
		l.complain(scale.at, "CALSCALE is %q; want GREGORIAN", scale.value)
	}
	l.refresh(cal)
	if len(cal.parts) == 0 {
		l.complain(cal.at, "the calendar is empty")
	}
	zones := l.zones(cal)
	seen := map[string]int{}
	method, _ := cal.one("METHOD")
	for _, event := range cal.inner("VEVENT") {
		l.event(event, zones, methods[method.value].undated)
		l.unique(event, seen)
	}
	l.method(cal)
}

// refresh checks how often a subscriber should look again: the property of RFC 7986
// 5.7, which must say what kind of value it has, and the older one beside it.
func (l *linter) refresh(cal *part) {
	l.atMostOne(cal, "REFRESH-INTERVAL", "X-PUBLISHED-TTL")
	for _, name := range []string{"REFRESH-INTERVAL", "X-PUBLISHED-TTL"} {
		line, ok := cal.one(name)
		switch {
		case !ok:
		case !durationForm.MatchString(line.value) || strings.HasPrefix(line.value, "-") || strings.Trim(line.value, "+PTWDHMS0") == "":
			l.complain(line.at, "%s %q is no length of time to wait", name, line.value)
		case name == "REFRESH-INTERVAL" && !strings.EqualFold(line.parameter("VALUE"), "DURATION"):
			l.complain(line.at, "%s does not say VALUE=DURATION", name)
		}
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

// isAddress reports whether the value starts with a scheme (RFC 3986 3.1), and with no
// second one behind it, as where a name with a colon stands without quotes.
func isAddress(value string) bool {
	scheme, rest, found := strings.Cut(value, ":")
	return found && rest != "" && isToken(scheme) && !strings.Contains(strings.ToLower(rest), "mailto:")
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
