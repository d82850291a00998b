package desk

import (
	"errors"
	"fmt"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// acted runs one act of a person, all or nothing. One that is refused stands in the
// history by its name, what.
func (k *Keeper) acted(a Actor, id graft.CaseID, what string, do func(Writing) error) error {
	var said error
	err := k.store.Act(func(w Writing) error {
		said = do(w)
		return said
	})
	if !isRefusal(said) { // what the store itself refuses it could not write down either
		return err
	}
	return k.refused(a, id, what, said)
}

// refused keeps in the history that an act was refused, in a transaction of its own,
// and returns the refusal. What is no refusal goes through as it is.
func (k *Keeper) refused(a Actor, id graft.CaseID, what string, err error) error {
	if !isRefusal(err) {
		return err
	}
	e := ledger.Entry{At: a.At, By: a.Person, Case: id, What: ledger.Refused, Now: what + ": " + err.Error()}
	kept := k.store.Act(func(w Writing) error {
		if _, err := w.Case(id); isNotFound(err) {
			e.Case = "" // about no case that there is
		} else if err != nil {
			return err
		}
		return w.AddEntry(e)
	})
	if kept != nil {
		return errors.Join(err, fmt.Errorf("the refusal is not in the history: %w", kept))
	}
	return err
}

func isRefusal(err error) bool {
	var refusal *graft.Refusal
	return errors.As(err, &refusal)
}
