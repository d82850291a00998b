package desk

import (
	"fmt"
	"strings"

	"graftclock/internal/casefile"
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

// Amend puts a whole record in the place of a case's own and makes a new revision.
// What is the patient's may be changed by anybody of the clinic, all else by a
// surgeon. Faults of the record are of type table.Faults.
func (k *Keeper) Amend(a Actor, id graft.CaseID, record []byte, why string) (Live, error) {
	return k.act(a, id, "set", func(t *turn) error {
		record, c, faults := casefile.Canonical("the record", record)
		if len(faults) > 0 {
			return faults
		}
		if c.ID != id {
			return &graft.Refusal{Kind: graft.Invalid, Message: "the number of a case stays what it is", Hint: "admit the record under its other number"}
		}
		for _, change := range casefile.Differences(t.live.Revision.Record, record) {
			if strings.HasPrefix(change, "patient.") {
				continue
			}
			if err := a.needSurgeon("changing " + change); err != nil {
				return err
			}
		}
		return t.reviseTo("set", record, c, why)
	})
}
