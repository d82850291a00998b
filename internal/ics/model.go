package ics

import (
	"fmt"
	"time"

	ical "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

const productID = "-//graftclock//calendar//EN"

// model returns the calendar as components and properties. Without a Method there
// is no METHOD, ORGANIZER or ATTENDEE: with one, importing programs take the file
// for a meeting and ask the patient to answer it.
func (c *Calendar) model() (*ical.Calendar, error) {
	zone, err := c.clocks()
	if err != nil {
		return nil, err
	}
	b := newBuilder(c, zone)
	m := &ical.Calendar{CalendarProperties: c.properties(), Components: make([]ical.Component, 0, len(c.Events)+1)}
	for i := range c.Events {
		m.Components = append(m.Components, b.event(&c.Events[i]))
	}
	if !b.years.empty() {
		m.Components = append(m.Components, timezone(zone.loc, b.years))
	}
	return m, nil
}

// properties are those of the calendar itself.
func (c *Calendar) properties() []ical.CalendarProperty {
	var all []ical.CalendarProperty
	add := func(name ical.Property, value string, parameters map[string][]string) {
		all = append(all, ical.CalendarProperty{BaseProperty: ical.BaseProperty{IANAToken: string(name), Value: value, ICalParameters: parameters}})
	}
	add(ical.PropertyVersion, "2.0", nil)
	add(ical.PropertyProductId, productID, nil)
	add(ical.PropertyCalscale, "GREGORIAN", nil)
	if c.Method != "" {
		add(ical.PropertyMethod, string(c.Method), nil)
	}
	if name := visible(c.Name); name != "" {
		add(ical.PropertyName, name, nil) // RFC 7986 5.1
		add(ical.PropertyXWRCalName, name, nil)
	}
	if c.Refresh > 0 {
		// The model's own setter puts the parameter into the name of the property.
		add("REFRESH-INTERVAL", durationText(c.Refresh), map[string][]string{"VALUE": {string(ical.ValueDataTypeDuration)}})
		add(ical.PropertyXPublishedTTL, durationText(c.Refresh), nil)
	}
	return all
}

// clocks loads the zone if a timed event needs one.
func (c *Calendar) clocks() (*clocks, error) {
	for i := range c.Events {
		if !c.Events[i].timed() {
			continue
		}
		if c.Zone == "" || c.Zone == "Local" {
			return nil, fmt.Errorf("event %d has a time of day but the calendar has no zone", i+1)
		}
		loc, err := time.LoadLocation(c.Zone) // time.UTC for the one zone that needs no VTIMEZONE
		if err != nil {
			return nil, err
		}
		return &clocks{loc: loc, days: map[day.Day]bool{}}, nil
	}
	return nil, nil
}
