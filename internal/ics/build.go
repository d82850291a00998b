package ics

import (
	"strconv"
	"time"

	ical "github.com/arran4/golang-ical"
)

// builder makes the components of one calendar, all of them out of a few large
// pieces of memory, and every value that many events share only once.
type builder struct {
	cal   *Calendar
	zone  *clocks
	years yearRange // written on the clocks of the zone

	events     []ical.VEvent
	alarms     []ical.VAlarm
	properties []ical.IANAProperty
	components []ical.Component

	inZone, onDay map[string][]string // parameters of DTSTART and DTEND
	triggers      map[int]string      // by days before the start
	stamp         time.Time           // the latest that was written, as stampText
	stampText     string
}

// Properties of an event and of an alarm, at most.
const (
	eventProperties = 11 // and two in a message
	alarmProperties = 3
)

func newBuilder(c *Calendar, zone *clocks) *builder {
	alarms := 0
	for i := range c.Events {
		alarms += len(c.Events[i].Alarms)
	}
	b := &builder{
		cal: c, zone: zone,
		events:     make([]ical.VEvent, 0, len(c.Events)),
		alarms:     make([]ical.VAlarm, 0, alarms),
		properties: make([]ical.IANAProperty, 0, len(c.Events)*eventProperties+alarms*alarmProperties+2),
		components: make([]ical.Component, 0, alarms),
		onDay:      map[string][]string{"VALUE": {string(ical.ValueDataTypeDate)}},
		triggers:   map[int]string{},
	}
	if zone != nil {
		b.inZone = map[string][]string{"TZID": {zone.loc.String()}}
	}
	return b
}

func (b *builder) add(name ical.Property, value string, parameters map[string][]string) {
	b.properties = append(b.properties, ical.IANAProperty{
		BaseProperty: ical.BaseProperty{IANAToken: string(name), Value: value, ICalParameters: parameters},
	})
}

// addText adds a text that may be left out.
func (b *builder) addText(name ical.Property, text string) {
	if text = visible(text); text != "" {
		b.add(name, text, nil)
	}
}

// event returns the event as a component with all that belongs to it.
func (b *builder) event(e *Event) *ical.VEvent {
	status := e.Status
	if b.cal.Method == Cancel {
		status = Cancelled
	}
	first := len(b.properties)
	b.add(ical.PropertyUid, e.UID, nil)
	at := b.instant(e.stampOr(b.cal.Stamp))
	b.add(ical.PropertyDtstamp, at, nil)
	b.add(ical.PropertyLastModified, at, nil)
	b.add(ical.PropertySequence, strconv.Itoa(e.Sequence), nil)
	summary := visible(e.Summary)
	b.add(ical.PropertySummary, summary, nil)
	b.addText(ical.PropertyDescription, e.Description)
	b.addText(ical.PropertyLocation, e.Location)
	if status != "" {
		b.add(ical.PropertyStatus, statusTexts[status], nil)
	}
	b.add(ical.PropertyTransp, transparencyText(e.Transparent), nil)
	if e.timed() {
		b.times(e)
	} else {
		b.days(e)
	}
	b.parties()
	b.events = append(b.events, ical.VEvent{})
	v := &b.events[len(b.events)-1]
	v.Properties = b.properties[first:len(b.properties):len(b.properties)]
	if status != Cancelled {
		v.Components = b.ring(e, summary)
	}
	return v
}

// statusTexts are the words of the file.
var statusTexts = map[Status]string{
	Tentative: string(ical.ObjectStatusTentative),
	Confirmed: string(ical.ObjectStatusConfirmed),
	Cancelled: string(ical.ObjectStatusCancelled),
}

func transparencyText(transparent bool) string {
	if transparent {
		return string(ical.TransparencyTransparent)
	}
	return string(ical.TransparencyOpaque)
}

// instant writes a stamp; most events have the stamp of the one before.
func (b *builder) instant(at time.Time) string {
	if b.stampText == "" || !at.Equal(b.stamp) {
		b.stamp, b.stampText = at, instantText(at)
	}
	return b.stampText
}

// days writes an all-day event. DTEND is the day after the last: the end of an
// event is not part of it (RFC 5545 3.6.1).
func (b *builder) days(e *Event) {
	b.add(ical.PropertyDtstart, dateText(e.Day.Time()), b.onDay)
	b.add(ical.PropertyDtend, dateText(e.lastDay().AddDays(1).Time()), b.onDay)
}

// times writes a timed event on the clocks of the zone, and in UTC where those
// would leave a doubt.
func (b *builder) times(e *Event) {
	wall := e.Day.Time().Add(time.Duration(e.Start) * time.Minute)
	length := time.Duration(e.Minutes) * time.Minute
	loc := b.zone.loc
	if loc != time.UTC && int(e.Start)+e.Minutes <= minutesPerDay && b.zone.steady(e.Day) {
		b.onClocks(wall, wall.Add(length))
		return
	}
	start, sure := resolve(wall, loc)
	end := start.Add(length)
	if loc != time.UTC && sure && unambiguous(end, loc) {
		b.onClocks(start.In(loc), end.In(loc))
		return
	}
	b.add(ical.PropertyDtstart, instantText(start), nil)
	b.add(ical.PropertyDtend, instantText(end), nil)
}

// onClocks writes a start and an end as the zone's clocks show them: TZID and no Z
// (RFC 5545 3.3.5, form 3). It widens the years by the start's; the end lies within
// the year that timezone adds.
func (b *builder) onClocks(start, end time.Time) {
	b.years.include(start.Year())
	b.add(ical.PropertyDtstart, localText(start), b.inZone)
	b.add(ical.PropertyDtend, localText(end), b.inZone)
}

// parties writes who sends a message and whom it is for (RFC 5546 3.2.2, 3.2.5).
func (b *builder) parties() {
	guest := asked
	switch b.cal.Method {
	case "":
		return
	case Cancel:
		guest = told
	}
	b.add(ical.PropertyOrganizer, b.cal.Organizer.uri(), b.cal.Organizer.parameters(nil))
	b.add(ical.PropertyAttendee, b.cal.Attendee.uri(), b.cal.Attendee.parameters(guest))
}

// ring returns one DISPLAY alarm per period, each with the DESCRIPTION and TRIGGER
// it must have (RFC 5545 3.6.6). Whole days keep the wall-clock time when the
// clocks change in between; a count of hours would not.
func (b *builder) ring(e *Event, summary string) []ical.Component {
	first := len(b.components)
	for _, before := range e.Alarms {
		from := len(b.properties)
		b.add(ical.PropertyAction, string(ical.ActionDisplay), nil)
		b.add(ical.PropertyTrigger, b.trigger(-before.Days), nil)
		b.add(ical.PropertyDescription, summary, nil)
		b.alarms = append(b.alarms, ical.VAlarm{})
		alarm := &b.alarms[len(b.alarms)-1]
		alarm.Properties = b.properties[from:len(b.properties):len(b.properties)]
		b.components = append(b.components, alarm)
	}
	return b.components[first:len(b.components):len(b.components)]
}

func (b *builder) trigger(days int) string {
	text, made := b.triggers[days]
	if !made {
		text = "-P" + strconv.Itoa(days) + "D"
		b.triggers[days] = text
	}
	return text
}
