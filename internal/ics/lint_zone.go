package ics

import (
	"regexp"
	"strings"
)

// offsetForm is an offset from UTC (RFC 5545 3.3.14).
var offsetForm = regexp.MustCompile(`^[+-]([01]\d|2[0-3])[0-5]\d([0-5]\d)?$`)

// zones checks every VTIMEZONE and returns the names they define.
func (l *linter) zones(cal *part) map[string]bool {
	defined := map[string]bool{}
	for _, zone := range cal.inner("VTIMEZONE") {
		l.exactlyOne(zone, "TZID")
		name, _ := zone.one("TZID")
		if defined[name.value] {
			l.complain(zone.at, "a second VTIMEZONE for %q", name.value)
		}
		defined[name.value] = true
		if len(zone.parts) == 0 {
			l.complain(zone.at, "the VTIMEZONE %q is empty", name.value)
		}
		for _, o := range zone.parts {
			l.observance(o)
		}
	}
	return defined
}

// observance checks a STANDARD or DAYLIGHT (RFC 5545 3.6.5).
func (l *linter) observance(o *part) {
	if o.name != "STANDARD" && o.name != "DAYLIGHT" {
		l.complain(o.at, "%s in a VTIMEZONE", o.name)
		return
	}
	l.exactlyOne(o, "DTSTART", "TZOFFSETFROM", "TZOFFSETTO")
	l.atMostOne(o, "RRULE")
	start, ok := o.one("DTSTART")
	if m := l.moment(start, nil); ok && m.kind != noMoment && m.kind != floating {
		l.complain(start.at, "DTSTART of a %s is not a plain wall-clock time", o.name)
	}
	for _, name := range []string{"TZOFFSETFROM", "TZOFFSETTO"} {
		if line, ok := o.one(name); ok && (!offsetForm.MatchString(line.value) || strings.Trim(line.value, "-0") == "" && line.value[0] == '-') {
			l.complain(line.at, "%s %q is no offset from UTC", name, line.value)
		}
	}
	if rule, ok := o.one("RRULE"); ok && !strings.HasPrefix(rule.value, "FREQ=YEARLY;") {
		l.complain(rule.at, "RRULE of a %s is not yearly", o.name)
	}
	if dates, ok := o.one("RDATE"); ok {
		l.complain(dates.at, "RDATE in a VTIMEZONE: some readers take only its first value")
	}
}
