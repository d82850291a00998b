package desk

import (
	"fmt"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// AdmitNew takes in the record of a new case, in canonical text. A case that the
// ledger keeps already is a refusal of kind Conflict: whoever types a number twice
// means another patient.
func (k *Keeper) AdmitNew(a Actor, record []byte, c casefile.Case, why string) error {
	return k.acted(a, c.ID, "admit", func(w Writing) error {
		kept, err := k.keptOf(w, c.ID)
		if err != nil {
			return err
		}
		if kept.Revision > 0 {
			return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("case %s is kept already, for %s", c.ID, kept.Patient), Hint: "give the new case a number of its own, or change that case's record"}
		}
		return k.firstRevision(w, a, record, c, why)
	})
}

// firstRevision makes the first revision of a case that the ledger does not keep.
func (k *Keeper) firstRevision(w Writing, a Actor, record []byte, c casefile.Case, why string) error {
	t := &turn{keeper: k, w: w, a: a, live: Live{Standing: &Standing{Kept: ledger.Kept{Case: c.ID, Patient: c.Patient.Name}}}}
	return t.revise("admit", record, c, nil, t.entry("admit", "", "", "revision 1", why))
}

// Amend puts a whole record in the place of a case's own and makes a new revision, by
// the rule of mayRevise. Faults of the record are of type table.Faults.
func (k *Keeper) Amend(a Actor, id graft.CaseID, record []byte, why string) (Live, error) {
	return k.act(a, id, "set", func(t *turn) error {
		record, c, faults := casefile.Canonical("the record", record)
		if len(faults) > 0 {
			return faults
		}
		if c.ID != id {
			return &graft.Refusal{Kind: graft.Invalid, Message: "the number of a case stays what it is", Hint: "admit the record under its other number"}
		}
		return t.reviseTo("set", record, c, why)
	})
}

// PlanWith plans a record of a case that is kept, which nobody has kept yet, with what the
// ledger knows of the case: what was attended, booked and overridden. It is the plan that
// Amend would make of it; the ledger stays as it is.
func (k *Keeper) PlanWith(id graft.CaseID, c casefile.Case, on day.Day) (Plan, error) {
	var plan Plan
	err := k.store.View(func(l Ledger) error {
		if _, err := l.Case(id); err != nil {
			return err
		}
		visits, err := l.Visits(id)
		if err != nil {
			return err
		}
		overrides, err := l.Overrides(id)
		if err != nil {
			return err
		}
		book, err := k.booked(l, on)
		if err != nil {
			return err
		}
		known := knownOf(visits, overrides, book)
		plan, err = k.plan(c, on, &known)
		return err
	})
	return plan, err
}

// mayRevise is the rule for the record of a case that is kept, whichever way its changes
// come: what is the patient's may be changed by anybody of the clinic, all else by a
// surgeon. Each change begins with its key.
func (a Actor) mayRevise(changes []string) error {
	for _, change := range changes {
		if strings.HasPrefix(change, "patient.") {
			continue
		}
		if err := a.needSurgeon("changing " + change); err != nil {
			return err
		}
	}
	return nil
}
