package sqlite

import (
	"errors"
	"fmt"

	sqlite3 "modernc.org/sqlite/lib"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Writer is the ledger in the hands of the one who acts on it. It serves only
// inside the function that it is handed to. What is written is kept in whole
// seconds.
type Writer struct{ Reader }

// AddRevision writes the next revision of a case, or the first of a new one. A
// number that does not follow the current one is a refusal of kind Conflict.
func (w *Writer) AddRevision(r ledger.Revision, e ledger.Entry) error {
	if err := w.mayFollow(r); err != nil {
		return err
	}
	if err := w.write("the case", keepCase, r.Case, r.Patient, r.Number); err != nil {
		return err
	}
	if err := w.write("the revision", addRevision, revisionFields(&r)...); err != nil {
		return err
	}
	return w.AddEntry(e)
}

func (w *Writer) mayFollow(r ledger.Revision) error {
	kept, err := w.Case(r.Case)
	var refusal *graft.Refusal
	switch {
	case errors.As(err, &refusal) && refusal.Kind == graft.NotFound && r.Number == 1:
		return nil
	case err != nil:
		return err
	case r.Number == kept.Revision+1:
		return nil
	}
	current, err := w.Revision(r.Case, kept.Revision)
	if err != nil {
		return err
	}
	return &graft.Refusal{
		Kind:    graft.Conflict,
		Message: fmt.Sprintf("case %s is at revision %d, made by %s (%s): revision %d does not follow it", r.Case, current.Number, current.By, current.Source, r.Number),
		Hint:    "look at the case again and decide anew",
	}
}

// AddVisit writes a new visit and returns its number. A slot whose room, person or
// patient is booked at that time is a refusal of kind Conflict that tells who has
// it, and so is a second open visit of one milestone.
func (w *Writer) AddVisit(v ledger.Visit, e ledger.Entry) (int64, error) {
	v.ID = 0
	if err := w.free(v); err != nil {
		return 0, err
	}
	var id int64
	if err := w.tx.QueryRow(addVisit, visitFields(&v)...).Scan(&id); err != nil {
		return 0, guarded(fmt.Errorf("write the visit: %w", err))
	}
	return id, w.AddEntry(e)
}

// ChangeVisit brings a visit into another state, with when, by whom and why; all
// else of it never changes.
func (w *Writer) ChangeVisit(v ledger.Visit, e ledger.Entry) error {
	old, err := one(&w.Reader, fmt.Sprintf("visit %d", v.ID), numberedVisitFields, oneVisit, v.ID)
	if err != nil {
		return err
	}
	if old.Case != v.Case || old.Milestone != v.Milestone || old.Slot != v.Slot || old.Window != v.Window {
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("visit %d is %s of case %s, %s, and stays that", v.ID, old.Milestone.Title(), old.Case, old.Slot)}
	}
	if err := w.free(v); err != nil {
		return err
	}
	if err := w.write("the visit", changeVisit, v.State, instant{&v.At}, v.By, v.Why, v.ID); err != nil {
		return err
	}
	return w.AddEntry(e)
}

// AddApproval writes an approval.
func (w *Writer) AddApproval(a ledger.Approval, e ledger.Entry) error {
	return w.add("the approval", a.Case, addApproval, approvalFields(&a), e)
}

// AddOverride writes an override. Its revision may be written after it, in the
// same act.
func (w *Writer) AddOverride(o ledger.Override, e ledger.Entry) error {
	return w.add("the override", o.Case, addOverride, overrideFields(&o), e)
}

// AddContact writes a contact.
func (w *Writer) AddContact(c ledger.Contact, e ledger.Entry) error {
	return w.add("the contact", c.Case, addContact, contactFields(&c), e)
}

// AddEntry writes an entry that changes nothing else. The ledger gives it its
// number.
func (w *Writer) AddEntry(e ledger.Entry) error {
	return w.write("the history", addEntry, entryFields(&e)...)
}

// add writes what was recorded of a case that is kept, with its entry.
func (w *Writer) add(what string, id graft.CaseID, query string, fields []any, e ledger.Entry) error {
	if _, err := w.Case(id); err != nil {
		return err
	}
	if err := w.write(what, query, fields...); err != nil {
		return err
	}
	return w.AddEntry(e)
}

func (w *Writer) write(what, query string, args ...any) error {
	if _, err := w.tx.Exec(query, args...); err != nil {
		return guarded(fmt.Errorf("write %s: %w", what, err))
	}
	return nil
}

// guarded turns the word of a guard in the tables into a refusal.
func guarded(err error) error {
	if c := code(err); c != sqlite3.SQLITE_CONSTRAINT_TRIGGER && c != sqlite3.SQLITE_CONSTRAINT_UNIQUE {
		return err
	}
	return &graft.Refusal{Kind: graft.Conflict, Message: "the ledger does not take it: " + err.Error(), Hint: "look at the case again and decide anew"}
}
