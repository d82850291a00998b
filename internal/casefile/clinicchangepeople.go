package casefile

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
)

// AddPerson adds somebody with the weekdays on which they are in.
type AddPerson struct {
	Name, Role string
	Days       day.Weekdays
}

// SetPersonDays gives a person other weekdays.
type SetPersonDays struct {
	Name string
	Days day.Weekdays
}

// RemovePerson takes a person out of the file. What is booked with them is a misfit
// from then on.
type RemovePerson struct{ Name string }

// SetRoom adds a room, or changes what a room of the file is for and when it can be
// had; no days are every open day.
type SetRoom struct {
	Name string
	For  []string
	Days day.Weekdays
}

// AddAbsence has a person away, or a room out of use, on a run of days, both ends
// included; no To is one day.
type AddAbsence struct {
	Who  string // as the clinic file spells it
	Room bool   // a room and no person
	clinic.Closure
}

// RemoveAbsence takes an absence away, which must be there as it is given.
type RemoveAbsence struct {
	Who  string
	Room bool
	clinic.Closure
}

// EndPerson has a person away from a day on for good, with why; the file keeps their
// name for what they have done.
func EndPerson(name string, from day.Day, why string) ClinicChange {
	return AddAbsence{Who: name, Closure: clinic.Closure{From: from, To: day.Last, Name: why}}
}

func personAt(c Clinic, name string) int {
	return slices.IndexFunc(c.People, func(p clinic.Person) bool { return p.Name == name })
}

func roomAt(c Clinic, name string) int {
	return slices.IndexFunc(c.Rooms, func(r clinic.Room) bool { return r.Name == name })
}

func (x AddPerson) write(text []byte, _ Clinic) ([]byte, error) {
	return clinicFile.Append(text, "people", map[string]any{"name": x.Name, "role": x.Role, "days": weekdaysValue(x.Days)})
}

func (x AddPerson) apply(c *Clinic) {
	c.People = more(c.People, clinic.Person{Name: x.Name, Role: x.Role, Days: x.Days})
}

// Tell says the person, where the file has one of the name.
func (x AddPerson) Tell(c Clinic) string { return tellPerson(c, x.Name) }

func tellPerson(c Clinic, name string) string {
	n := personAt(c, name)
	if n < 0 {
		return ""
	}
	return fmt.Sprintf("%s (%s), in on %s", name, c.People[n].Role, c.People[n].Days)
}

func (x SetPersonDays) write(text []byte, c Clinic) ([]byte, error) {
	n := personAt(c, x.Name)
	switch {
	case n < 0:
		return nil, hasNo("person " + x.Name)
	case c.People[n].Days == x.Days:
		return text, nil
	}
	return clinicFile.Put(text, fmt.Sprintf("people[%d].days", n), weekdaysValue(x.Days))
}

func (x SetPersonDays) apply(c *Clinic) {
	c.People = slices.Clone(c.People)
	c.People[personAt(*c, x.Name)].Days = x.Days
}

// Tell says the person, where the file has one of the name.
func (x SetPersonDays) Tell(c Clinic) string { return tellPerson(c, x.Name) }

func (x RemovePerson) write(text []byte, c Clinic) ([]byte, error) {
	n := personAt(c, x.Name)
	if n < 0 {
		return nil, hasNo("person " + x.Name)
	}
	return clinicFile.Remove(text, fmt.Sprintf("people[%d]", n))
}

func (x RemovePerson) apply(c *Clinic) { c.People = fewer(c.People, personAt(*c, x.Name)) }

// Tell says the person, where the file has one of the name.
func (x RemovePerson) Tell(c Clinic) string { return tellPerson(c, x.Name) }

func (x SetRoom) write(text []byte, c Clinic) ([]byte, error) {
	n, kinds := roomAt(c, x.Name), []any{}
	for _, kind := range x.For {
		kinds = append(kinds, kind)
	}
	if n < 0 {
		room := map[string]any{"name": x.Name, "for": kinds}
		if x.Days != 0 {
			room["days"] = weekdaysValue(x.Days)
		}
		return clinicFile.Append(text, "rooms", room)
	}
	at := fmt.Sprintf("rooms[%d]", n)
	text, err := clinicFile.Put(text, at+".for", kinds)
	switch {
	case err != nil || c.Rooms[n].Days == x.Days:
		return text, err
	case x.Days == 0:
		return clinicFile.Remove(text, at+".days")
	}
	return clinicFile.Put(text, at+".days", weekdaysValue(x.Days))
}

func (x SetRoom) apply(c *Clinic) {
	n := roomAt(*c, x.Name)
	if n < 0 {
		c.Rooms = more(c.Rooms, clinic.Room{Name: x.Name, For: x.For, Days: x.Days})
		return
	}
	c.Rooms = slices.Clone(c.Rooms)
	c.Rooms[n].For, c.Rooms[n].Days = x.For, x.Days
}

// Tell says the room, where the file has one of the name.
func (x SetRoom) Tell(c Clinic) string {
	n := roomAt(c, x.Name)
	if n < 0 {
		return ""
	}
	text := x.Name + " for " + strings.Join(c.Rooms[n].For, ", ")
	if c.Rooms[n].Days != 0 {
		text += " on " + c.Rooms[n].Days.String()
	}
	return text
}
