package desk

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
)

// Seen names the texts of the files from which the desk was made. A change of them
// is asked for with what its page showed.
func (d *Desk) Seen() string { return d.Clinic.Digest + "+" + d.Rules.Digest() }

// What the history calls the changes of the clinic's files.
const (
	clinicWhat   = "clinic"
	adoptWhat    = "adopt"
	takeBackWhat = "take back"
)

// mayChangeClinic are the roles of those who may change the clinic file.
var mayChangeClinic = []string{surgeonRole, "desk"}

// ChangeClinic changes the clinic file and returns the desk that goes by it. Who has
// seen another text of the file than it now has is refused. Each change is an entry of
// the history about no case, written with the file: if the file cannot be put in its
// place, there is no entry. Faults of the changed file are of type table.Faults, with
// their places as check prints them.
//
// A process killed between the file and the end of the entry leaves a changed file
// without one, as a change by hand does.
func (k *Keeper) ChangeClinic(a Actor, f ClinicFiles, seen string, changes []casefile.ClinicChange, why string) (*Desk, error) {
	if err := a.mayChange(changes); err != nil {
		return nil, k.refused(a, "", clinicWhat, err)
	}
	return k.changeFiles(a, f, clinicWhat, func(c *filesChange) error {
		if c.clinic.Digest != clinicSeen(seen) {
			return changedFileMeanwhile("the clinic file")
		}
		return c.changeClinic(changes, why)
	})
}

// mayChange refuses changes to whom they are not given.
func (a Actor) mayChange(changes []casefile.ClinicChange) error {
	if len(changes) == 0 {
		return &graft.Refusal{Kind: graft.Invalid, Message: "nothing is to be changed"}
	}
	for _, change := range changes {
		if err := a.mayChangeOne(change); err != nil {
			return err
		}
	}
	return nil
}

// mayChangeOne refuses one change. Who is a surgeon and which file holds the rules is for
// a surgeon to say, as what a surgeon alone may do is. Somebody at the clinic's own
// machine may add people: the first has nobody who could let them in.
func (a Actor) mayChangeOne(change casefile.ClinicChange) error {
	added, adds := change.(casefile.AddPerson)
	_, rules := change.(casefile.SetProtocol)
	switch {
	case adds && a.terminal:
		return nil
	case adds && added.Role == surgeonRole:
		return a.needSurgeon("adding a surgeon")
	case rules:
		return a.needSurgeon("changing the file of the clinic's own rule values")
	case !slices.Contains(mayChangeClinic, a.Role):
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("changing the clinic file needs a surgeon or the desk; %s is %s", a.Name, orNobody(a.Role)), Hint: "a surgeon or the desk does it under their own name"}
	}
	return nil
}

func clinicSeen(seen string) string {
	clinic, _, _ := strings.Cut(seen, "+")
	return clinic
}

func changedFileMeanwhile(what string) error {
	return &graft.Refusal{Kind: graft.Conflict, Message: what + " was changed meanwhile", Hint: "look at it again and decide anew"}
}
