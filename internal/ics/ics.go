// Package ics turns the days and times of a plan into the bytes of an
// iCalendar file (RFC 5545) and finds the faults of such a file. It decides how
// a day, a wall-clock time, a zone and a text are written so that every reader
// understands the same thing. It refuses to know what a milestone is, who reads
// the file, or what day it is today.
package ics

import (
	"fmt"
	"io"
	"time"

	"graftclock/internal/day"
)

// Calendar is one calendar file. The same Calendar always gives the same bytes.
type Calendar struct {
	// Name is shown as the title of the calendar; empty writes no title.
	Name string
	// Zone is the IANA name of the zone whose clocks Event.Start is read on. It
	// may be empty while every event is all-day.
	Zone string
	// Stamp is DTSTAMP and LAST-MODIFIED of every event that has none of its own:
	// when the plan last changed, to the second. An event with neither is refused.
	Stamp time.Time
	// Refresh is how often a program that subscribes should look again, in whole
	// minutes (REFRESH-INTERVAL, RFC 7986 5.7, and X-PUBLISHED-TTL); zero says nothing.
	Refresh time.Duration
	// Method makes the file a message between calendars (RFC 5546), which then has
	// exactly one event, an Organizer and an Attendee; empty makes it a plain file
	// without any of them.
	Method Method
	// Organizer is who sends a message, Attendee whom it is for.
	Organizer, Attendee Party
	// Events in the order of the file; at least one.
	Events []Event
}

// Method is what a message asks of the program that gets it (RFC 5546 1.4).
type Method string

// The methods of messages to an attendee.
const (
	Request Method = "REQUEST"
	Cancel  Method = "CANCEL"
)

// Party is somebody with an e-mail address (RFC 5322 3.4.1, without the brackets).
type Party struct{ Name, Address string }

// Status says how sure an event is. The zero Status writes no STATUS.
type Status string

// The statuses an event can have (RFC 5545 3.8.1.11).
const (
	Tentative Status = "tentative"
	Confirmed Status = "confirmed"
	Cancelled Status = "cancelled"
)

// Event is one entry of a calendar, either all-day or timed.
type Event struct {
	// UID tells the event apart, over all files and revisions; see func UID.
	UID string
	// Day is the first day, First..Last of package day.
	Day day.Day
	// LastDay is the last day of an all-day event, itself included; the zero
	// Day means one day. A timed event has none.
	LastDay day.Day
	// Start is the wall-clock time a timed event starts at, 00:00..23:59.
	Start day.Clock
	// Minutes is the length of a timed event in elapsed minutes; 0 makes the
	// event all-day.
	Minutes int
	// Summary is the title; at least one visible character.
	Summary string
	// Description and Location are left out when empty.
	Description, Location string
	// Status of the event; a cancelled event rings no alarm.
	Status Status
	// Sequence is the revision, 0 for the first (RFC 5545 3.8.7.4).
	Sequence int
	// Transparent leaves the time free for other bookings, as an unbooked
	// window must; false blocks it.
	Transparent bool
	// Stamp is when the event last changed; zero takes the calendar's.
	Stamp time.Time
	// Alarms are whole days before the start, such as day.Period{Days: -3}.
	Alarms []day.Period
}

func (e *Event) timed() bool { return e.Minutes != 0 }

func (e *Event) lastDay() day.Day {
	if e.LastDay.IsZero() {
		return e.Day
	}
	return e.LastDay
}

// stampOr returns when the event last changed: its own stamp before the calendar's.
func (e *Event) stampOr(calendars time.Time) time.Time {
	if e.Stamp.IsZero() {
		return calendars
	}
	return e.Stamp
}

// Encode returns the file, or every reason why there can be none.
func Encode(cal Calendar) ([]byte, error) {
	if err := cal.check(); err != nil {
		return nil, fmt.Errorf("encode calendar: %w", err)
	}
	m, err := cal.model()
	if err != nil {
		return nil, fmt.Errorf("encode calendar: %w", err)
	}
	data, err := serialize(m)
	if err != nil {
		return nil, fmt.Errorf("encode calendar: %w", err)
	}
	return data, nil
}

// Write writes the file that Encode returns, in one piece: a refused calendar
// writes nothing.
func Write(w io.Writer, cal Calendar) error {
	data, err := Encode(cal)
	if err != nil {
		return err
	}
	if _, err := w.Write(data); err != nil {
		return fmt.Errorf("write calendar: %w", err)
	}
	return nil
}
