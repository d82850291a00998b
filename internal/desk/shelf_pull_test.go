package desk_test

import (
	"regexp"
	"strings"
)

// text changes one text of an entry into another.
func text(from, to string) func(string) string {
	return func(data string) string { return strings.Replace(data, from, to, 1) }
}

var (
	startOfVisit = regexp.MustCompile(`DTSTART;TZID=[^:\r\n]*:\S+`)
	endOfVisit   = regexp.MustCompile(`DTEND;TZID=[^:\r\n]*:\S+`)
)

// timesTo gives an entry another start and end, on the clocks of the clinic.
func timesTo(start, end string) func(string) string {
	return func(data string) string {
		data = startOfVisit.ReplaceAllLiteralString(data, "DTSTART;TZID=Europe/Dublin:"+start)
		return endOfVisit.ReplaceAllLiteralString(data, "DTEND;TZID=Europe/Dublin:"+end)
	}
}
