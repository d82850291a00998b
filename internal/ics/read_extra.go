package ics

import (
	"slices"
	"strconv"
	"strings"

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
		if p := &alarm.Properties[i]; strings.EqualFold(p.IANAToken, string(ical.PropertyTrigger)) {
			value := strings.ToUpper(strings.TrimSpace(p.Value))
			if !durationForm.MatchString(value) {
				return value // an instant
			}
			seconds := 0
			for _, part := range durationParts.FindAllStringSubmatch(value, -1) {
				n, _ := strconv.Atoi(part[1])
				seconds += n * unitSeconds[part[2]]
			}
			if value[0] == '-' {
				seconds = -seconds
			}
			return strconv.Itoa(seconds)
		}
	}
	return ""
}

// unitSeconds are the units of a DURATION in seconds.
var unitSeconds = map[string]int{
	"W": daysPerWeek * 24 * secondsPerHour, "D": 24 * secondsPerHour, "H": secondsPerHour, "M": secondsPerMinute, "S": 1,
}
