package casefile

import (
	"fmt"
	"slices"

	"graftclock/internal/clinic"
)

// absences returns where the file keeps the absences of a person or a room, and them;
// no place for one that it does not have.
func absences(c *Clinic, who string, room bool) (path string, list *[]clinic.Closure) {
	if room {
		if n := roomAt(*c, who); n >= 0 {
			return fmt.Sprintf("rooms[%d].out_of_use", n), &c.Rooms[n].OutOfUse
		}
		return "", nil
	}
	if n := personAt(*c, who); n >= 0 {
		return fmt.Sprintf("people[%d].absent", n), &c.People[n].Absent
	}
	return "", nil
}

// whose names a person or a room for a complaint.
func whose(who string, room bool) string {
	if room {
		return "room " + who
	}
	return "person " + who
}

func (x AddAbsence) write(text []byte, c Clinic) ([]byte, error) {
	path, list := absences(&c, x.Who, x.Room)
	switch {
	case list == nil:
		return nil, hasNo(whose(x.Who, x.Room))
	case slices.Contains(*list, whole(x.Closure)):
		return nil, fmt.Errorf("the clinic file has this already: %s", tellAbsence(c, x.Who, x.Room, x.Closure))
	}
	return clinicFile.Append(text, path, closureValue(x.Closure))
}

func (x AddAbsence) apply(c *Clinic) {
	list := x.own(c)
	*list = more(*list, whole(x.Closure))
}

// own gives the clinic people and rooms of its own to change, and returns the absences.
func (x AddAbsence) own(c *Clinic) *[]clinic.Closure {
	c.People, c.Rooms = slices.Clone(c.People), slices.Clone(c.Rooms)
	_, list := absences(c, x.Who, x.Room)
	return list
}

// Tell says the absence, where there is one.
func (x AddAbsence) Tell(c Clinic) string { return tellAbsence(c, x.Who, x.Room, x.Closure) }

func tellAbsence(c Clinic, who string, room bool, away clinic.Closure) string {
	_, list := absences(&c, who, room)
	switch {
	case list == nil || !slices.Contains(*list, whole(away)):
		return ""
	case room:
		return who + " out of use " + closureText(away)
	}
	return who + " away " + closureText(away)
}

func (x RemoveAbsence) write(text []byte, c Clinic) ([]byte, error) {
	path, list := absences(&c, x.Who, x.Room)
	if list == nil {
		return nil, hasNo(whose(x.Who, x.Room))
	}
	n := slices.Index(*list, whole(x.Closure))
	if n < 0 {
		return nil, hasNo("absence of " + x.Who + " " + closureText(x.Closure))
	}
	return clinicFile.Remove(text, fmt.Sprintf("%s[%d]", path, n))
}

func (x RemoveAbsence) apply(c *Clinic) {
	list := AddAbsence(x).own(c)
	*list = fewer(*list, slices.Index(*list, whole(x.Closure)))
}

// Tell says the absence, where there is one.
func (x RemoveAbsence) Tell(c Clinic) string { return tellAbsence(c, x.Who, x.Room, x.Closure) }
