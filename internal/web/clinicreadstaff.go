package web

import (
	"slices"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// personNamed is the name of a person as the clinic file spells it; as it is given for
// one whom it does not have.
func (q *request) personNamed(name string) string {
	for _, p := range q.keeper.Clinic.People {
		if graft.OneLine(p.Name) == graft.OneLine(name) {
			return p.Name
		}
	}
	return name
}

// roomNamed is personNamed for a room.
func (q *request) roomNamed(name string) string {
	for _, r := range q.keeper.Clinic.Rooms {
		if graft.OneLine(r.Name) == graft.OneLine(name) {
			return r.Name
		}
	}
	return name
}

// person reads whom a form is about.
func (q *request) person() (string, error) {
	name, err := q.neededLine("who", "a person is needed")
	return q.personNamed(name), err
}

// away reads whom or which room a form is about, with their absences.
func (q *request) away(room bool) (who string, list []clinic.Closure, err error) {
	if !room {
		if who, err = q.person(); err != nil {
			return "", nil, err
		}
		n := slices.IndexFunc(q.keeper.Clinic.People, func(p clinic.Person) bool { return p.Name == who })
		if n >= 0 {
			list = q.keeper.Clinic.People[n].Absent
		}
		return who, list, nil
	}
	if who, err = q.neededLine("who", "a room is needed"); err != nil {
		return "", nil, err
	}
	who = q.roomNamed(who)
	n := slices.IndexFunc(q.keeper.Clinic.Rooms, func(r clinic.Room) bool { return r.Name == who })
	if n >= 0 {
		list = q.keeper.Clinic.Rooms[n].OutOfUse
	}
	return who, list, nil
}

func (q *request) absence(room bool) (casefile.ClinicChange, error) {
	who, _, err := q.away(room)
	if err != nil {
		return nil, err
	}
	c, err := q.run()
	return casefile.AddAbsence{Who: who, Room: room, Closure: c}, err
}

func (q *request) presence(room bool) (casefile.ClinicChange, error) {
	who, list, err := q.away(room)
	if err != nil {
		return nil, err
	}
	c, err := q.runOf(list)
	return casefile.RemoveAbsence{Who: who, Room: room, Closure: c}, err
}

func (q *request) leaving() (casefile.ClinicChange, error) {
	who, err := q.person()
	if err != nil {
		return nil, err
	}
	from, err := q.neededDay("from")
	if err != nil {
		return nil, err
	}
	why, err := q.neededLine("name", "a word for it is needed, for the calendar and the history")
	return casefile.EndPerson(who, from, why), err
}

// weekdays reads ticked weekdays.
func (q *request) weekdays() (day.Weekdays, error) {
	var set []string
	for _, text := range q.PostForm["days"] {
		set = append(set, graft.OneLine(text))
	}
	var days day.Weekdays
	for _, text := range set {
		w, err := day.ParseWeekday(text)
		if err != nil {
			return 0, faultIn("days", "there is no such weekday")
		}
		days |= day.WeekdaySet(w)
	}
	return days, nil
}

// neededWeekdays reads ticked weekdays, one at least.
func (q *request) neededWeekdays() (day.Weekdays, error) {
	days, err := q.weekdays()
	if err == nil && days == 0 {
		err = faultIn("days", "tick one weekday or more")
	}
	return days, err
}

func (q *request) newPerson() (casefile.ClinicChange, error) {
	name, err := q.neededLine("name", "a name is needed")
	if err != nil {
		return nil, err
	}
	role := q.PostForm.Get("role")
	if !slices.Contains(clinicWords("people", "role"), role) {
		return nil, faultIn("role", "a role is needed")
	}
	days, err := q.neededWeekdays()
	return casefile.AddPerson{Name: name, Role: role, Days: days}, err
}

func (q *request) personDays() (casefile.ClinicChange, error) {
	who, err := q.person()
	if err != nil {
		return nil, err
	}
	days, err := q.neededWeekdays()
	return casefile.SetPersonDays{Name: who, Days: days}, err
}

func (q *request) removedPerson() (casefile.ClinicChange, error) {
	who, err := q.person()
	return casefile.RemovePerson{Name: who}, err
}

func (q *request) room() (casefile.ClinicChange, error) {
	name, err := q.neededLine("name", "a name is needed")
	if err != nil {
		return nil, err
	}
	known := clinicWords("rooms", "for")
	var kinds []string
	for _, kind := range q.PostForm["for"] {
		if !slices.Contains(known, kind) {
			return nil, faultIn("for", "there is no such kind of room")
		}
		kinds = append(kinds, kind)
	}
	if len(kinds) == 0 {
		return nil, faultIn("for", "tick what it is for")
	}
	days, err := q.weekdays()
	return casefile.SetRoom{Name: q.roomNamed(name), For: kinds, Days: days}, err
}
