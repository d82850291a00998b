package sqlite

import (
	"crypto/sha256"
	"fmt"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// DeskFeeds returns the feeds of the desk that stand, by person.
func (r *Reader) DeskFeeds() ([]ledger.Feed, error) {
	return list(r, "feeds", deskFeedFields, allDeskFeeds)
}

// FeedOf returns the served feed of a token that stands. A token is looked for by its
// hash, in one question whether or not it ever was one, and what is not there is
// refused in the same words.
func (r *Reader) FeedOf(token string) (ledger.Feed, error) {
	hash := hashOf(token)
	return one(r, "such feed", servedFields, feedOfToken, hash, hash)
}

func hashOf(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}

// standingFeed returns the feed that stands for the same case or person; none, an
// empty list.
func (r *Reader) standingFeed(f ledger.Feed) ([]ledger.Feed, error) {
	if f.OfDesk() {
		return list(r, "feeds", deskFeedFields, deskFeedOfPerson, f.Person)
	}
	return list(r, "feeds", feedFields, feedOfCase, f.Case)
}

// feedName names a feed by what it shows.
func feedName(f ledger.Feed) string {
	switch {
	case !f.OfDesk():
		return fmt.Sprintf("case %s", f.Case)
	case f.Person == "":
		return "the desk"
	}
	return f.Person
}

// AddFeed writes the feed of a case or of the desk. A second one that stands is a
// refusal of kind Conflict that says who made the first.
func (w *Writer) AddFeed(f ledger.Feed, e ledger.Entry) error {
	if err := w.mayFeed(f); err != nil {
		return err
	}
	if f.Served() {
		if err := w.write("the feed", addServed, hashOf(f.Token), f.Token); err != nil {
			return err
		}
	}
	query, fields := addFeed, feedFields(&f)
	if f.OfDesk() {
		query, fields = addDeskFeed, deskFeedFields(&f)
	}
	if err := w.write("the feed", query, fields...); err != nil {
		return err
	}
	return w.AddEntry(e)
}

// mayFeed refuses a feed beside one that stands, of a case that is not kept, or of the
// desk in a folder.
func (w *Writer) mayFeed(f ledger.Feed) error {
	standing, err := w.standingFeed(f)
	switch {
	case err != nil:
		return err
	case len(standing) > 0:
		return &graft.Refusal{
			Kind:    graft.Conflict,
			Message: fmt.Sprintf("%s has a feed already, made by %s on %s", feedName(f), standing[0].By, moment(standing[0].At)),
			Hint:    "revoke that one first",
		}
	case f.OfDesk() && !f.Served():
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("the feed of %s lies in a folder: those of the desk are served", feedName(f))}
	case f.OfDesk():
		return nil
	}
	_, err = w.Case(f.Case)
	return err
}

// RevokeFeed ends the feed of a case, or of the desk's person, at f.Revoked, by who acts
// in the entry. A refusal of kind NotFound if none stands, of kind Invalid if no time is
// given.
func (w *Writer) RevokeFeed(f ledger.Feed, e ledger.Entry) error {
	standing, err := w.standingFeed(f)
	switch {
	case err != nil:
		return err
	case len(standing) == 0:
		return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("the ledger has no feed of %s", feedName(f))}
	case f.Revoked.IsZero():
		return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("the feed of %s is revoked at no time", feedName(f))}
	}
	query, whose := revokeFeed, any(f.Case)
	if f.OfDesk() {
		query, whose = revokeDesk, f.Person
	}
	if err := w.write("the feed", query, instant{&f.Revoked}, e.By.Name, whose); err != nil {
		return err
	}
	return w.AddEntry(e)
}
