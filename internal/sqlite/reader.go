package sqlite

import (
	"database/sql"
	"errors"
	"fmt"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Reader is the ledger as it stood when it was first asked. It serves only inside
// the function that it is handed to. Lists of a case that the ledger does not keep
// are empty.
type Reader struct{ tx *sql.Tx }

// Cases returns every case, by number.
func (r *Reader) Cases() ([]ledger.Kept, error) {
	return list(r, "cases", keptFields, allCases)
}

// Case returns one case; a refusal of kind NotFound if it is not kept.
func (r *Reader) Case(id graft.CaseID) (ledger.Kept, error) {
	return one(r, fmt.Sprintf("case %s", id), keptFields, oneCase, id)
}

// Revision returns one revision of a case; a refusal of kind NotFound if it has no
// such revision.
func (r *Reader) Revision(id graft.CaseID, number int) (ledger.Revision, error) {
	return one(r, fmt.Sprintf("revision %d of case %s", number, id), revisionFields, oneRevision, id, number)
}

// Current returns the current revision of every case, by case number.
func (r *Reader) Current() ([]ledger.Revision, error) {
	return list(r, "revisions", revisionFields, currentRevisions)
}

// Visits returns all visits of a case in the order they were made.
func (r *Reader) Visits(id graft.CaseID) ([]ledger.Visit, error) {
	return list(r, "visits", numberedVisitFields, visitsOfCase, id)
}

// AllVisits returns all visits of all cases in the order they were made.
func (r *Reader) AllVisits() ([]ledger.Visit, error) {
	return list(r, "visits", numberedVisitFields, allVisits)
}

// VisitsChanged returns when a visit was last changed, of any case; the beginning of 1970
// for none.
func (r *Reader) VisitsChanged() (time.Time, error) {
	return one(r, "visits", instantFields, visitsChanged)
}

// TakenOn returns the visits that have a time on the days of the span, booked or
// attended, over all cases, by day
// and time.
func (r *Reader) TakenOn(span day.Span) ([]ledger.Visit, error) {
	return list(r, "visits", numberedVisitFields, takenOn, span.From.String(), span.To.String())
}

// Approvals returns the approvals of a case, oldest first.
func (r *Reader) Approvals(id graft.CaseID) ([]ledger.Approval, error) {
	return list(r, "approvals", approvalFields, approvalsOfCase, id)
}

// Overrides returns the overrides of a case, oldest first.
func (r *Reader) Overrides(id graft.CaseID) ([]ledger.Override, error) {
	return list(r, "overrides", overrideFields, overridesOfCase, id)
}

// Contacts returns the contacts about a case, oldest first.
func (r *Reader) Contacts(id graft.CaseID) ([]ledger.Contact, error) {
	return list(r, "contacts", contactFields, contactsOfCase, id)
}

// History returns the entries about a case, oldest first; with no case, all.
func (r *Reader) History(id graft.CaseID) ([]ledger.Entry, error) {
	if id == "" {
		return list(r, "history", numberedEntryFields, allHistory)
	}
	return list(r, "history", numberedEntryFields, historyOfCase, id)
}

// HistoryBefore returns the entries about a case, or with none about no case, before a
// number, so many at most, the latest first.
func (r *Reader) HistoryBefore(id graft.CaseID, seq int64, most int) ([]ledger.Entry, error) {
	return list(r, "history", numberedEntryFields, historyOfCaseBefore, id, seq, most)
}

// HistoryAfter returns the entries about a case, or with none about no case, after a
// number, so many at most, the oldest first.
func (r *Reader) HistoryAfter(id graft.CaseID, seq int64, most int) ([]ledger.Entry, error) {
	return list(r, "history", numberedEntryFields, historyOfCaseAfter, id, seq, most)
}

// EntriesAfter returns the entries of the whole history after a number, oldest first.
func (r *Reader) EntriesAfter(seq int64) ([]ledger.Entry, error) {
	return list(r, "history", numberedEntryFields, historyAfter, seq)
}

// Head returns the number of the latest entry of the whole history; 0 for none.
func (r *Reader) Head() (int64, error) {
	return one(r, "history", numberFields, historyHead)
}

// list reads the rows that a query finds.
func list[T any](r *Reader, what string, fields func(*T) []any, query string, args ...any) (all []T, err error) {
	rows, err := r.tx.Query(query, args...)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", what, err)
	}
	defer rows.Close()
	for rows.Next() {
		var t T
		if err := rows.Scan(fields(&t)...); err != nil {
			return nil, fmt.Errorf("read %s: %w", what, err)
		}
		all = append(all, t)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read %s: %w", what, err)
	}
	return all, nil
}

// one reads the only row that a query finds; a refusal of kind NotFound if it
// finds none.
func one[T any](r *Reader, what string, fields func(*T) []any, query string, args ...any) (T, error) {
	var t T
	err := r.tx.QueryRow(query, args...).Scan(fields(&t)...)
	if errors.Is(err, sql.ErrNoRows) {
		return t, &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("the ledger has no %s", what)}
	}
	if err != nil {
		return t, fmt.Errorf("read %s: %w", what, err)
	}
	return t, nil
}
