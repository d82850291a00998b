package cli

import (
	"fmt"
	"io"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
)

// addToClinicFile adds a person to the clinic file, in on every weekday on which the
// clinic is open, and has the desk go by it.
func (f *keeperFlags) addToClinicFile(w io.Writer, k *desk.Keeper, name, role string) error {
	person := casefile.AddPerson{Name: name, Role: role, Days: openDays(k.Clinic.Hours)}
	d, err := k.ChangeClinic(f.atTerminal(), clinicFilesAt(f.clinic, f.protocol), k.Seen(), []casefile.ClinicChange{person}, "")
	if err != nil {
		return err
	}
	k.Desk = d
	_, err = fmt.Fprintf(w, "added to %s: %s\n", f.clinic, person.Tell(d.Clinic))
	return err
}

// openDays are the weekdays on which a clinic is open.
func openDays(week clinic.Week) day.Weekdays {
	var open []time.Weekday
	for w, hours := range week {
		if len(hours) > 0 {
			open = append(open, time.Weekday(w))
		}
	}
	return day.WeekdaySet(open...)
}
