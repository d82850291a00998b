package web

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// The kinds of field of a form about the clinic.
const (
	dayKind    = "day"
	lineKind   = "line"
	countKind  = "count"  // a whole number
	choiceKind = "choice" // one of a list
	ticksKind  = "ticks"  // any of a list
	fixedKind  = "fixed"  // shown and not changed
)

// clinicField is one field of a form about the clinic, with what stands in it.
type clinicField struct {
	ID, Name, Label, Hint string
	Kind                  string
	Needed                bool
	Value                 string
	Reading               string // of a day
	Fault                 string
	Options               []option
	choices               func(*request) []option
}

// clinicFields fills the fields of a form with values.
func (q *request) clinicFields(a clinicAct, values url.Values, t typed) []clinicField {
	fields := slices.Clone(a.fields)
	for n := range fields {
		f := &fields[n]
		f.ID, f.Value = a.name+"-"+f.Name, values.Get(f.Name)
		if t.Fault == f.Name {
			f.Fault = t.Says
		}
		if d, err := day.Parse(f.Value); err == nil && (f.Kind == dayKind || f.Kind == fixedKind) {
			f.Reading, _ = q.reading(f.Value)
			if f.Kind == fixedKind {
				f.Reading = longDay(d)
			}
		}
		if f.choices == nil {
			continue
		}
		for _, o := range f.choices(q) {
			o.Chosen = slices.Contains(values[f.Name], o.Value)
			f.Options = append(f.Options, o)
		}
	}
	return fields
}

func optionsOf(values []string) []option {
	var list []option
	for _, v := range values {
		list = append(list, option{Value: v, Says: strings.ReplaceAll(v, "_", " ")})
	}
	return list
}

func (q *request) personNames() []option {
	var names []string
	for _, p := range q.keeper.Clinic.People {
		names = append(names, p.Name)
	}
	return optionsOf(names)
}

func (q *request) roomNames() []option {
	var names []string
	for _, r := range q.keeper.Clinic.Rooms {
		names = append(names, r.Name)
	}
	return optionsOf(names)
}

// weekOrder are the weekdays as a clinic reads them.
var weekOrder = []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday, time.Saturday, time.Sunday}

// weekdayKey is a weekday as a form sends it.
func weekdayKey(w time.Weekday) string { return strings.ToLower(w.String()[:3]) }

func weekdayChoices(*request) []option {
	var list []option
	for _, w := range weekOrder {
		list = append(list, option{Value: weekdayKey(w), Says: w.String()})
	}
	return list
}

func roomKindChoices(*request) []option { return optionsOf(clinicWords("rooms", "for")) }

// roleChoices spares who is no surgeon the role that package desk would refuse them.
func (q *request) roleChoices() []option {
	roles := clinicWords("people", "role")
	if !isSurgeon(q.who) {
		roles = slices.DeleteFunc(slices.Clone(roles), func(role string) bool { return role == "surgeon" })
	}
	return optionsOf(roles)
}

func afterCareChoices(*request) []option { return optionsOf(casefile.AfterCareKeys) }

// clinicWords are the words that the clinic file may have at a place.
func clinicWords(keys ...string) []string {
	shape := casefile.ClinicFile()
	for _, key := range keys {
		for _, f := range shape.Fields {
			if f.Key == key {
				shape = f.Shape
				break
			}
		}
		for shape.Of != nil {
			shape = *shape.Of
		}
	}
	return shape.Words
}

func hoursText(hours []day.Hours) string {
	var list []string
	for _, h := range hours {
		list = append(list, h.String())
	}
	return strings.Join(list, ", ")
}

// fillHours puts the hours of a weekday into its form.
func (q *request) fillHours(v url.Values) {
	if w, err := day.ParseWeekday(v.Get("weekday")); err == nil {
		v.Set("hours", hoursText(q.keeper.Clinic.Hours[w]))
	}
}

// fillRoom puts a room of the clinic into its form.
func (q *request) fillRoom(v url.Values) {
	for _, r := range q.keeper.Clinic.Rooms {
		if graft.OneLine(r.Name) == graft.OneLine(v.Get("name")) {
			v["for"], v["days"] = r.For, weekdayKeys(r.Days)
		}
	}
}

func (q *request) fillPersonDays(v url.Values) {
	for _, p := range q.keeper.Clinic.People {
		if p.Name == q.personNamed(v.Get("who")) {
			v["days"] = weekdayKeys(p.Days)
		}
	}
}

func (q *request) fillAfterCare(v url.Values) {
	if days, set := q.keeper.Clinic.AfterCare[v.Get("key")]; set {
		v.Set("days", strconv.Itoa(days))
	}
}

func weekdayKeys(set day.Weekdays) []string {
	var keys []string
	for _, w := range weekOrder {
		if set.Has(w) {
			keys = append(keys, weekdayKey(w))
		}
	}
	return keys
}
