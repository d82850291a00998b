package ics

import "math"

// demand is what a METHOD asks of each event (RFC 5546 3.2), beside one ORGANIZER.
type demand struct {
	guests, most int    // ATTENDEEs, at least and at most
	says         string // the same in words
	undated      bool   // DTSTART may be left out
}

// methods are the words METHOD can say (RFC 5546 1.4). A CANCEL has no ATTENDEE where
// the event was published and nobody asked (RFC 5546 4.1.3).
var methods = map[string]demand{
	"PUBLISH":        {0, 0, "no ATTENDEE", false},
	"REQUEST":        {1, math.MaxInt, "an ATTENDEE", false},
	"REPLY":          {1, 1, "one ATTENDEE", true},
	"ADD":            {1, math.MaxInt, "an ATTENDEE", false},
	"CANCEL":         {0, math.MaxInt, "any ATTENDEEs", true},
	"REFRESH":        {1, 1, "one ATTENDEE", true},
	"COUNTER":        {1, math.MaxInt, "an ATTENDEE", false},
	"DECLINECOUNTER": {0, math.MaxInt, "any ATTENDEEs", true},
}

// method checks the calendar as the message it says it is; without a METHOD it is
// none.
func (l *linter) method(cal *part) {
	method, isMessage := cal.one("METHOD")
	want, known := methods[method.value]
	if isMessage && !known {
		l.complain(method.at, "METHOD %q is unknown", method.value)
		return
	}
	first := ""
	for i, event := range cal.inner("VEVENT") {
		if !isMessage {
			l.meeting(event)
			continue
		}
		if organizers, guests := len(event.all("ORGANIZER")), len(event.all("ATTENDEE")); organizers != 1 || guests < want.guests || guests > want.most {
			l.complain(event.at, "METHOD:%s wants one ORGANIZER and %s", method.value, want.says)
		}
		uid, _ := event.one("UID")
		if i == 0 {
			first = uid.value
		}
		if uid.value != first && method.value != "PUBLISH" {
			l.complain(event.at, "METHOD:%s is about one UID only", method.value)
		}
		l.standing(event, method.value)
	}
}

// meeting checks an event that is no message. A calendar may keep meetings, but each
// is somebody's (RFC 5545 3.8.4.3).
func (l *linter) meeting(event *part) {
	if guest, ok := event.one("ATTENDEE"); ok && len(event.all("ORGANIZER")) == 0 {
		l.complain(guest.at, "an ATTENDEE but no ORGANIZER")
	}
}

// standing checks what a message says of the event's state (RFC 5546 3.2.2 to 3.2.5).
func (l *linter) standing(event *part, method string) {
	status, hasStatus := event.one("STATUS")
	_, numbered := event.one("SEQUENCE")
	switch method {
	case "REQUEST", "ADD":
		if status.value == "CANCELLED" {
			l.complain(status.at, "METHOD:%s of a cancelled event", method)
		}
	case "CANCEL":
		if !numbered || !hasStatus || status.value != "CANCELLED" {
			l.complain(event.at, "METHOD:CANCEL wants a SEQUENCE and STATUS:CANCELLED")
		}
		for _, alarm := range event.inner("VALARM") {
			l.complain(alarm.at, "METHOD:CANCEL with an alarm")
		}
	}
}
