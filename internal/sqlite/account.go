package sqlite

import (
	"fmt"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Account returns the sign-in of a person, also one that has ended; a refusal of kind
// NotFound if there never was one.
func (r *Reader) Account(name string) (ledger.Account, error) {
	return one(r, "sign-in of "+name, accountFields, oneAccount, name)
}

// Accounts returns every sign-in, by name, those that have ended too.
func (r *Reader) Accounts() ([]ledger.Account, error) {
	return list(r, "sign-ins", accountFields, allAccounts)
}

// SetAccount writes a sign-in in place of the one before. A version below that one's
// is a refusal of kind Conflict, one without a hash a refusal of kind Invalid.
func (w *Writer) SetAccount(a ledger.Account, e ledger.Entry) error {
	if a.Hash == "" || a.Version < 1 || !a.Ended.IsZero() {
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("a sign-in of %s without a password is none", a.Name)}
	}
	if err := w.write("the sign-in", setAccount, accountFields(&a)...); err != nil {
		return err
	}
	return w.AddEntry(e)
}

// EndAccount ends a sign-in at a.Ended and forgets its hash. A refusal of kind
// NotFound if none stands, of kind Invalid if no time is given.
func (w *Writer) EndAccount(a ledger.Account, e ledger.Entry) error {
	old, err := w.Account(a.Name)
	switch {
	case err != nil:
		return err
	case !old.Ended.IsZero():
		return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("the sign-in of %s has ended already", a.Name)}
	case a.Ended.IsZero():
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("the sign-in of %s ends at no time", a.Name)}
	}
	if err := w.write("the sign-in", endAccount, instant{&a.Ended}, a.Name); err != nil {
		return err
	}
	return w.AddEntry(e)
}

// Draft returns what somebody was typing into a form; a refusal of kind NotFound if
// nothing is kept.
func (r *Reader) Draft(who, form string) (ledger.Draft, error) {
	return one(r, fmt.Sprintf("draft of %s for %s", who, form), draftFields, oneDraft, who, form)
}

// SetDraft keeps a draft in place of the one before, without an entry.
func (w *Writer) SetDraft(d ledger.Draft) error {
	return w.write("the draft", setDraft, draftFields(&d)...)
}

// DropDraft drops a draft, if it is kept.
func (w *Writer) DropDraft(who, form string) error {
	return w.write("the draft", dropDraft, who, form)
}

// DropDrafts drops every draft that was last kept before a moment.
func (w *Writer) DropDrafts(before time.Time) error {
	return w.write("the drafts", dropDrafts, instant{&before})
}
