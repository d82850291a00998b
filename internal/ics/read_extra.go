package ics

import (
	"slices"
	"strconv"
	"strings"
	"time"

	ical "github.com/arran4/golang-ical"
)

// personal are the properties that somebody adds to an event by hand and that
// Encode writes for a message only.
var personal = []ical.Property{
	ical.PropertyAttach, ical.PropertyAttendee, ical.PropertyCategories, ical.PropertyClass, ical.PropertyComment,
	ical.PropertyContact, ical.PropertyOrganizer, ical.PropertyPriority, ical.PropertyUrl,
}

// extra returns what else a reader of the event finds in it, in a fixed order: the
// personal properties and the alarms by their times.
func extra(event *ical.VEvent) []string {
	var list []string
	for i := range event.Properties {
		p := &event.Properties[i]
		name := strings.ToUpper(p.IANAToken)
		if slices.Contains(personal, ical.Property(name)) {
			list = append(list, name+" "+visible(p.Value))
		}
	}
	for _, part := range event.Components {
		if alarm, ok := part.(*ical.VAlarm); ok {
			list = append(list, "alarm "+trigger(alarm))
		}
	}
	slices.Sort(list)
	return list
}

// trigger is the time of an alarm in one form: programs write a day also as 24 hours.
func trigger(alarm *ical.VAlarm) string {
	for i := range alarm.Properties {
		p := &alarm.Properties[i]
		if !strings.EqualFold(p.IANAToken, string(ical.PropertyTrigger)) {
			continue
		}
		days, clock, err := length(p.Value)
		if err != nil {
			return strings.ToUpper(strings.TrimSpace(p.Value)) // an instant
		}
		text := strconv.FormatInt(int64((time.Duration(days)*wholeDay+clock)/time.Second), 10)
		if strings.EqualFold(firstParameter(p, "RELATED"), "END") { // RFC 5545 3.2.14
			text += " from the end"
		}
		return text
	}
	return ""
}
