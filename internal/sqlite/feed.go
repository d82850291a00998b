package sqlite

import (
	"fmt"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// AddFeed writes the feed of a case. A second one that stands is a refusal of kind
// Conflict that says who made the first.
func (w *Writer) AddFeed(f ledger.Feed, e ledger.Entry) error {
	standing, err := list(&w.Reader, "feeds", feedFields, feedOfCase, f.Case)
	if err != nil {
		return err
	}
	if len(standing) > 0 {
		return &graft.Refusal{
			Kind:    graft.Conflict,
			Message: fmt.Sprintf("case %s has a feed already, made by %s on %s", f.Case, standing[0].By, moment(standing[0].At)),
			Hint:    "revoke that one first",
		}
	}
	return w.add("the feed", f.Case, addFeed, feedFields(&f), e)
}

// RevokeFeed ends the feed of a case at f.Revoked, by who acts in the entry. A
// refusal of kind NotFound if none stands, of kind Invalid if no time is given.
func (w *Writer) RevokeFeed(f ledger.Feed, e ledger.Entry) error {
	if _, err := one(&w.Reader, fmt.Sprintf("feed of case %s", f.Case), feedFields, feedOfCase, f.Case); err != nil {
		return err
	}
	if f.Revoked.IsZero() {
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("the feed of case %s is revoked at no time", f.Case)}
	}
	if err := w.write("the feed", revokeFeed, instant{&f.Revoked}, e.By.Name, f.Case); err != nil {
		return err
	}
	return w.AddEntry(e)
}
