package sqlite

import (
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// CalendarKey returns the secret from which the names of calendar events are made:
// 32 bytes that stay the same for the life of the ledger and its copies.
func (r *Reader) CalendarKey() ([]byte, error) {
	return one(r, "calendar key", keyFields, calendarKey)
}

// Issues returns the latest issue of each event of a case, by milestone and
// audience.
func (r *Reader) Issues(id graft.CaseID) ([]ledger.Issue, error) {
	return list(r, "issues", issueFields, issuesOfCase, id)
}

// IssueHead returns the number of the latest issue of all; 0 for none.
func (r *Reader) IssueHead() (int64, error) {
	return one(r, "issues", numberFields, issueHead)
}

// IssuesAfter returns the issues to an audience after a number, over all cases, oldest
// first.
func (r *Reader) IssuesAfter(number int64, who graft.Audience) ([]ledger.Issue, error) {
	return list(r, "issues", issueFields, issuesAfter, number, who)
}

// Invitations returns the messages about the visits of a case, oldest first.
func (r *Reader) Invitations(id graft.CaseID) ([]ledger.Invitation, error) {
	return list(r, "messages", numberedInvitationFields, invitationsOfCase, id)
}

// Feeds returns the feeds that stand, by case; with no case, all.
func (r *Reader) Feeds(id graft.CaseID) ([]ledger.Feed, error) {
	if id == "" {
		return list(r, "feeds", feedFields, allFeeds)
	}
	return list(r, "feeds", feedFields, feedOfCase, id)
}

// Shelved returns what counts of the visits of a case in a shared calendar, with no
// case of all: of each the last row that is not under way and those under way after
// it, by case and milestone, oldest first.
func (r *Reader) Shelved(calendar string, id graft.CaseID) ([]ledger.Shelved, error) {
	if id == "" {
		return list(r, "the shared calendar", shelvedFields, allShelved, calendar)
	}
	return list(r, "the shared calendar", shelvedFields, shelvedOfCase, calendar, id)
}

// Calendars returns the shared calendars of which the ledger has any row, in order.
func (r *Reader) Calendars() ([]string, error) {
	return list(r, "the shared calendars", calendarFields, allCalendars)
}

// SyncToken returns the token kept for a shared calendar; empty if none is.
func (r *Reader) SyncToken(calendar string) (string, error) {
	tokens, err := list(r, "the shared calendar", tokenFields, syncToken, calendar)
	if err != nil || len(tokens) == 0 {
		return "", err
	}
	return tokens[0], nil
}

// AddIssue writes what was given out, without an entry.
func (w *Writer) AddIssue(i ledger.Issue) error {
	return w.addSilent("the issue", i.Case, addIssue, issueFields(&i))
}

// AddShelved writes how a visit stands in a shared calendar, without an entry.
func (w *Writer) AddShelved(s ledger.Shelved) error {
	return w.addSilent("the shared calendar", s.Case, addShelved, shelvedFields(&s))
}

// addSilent writes what is no act on the case, which must be kept all the same.
func (w *Writer) addSilent(what string, id graft.CaseID, query string, fields []any) error {
	if _, err := w.Case(id); err != nil {
		return err
	}
	return w.write(what, query, fields...)
}

// SetSyncToken keeps the token of a shared calendar in place of the one before.
func (w *Writer) SetSyncToken(calendar, token string) error {
	return w.write("the shared calendar", setSyncToken, calendar, token)
}
