package ics

import (
	"regexp"
	"strings"
)

// ruleForm is a rule of recurrence as far as every one must have it: parts with a name
// and a value, among them how often (RFC 5545 3.3.10).
var (
	ruleForm  = regexp.MustCompile(`^[A-Z-]+=[^;=]+(;[A-Z-]+=[^;=]+)*$`)
	frequency = regexp.MustCompile(`(^|;)FREQ=(SECONDLY|MINUTELY|HOURLY|DAILY|WEEKLY|MONTHLY|YEARLY)(;|$)`)
)

// repeats checks what says that an event comes more than once, or that it is one of
// several (RFC 5545 3.8.4.4, 3.8.5): rules by their form, lists time by time.
func (l *linter) repeats(event *part, zones map[string]bool) {
	for _, line := range event.lines {
		switch line.name {
		case "RRULE":
			if !ruleForm.MatchString(line.value) || len(frequency.FindAllString(line.value, -1)) != 1 {
				l.complain(line.at, "RRULE %q is no rule of recurrence", line.value)
			}
		case "RECURRENCE-ID", "EXDATE", "RDATE":
			l.list(line, zones)
		}
	}
}

// list checks the times of one line up to the first with a fault; of a PERIOD its start.
func (l *linter) list(line contentLine, zones map[string]bool) {
	found := len(l.found)
	for value := range strings.SplitSeq(line.value, ",") {
		line.value, _, _ = strings.Cut(value, "/")
		if l.moment(line, zones); len(l.found) > found {
			return
		}
	}
}
