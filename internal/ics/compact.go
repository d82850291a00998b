package ics

import (
	"errors"
	"fmt"
	"sort"
	"strings"
	"time"
	"unicode"

	ical "github.com/arran4/golang-ical"
)

const (
	compactProductID = "graftclock"
	ellipsis         = "…"
	// leastPlace is how many characters of a place must be left, or none is shown.
	leastPlace = 8
)

// Compact returns a timed event alone in a calendar of at most so many octets, for a
// square code that a camera reads: its UID, stamp, start and end in UTC, title and
// place, nothing else. Where that is too long the place is shortened first and then
// left out, then the title is shortened, each with an ellipsis. It refuses what
// Encode refuses, an event without a stamp of its own, an all-day or cancelled one,
// and one that does not fit however short its title.
func Compact(e Event, zone string, atMost int) ([]byte, error) {
	cal := Calendar{Zone: zone, Events: []Event{e}}
	err := cal.check()
	switch {
	case err != nil:
	case !e.timed():
		err = errors.New("an all-day event")
	case e.Status == Cancelled:
		err = errors.New("a cancelled event")
	}
	if err != nil {
		return nil, fmt.Errorf("encode compact calendar: %w", err)
	}
	clocks, err := cal.clocks()
	if err != nil {
		return nil, fmt.Errorf("encode compact calendar: %w", err)
	}
	start, _ := resolve(e.Day.Time().Add(time.Duration(e.Start)*time.Minute), clocks.loc)
	c := compact{uid: e.UID, stamp: instantText(e.Stamp), start: instantText(start),
		end: instantText(start.Add(time.Duration(e.Minutes) * time.Minute)), atMost: atMost}
	data, err := c.fit(visible(e.Summary), visible(e.Location))
	if err != nil {
		return nil, fmt.Errorf("encode compact calendar: %w", err)
	}
	return data, nil
}

// compact is what no event can do without, and how long the file may be.
type compact struct {
	uid, stamp, start, end string
	atMost                 int
}

// fit returns the file with as much of title and place as it can hold.
func (c compact) fit(title, place string) ([]byte, error) {
	data, err := c.longest(place, leastPlace, func(place string) ([]byte, error) { return c.file(title, place) })
	if data == nil && err == nil {
		data, err = c.longest(title, 1, func(title string) ([]byte, error) { return c.file(title, "") })
	}
	if data == nil && err == nil {
		err = fmt.Errorf("the event does not fit into %d octets", c.atMost)
	}
	return data, err
}

// longest returns the file with the whole text, or else with the longest beginning
// of it, of at least so many characters, with which it fits; nil if there is none.
func (c compact) longest(text string, least int, file func(string) ([]byte, error)) ([]byte, error) {
	data, err := file(text)
	if err != nil || len(data) <= c.atMost {
		return data, err
	}
	runes := []rune(text)
	kept := sort.Search(len(runes), func(n int) bool { // a file only grows with its text
		data, err := file(beginning(runes[:n+1]))
		return err != nil || len(data) > c.atMost
	})
	if kept < least {
		return nil, nil
	}
	return file(beginning(runes[:kept]))
}

// beginning returns the characters with an ellipsis for what was cut off, without a
// space, a comma or half an emoji before it.
func beginning(runes []rune) string {
	const joiner = '\u200d'
	return strings.TrimRightFunc(string(runes), func(r rune) bool {
		return unicode.IsSpace(r) || r == ',' || r == ';' || r == joiner
	}) + ellipsis
}

// file returns the calendar; an empty place is left out.
func (c compact) file(title, place string) ([]byte, error) {
	b := builder{properties: make([]ical.IANAProperty, 0, eventProperties)}
	b.add(ical.PropertyUid, c.uid, nil)
	b.add(ical.PropertyDtstamp, c.stamp, nil)
	b.add(ical.PropertyDtstart, c.start, nil)
	b.add(ical.PropertyDtend, c.end, nil)
	b.add(ical.PropertySummary, title, nil)
	if place != "" {
		b.add(ical.PropertyLocation, place, nil)
	}
	event := &ical.VEvent{}
	event.Properties = b.properties
	return serialize(&ical.Calendar{
		CalendarProperties: []ical.CalendarProperty{
			{BaseProperty: ical.BaseProperty{IANAToken: string(ical.PropertyVersion), Value: "2.0"}},
			{BaseProperty: ical.BaseProperty{IANAToken: string(ical.PropertyProductId), Value: compactProductID}},
		},
		Components: []ical.Component{event},
	})
}
