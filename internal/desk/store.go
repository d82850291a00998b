package desk

import (
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Store keeps the ledger of one clinic for any number of desks at once. Errors of
// type *graft.Refusal say what the ledger will not do; any other error is a fault
// of disk or program.
type Store interface {
	// View shows the ledger as it stands at one moment.
	View(look func(Ledger) error) error
	// Act changes the ledger: all of what do writes, or, when do returns an error,
	// none of it. While one desk acts every other waits, so what do has read still
	// holds when it writes.
	Act(do func(Writing) error) error
}

// Ledger is the ledger as one reader sees it. Lists of one case come back empty
// for a case that it does not keep.
type Ledger interface {
	// Cases returns every case, by number.
	Cases() ([]ledger.Kept, error)
	// Case returns one case; a refusal of kind NotFound if it is not kept.
	Case(id graft.CaseID) (ledger.Kept, error)
	// Revision returns one revision of a case; a refusal of kind NotFound if it has
	// no such revision.
	Revision(id graft.CaseID, number int) (ledger.Revision, error)
	// Current returns the current revision of every case, by case number.
	Current() ([]ledger.Revision, error)
	// Visits returns all visits of a case, in the order they were made.
	Visits(id graft.CaseID) ([]ledger.Visit, error)
	// AllVisits returns all visits of all cases in the order they were made.
	AllVisits() ([]ledger.Visit, error)
	// TakenOn returns the visits that have a time on the days of the span, booked or
	// attended, over all cases, by
	// day and time.
	TakenOn(span day.Span) ([]ledger.Visit, error)
	// VisitsChanged returns when a visit was last changed, of any case; the beginning of 1970
	// for none.
	VisitsChanged() (time.Time, error)
	// Approvals, Overrides and Contacts return what was recorded of a case, oldest
	// first.
	Approvals(id graft.CaseID) ([]ledger.Approval, error)
	Overrides(id graft.CaseID) ([]ledger.Override, error)
	Contacts(id graft.CaseID) ([]ledger.Contact, error)
	// History returns the entries about a case, oldest first; with no case, all.
	History(id graft.CaseID) ([]ledger.Entry, error)
	// HistoryBefore and HistoryAfter return the entries about a case, or with none about no
	// case, before and after a number, so many at most: those next to it, from it on.
	HistoryBefore(id graft.CaseID, seq int64, most int) ([]ledger.Entry, error)
	HistoryAfter(id graft.CaseID, seq int64, most int) ([]ledger.Entry, error)
	// EntriesAfter returns the entries of the whole history after a number, oldest first.
	EntriesAfter(seq int64) ([]ledger.Entry, error)
	// Head returns the number of the latest entry of the whole history; 0 for none.
	Head() (int64, error)

	// Account returns the sign-in of a person, also one that has ended; a refusal of kind
	// NotFound if there never was one.
	Account(name string) (ledger.Account, error)
	// Accounts returns every sign-in, by name, those that have ended too.
	Accounts() ([]ledger.Account, error)
	// Draft returns what somebody was typing into a form; a refusal of kind NotFound if
	// nothing is kept.
	Draft(who, form string) (ledger.Draft, error)

	// CalendarKey returns the secret from which the names of calendar events are
	// made, 32 bytes that stay the same for the life of the ledger and its copies.
	CalendarKey() ([]byte, error)
	// Issues returns the latest issue of each event of a case, by milestone and
	// audience.
	Issues(id graft.CaseID) ([]ledger.Issue, error)
	// IssueHead returns the number of the latest issue of all, which grows with each; 0 for
	// none.
	IssueHead() (int64, error)
	// IssuesAfter returns the issues to an audience after a number, over all cases, oldest
	// first.
	IssuesAfter(number int64, who graft.Audience) ([]ledger.Issue, error)
	// Invitations returns the messages about the visits of a case, oldest first.
	Invitations(id graft.CaseID) ([]ledger.Invitation, error)
	// Feeds returns the feeds of cases that are not revoked, by case; with no case, all.
	Feeds(id graft.CaseID) ([]ledger.Feed, error)
	// DeskFeeds returns the feeds of the desk that are not revoked, by person.
	DeskFeeds() ([]ledger.Feed, error)
	// FeedOf returns the served feed of a token; a refusal of kind NotFound, the same for
	// all, if there is none or it is revoked. How long it takes tells nothing of a token.
	FeedOf(token string) (ledger.Feed, error)
	// Shelved returns what counts of the visits of a case in a shared calendar, with no
	// case of all: of each the last row that is not under way and those under way after
	// it, by case and milestone, oldest first.
	Shelved(calendar string, id graft.CaseID) ([]ledger.Shelved, error)
	// Calendars returns the names of the shared calendars in which any visit is or was, in
	// order.
	Calendars() ([]string, error)
	// SyncToken returns what the server of a shared calendar gave to ask for later
	// changes (RFC 6578); empty if nothing is kept.
	SyncToken(calendar string) (string, error)
}

// Writing is the ledger in the hands of a desk that acts. Each change comes with
// its entry, so none can be without one; the store numbers the entries.
type Writing interface {
	Ledger
	// AddRevision writes the next revision of a case, or the first of a new one. A
	// number that does not follow the current one is a refusal of kind Conflict.
	AddRevision(r ledger.Revision, e ledger.Entry) error
	// AddVisit writes a new visit and returns its number. A slot whose room, person
	// or patient is booked at that time is a refusal of kind Conflict that tells who
	// has it, and so is a second open visit of one milestone.
	AddVisit(v ledger.Visit, e ledger.Entry) (int64, error)
	// ChangeVisit brings a visit into another state; its slot never changes.
	ChangeVisit(v ledger.Visit, e ledger.Entry) error
	// AddApproval, AddOverride and AddContact record what their names say.
	AddApproval(a ledger.Approval, e ledger.Entry) error
	AddOverride(o ledger.Override, e ledger.Entry) error
	AddContact(c ledger.Contact, e ledger.Entry) error
	// AddEntry writes an entry that changes nothing else, such as a refused act.
	AddEntry(e ledger.Entry) error

	// AddIssue records what was given out. It is no act on the case, so it comes
	// without an entry.
	AddIssue(i ledger.Issue) error
	// AddInvitation writes a message that is under way and returns its number; a
	// second one under way for a milestone is a refusal of kind Conflict that says
	// who sends it and since when.
	AddInvitation(i ledger.Invitation) (int64, error)
	// EndInvitation says what became of a message that was under way.
	EndInvitation(i ledger.Invitation, e ledger.Entry) error
	// AddFeed writes the feed of a case or of the desk, which is always a served one; a
	// second one that stands is a refusal of kind Conflict.
	AddFeed(f ledger.Feed, e ledger.Entry) error
	// RevokeFeed ends the feed of a case, or of the desk's person, at f.Revoked; a refusal
	// of kind NotFound if none stands.
	RevokeFeed(f ledger.Feed, e ledger.Entry) error
	// AddShelved records how a visit stands in a shared calendar, without an entry.
	AddShelved(s ledger.Shelved) error
	// SetSyncToken keeps what the server of a shared calendar gave.
	SetSyncToken(calendar, token string) error

	// SetAccount writes a sign-in in place of the one before, which also lets one that has
	// ended stand again. A version below that one's is a refusal of kind Conflict. The hash
	// never goes into the entry.
	SetAccount(a ledger.Account, e ledger.Entry) error
	// EndAccount ends a sign-in at a.Ended and forgets its hash; a refusal of kind NotFound
	// if none stands.
	EndAccount(a ledger.Account, e ledger.Entry) error
	// SetDraft keeps a draft in place of the one before, DropDraft drops one if it is kept,
	// and DropDrafts all that are older. They are no act, so they come without an entry.
	SetDraft(d ledger.Draft) error
	DropDraft(who, form string) error
	DropDrafts(before time.Time) error
}

// Keep makes a Store of a store that hands out readers and writers of types of
// its own, so that a store need not know the desk.
func Keep[L Ledger, W Writing](s interface {
	View(look func(L) error) error
	Act(do func(W) error) error
}) Store {
	return kept[L, W]{s.View, s.Act}
}

type kept[L Ledger, W Writing] struct {
	view func(func(L) error) error
	act  func(func(W) error) error
}

// View implements Store.
func (k kept[L, W]) View(look func(Ledger) error) error {
	return k.view(func(l L) error { return look(l) })
}

// Act implements Store.
func (k kept[L, W]) Act(do func(Writing) error) error {
	return k.act(func(w W) error { return do(w) })
}
