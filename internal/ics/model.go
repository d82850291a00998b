package ics

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	ical "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

const (
	productID   = "-//graftclock//calendar//EN"
	dateForm    = "20060102"         // RFC 5545 3.3.4
	localForm   = "20060102T150405"  // RFC 5545 3.3.5, form 1
	instantForm = "20060102T150405Z" // RFC 5545 3.3.5, form 2
)

// utcZone is the one zone that needs no VTIMEZONE.
const utcZone = "UTC"

// model returns the calendar as components and properties. There is no METHOD,
// ORGANIZER or ATTENDEE: with one, importing programs take the file for a
// meeting and ask the patient to answer it.
func (c Calendar) model() (*ical.Calendar, error) {
	m := &ical.Calendar{}
	m.SetVersion("2.0")
	m.SetProductId(productID)
	m.SetCalscale("GREGORIAN")
	if name := visible(c.Name); name != "" {
		m.SetName(name) // NAME, RFC 7986 5.1, and X-WR-CALNAME for older readers
	}
	loc, err := c.location()
	if err != nil {
		return nil, err
	}
	years := yearRange{}
	for _, e := range c.Events {
		v := e.component(c.Stamp)
		if e.timed() {
			e.setTimes(v, loc, &years)
		} else {
			e.setDays(v)
		}
		e.addAlarms(v)
		m.AddVEvent(v)
	}
	if !years.empty() {
		m.AddVTimezone(timezone(loc, years))
	}
	return m, nil
}

// location loads the zone if a timed event needs one.
func (c Calendar) location() (*time.Location, error) {
	for i, e := range c.Events {
		if !e.timed() {
			continue
		}
		if c.Zone == "" || c.Zone == "Local" {
			return nil, fmt.Errorf("event %d has a time of day but the calendar has no zone", i+1)
		}
		return time.LoadLocation(c.Zone)
	}
	return nil, nil
}

// component returns the event with everything but its times and alarms.
func (e Event) component(stamp time.Time) *ical.VEvent {
	v := ical.NewEvent(e.UID)
	at := stamp.UTC().Format(instantForm)
	v.SetProperty(ical.ComponentPropertyDtstamp, at)
	v.SetProperty(ical.ComponentPropertyLastModified, at)
	v.SetProperty(ical.ComponentPropertySequence, strconv.Itoa(e.Sequence))
	v.SetSummary(visible(e.Summary))
	if text := visible(e.Description); text != "" {
		v.SetDescription(text)
	}
	if text := visible(e.Location); text != "" {
		v.SetLocation(text)
	}
	if e.Status != "" {
		v.SetStatus(ical.ObjectStatus(strings.ToUpper(string(e.Status))))
	}
	transparency := ical.TransparencyOpaque
	if e.Transparent {
		transparency = ical.TransparencyTransparent
	}
	v.SetTimeTransparency(transparency)
	return v
}

// setDays writes an all-day event. DTEND is the day after the last: the end of
// an event is not part of it (RFC 5545 3.6.1).
func (e Event) setDays(v *ical.VEvent) {
	date := ical.WithValue(string(ical.ValueDataTypeDate))
	v.SetProperty(ical.ComponentPropertyDtStart, dateText(e.Day), date)
	v.SetProperty(ical.ComponentPropertyDtEnd, dateText(e.lastDay().AddDays(1)), date)
}

func dateText(d day.Day) string { return d.Time().Format(dateForm) }

// setTimes writes a timed event on the clocks of loc, and in UTC where those
// would leave a doubt; it widens years by each year written on the clocks.
func (e Event) setTimes(v *ical.VEvent, loc *time.Location, years *yearRange) {
	wall := e.Day.Time().Add(time.Duration(e.Start) * time.Minute)
	start, sure := resolve(wall, loc)
	end := start.Add(time.Duration(e.Minutes) * time.Minute)
	if loc.String() == utcZone || !sure || !unambiguous(end, loc) {
		v.SetProperty(ical.ComponentPropertyDtStart, start.UTC().Format(instantForm))
		v.SetProperty(ical.ComponentPropertyDtEnd, end.UTC().Format(instantForm))
		return
	}
	years.include(start.In(loc).Year()) // the end lies within the year that timezone adds
	// RFC 5545 3.3.5, form 3: TZID and no Z.
	tzid := ical.WithTZID(loc.String())
	v.SetProperty(ical.ComponentPropertyDtStart, start.In(loc).Format(localForm), tzid)
	v.SetProperty(ical.ComponentPropertyDtEnd, end.In(loc).Format(localForm), tzid)
}

// addAlarms adds one DISPLAY alarm per period, each with the DESCRIPTION and
// TRIGGER it must have (RFC 5545 3.6.6). Whole days keep the wall-clock time
// when the clocks change in between; a count of hours would not.
func (e Event) addAlarms(v *ical.VEvent) {
	if e.Status == Cancelled {
		return
	}
	for _, before := range e.Alarms {
		alarm := v.AddAlarm()
		alarm.SetAction(ical.ActionDisplay)
		alarm.SetTrigger("-P" + strconv.Itoa(-before.Days) + "D")
		alarm.SetDescription(visible(e.Summary))
	}
}
