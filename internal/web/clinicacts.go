package web

import (
	"net/url"

	"graftclock/internal/casefile"
)

// clinicAct is one change of the clinic file: the form that asks for it, and how what
// was typed is read.
type clinicAct struct {
	name    string // in the address
	says    string // in the list of routes
	title   string // over its form
	intro   string
	section string // of the clinic's page, to come back to
	bare    bool   // it has no form of its own: a button on the clinic's page sends it
	fields  []clinicField
	atFault string                     // the field that a fault of the file stands at which names none of them
	fill    func(*request, url.Values) // puts what stands now into a form that is opened
	read    func(*request) (casefile.ClinicChange, error)
}

func (a clinicAct) address() string { return "/clinic/change/" + a.name }

// The fields of runs of days.
var (
	fromField = clinicField{Name: "from", Label: "First day", Kind: dayKind, Needed: true}
	toField   = clinicField{Name: "to", Label: "Last day (empty: that one day)", Kind: dayKind}
	whoField  = clinicField{Name: "who", Label: "Who", Kind: choiceKind, Needed: true, choices: (*request).personNames}
	roomField = clinicField{Name: "who", Label: "Room", Kind: choiceKind, Needed: true, choices: (*request).roomNames}
	daysField = clinicField{Name: "days", Label: "Days in the clinic", Kind: ticksKind, choices: weekdayChoices}
	hoursHint = "such as 08:30-12:30, 13:30-17:00"
)

// named is the field of what a run of days is called.
func named(label string) clinicField {
	return clinicField{Name: "name", Label: label, Kind: lineKind, Needed: true}
}

// fixed are fields that a form shows and does not change.
func fixed(fields ...clinicField) []clinicField {
	for n := range fields {
		fields[n].Kind, fields[n].choices = fixedKind, nil
	}
	return fields
}

// clinicActs are the changes of the clinic file that the pages offer.
var clinicActs = []clinicAct{
	{name: "close", says: "close the clinic on some days", title: "Add a closure", section: "closures",
		fields: []clinicField{fromField, toField, named("What it is called, such as: Summer closure")}, read: (*request).closing},
	{name: "reopen", says: "take a closure away", title: "Take a closure away", section: "closures", bare: true,
		fields: fixed(fromField, toField, named("Called")), read: (*request).reopening},
	{name: "half-day", says: "set a half day", title: "Set a half day", section: "half-days",
		intro:  "A half day shortens a day on which the clinic is open; it never opens a closed one. A day that is one already gets these hours instead.",
		fields: []clinicField{{Name: "day", Label: "Day", Kind: dayKind, Needed: true}, {Name: "hours", Label: "Open", Hint: hoursHint, Kind: lineKind, Needed: true}, named("What it is called, such as: Christmas")},
		read:   (*request).halfDay},
	{name: "whole-day", says: "take a half day away", title: "Take a half day away", section: "half-days", bare: true,
		fields: fixed(clinicField{Name: "day", Label: "Day", Kind: dayKind}), read: (*request).wholeDay},
	{name: "hours", says: "set the hours of a weekday", title: "Set the hours of a weekday", section: "hours",
		fields: []clinicField{{Name: "weekday", Label: "Weekday", Kind: choiceKind, Needed: true, choices: weekdayChoices}, {Name: "hours", Label: "Open (empty: closed on that weekday)", Hint: hoursHint, Kind: lineKind}},
		fill:   (*request).fillHours, read: (*request).hours},
	{name: "away", says: "note an absence", title: "Add an absence", section: "people",
		fields: []clinicField{whoField, fromField, toField, named("Why, in a word, such as: course")}, read: func(q *request) (casefile.ClinicChange, error) { return q.absence(false) }},
	{name: "back", says: "take an absence away", title: "Take an absence away", section: "people", bare: true,
		fields: fixed(whoField, fromField, toField, named("Why")), read: func(q *request) (casefile.ClinicChange, error) { return q.presence(false) }},
	{name: "leave", says: "note that somebody leaves for good", title: "Somebody leaves for good", section: "people",
		intro:  "They stay in the clinic file, away from that day on, for the visits they have held. What is booked with them later no longer fits.",
		fields: []clinicField{whoField, {Name: "from", Label: "First day without them", Kind: dayKind, Needed: true}, named("Why, in a word, such as: has left")}, read: (*request).leaving},
	{name: "out-of-use", says: "take a room out of use", title: "Take a room out of use", section: "rooms",
		fields: []clinicField{roomField, fromField, toField, named("Why, in a word, such as: repair")}, read: func(q *request) (casefile.ClinicChange, error) { return q.absence(true) }},
	{name: "in-use", says: "take a room back into use", title: "Take a room back into use", section: "rooms", bare: true,
		fields: fixed(roomField, fromField, toField, named("Why")), read: func(q *request) (casefile.ClinicChange, error) { return q.presence(true) }},
	{name: "room", says: "add or change a room", title: "Add or change a room", section: "rooms",
		fields: []clinicField{{Name: "name", Label: "Name of the room", Hint: "one that the clinic has is changed, another is added", Kind: lineKind, Needed: true},
			{Name: "for", Label: "Used for", Kind: ticksKind, choices: roomKindChoices}, {Name: "days", Label: "Weekdays in use (none: every open day)", Kind: ticksKind, choices: weekdayChoices}},
		fill: (*request).fillRoom, read: (*request).room},
	{name: "person", says: "add a person", title: "Add a person", section: "people",
		fields: []clinicField{{Name: "name", Label: "Name, as bookings and letters show it", Kind: lineKind, Needed: true}, {Name: "role", Label: "Role", Kind: choiceKind, Needed: true, choices: (*request).roleChoices}, daysField},
		read:   (*request).newPerson},
	{name: "person-days", says: "set the weekdays of a person", title: "Set the weekdays of a person", section: "people",
		fields: []clinicField{whoField, daysField}, fill: (*request).fillPersonDays, read: (*request).personDays},
	{name: "remove-person", says: "take a person out of the clinic file", title: "Take a person out of the clinic file", section: "people", bare: true,
		fields: fixed(whoField), read: (*request).removedPerson},
	{name: "after-care", says: "set an after-care preset", title: "Set an after-care preset", section: "after-care", atFault: "days",
		fields: []clinicField{{Name: "key", Label: "What the patient leaves off", Kind: choiceKind, Needed: true, choices: afterCareChoices}, {Name: "days", Label: "For so many days (empty: ask the surgeon)", Kind: countKind}},
		fill:   (*request).fillAfterCare, read: (*request).afterCare},
}
