package ledger

import (
	"time"

	"graftclock/internal/graft"
)

// Issue is one event of a calendar as it was last given out to one audience. The
// next file is held against it: SEQUENCE rises where the time differs or the event
// is cancelled, the stamp where anything does (RFC 5545 3.8.7.4, RFC 5546 2.1.4).
// Issues are never changed; the latest of an event counts.
type Issue struct {
	Case      graft.CaseID
	Milestone graft.MilestoneID
	Audience  graft.Audience
	Revision  int       // of the case when the event was given out
	Sequence  int       // SEQUENCE, from 0
	At        time.Time // DTSTAMP and LAST-MODIFIED
	Cancelled bool
	Event     []byte // what was given out, as JSON
}

// Method says what a message asks a calendar to do (RFC 5546 1.4).
type Method string

// The methods of the messages that a clinic sends.
const (
	Request      Method = "request"
	Cancellation Method = "cancel"
)

// Sending is where a message to a patient stands.
type Sending string

// The states of a message. One that is under way and never ends was cut off: it may
// have arrived, so nobody sends it again unasked. A failed one did not arrive.
const (
	UnderWay Sending = "under way"
	Sent     Sending = "sent"
	Written  Sending = "written" // to a file, which somebody sends
	Failed   Sending = "failed"
)

// Invitation is one message to a patient about the time of one visit. Its state
// goes from under way to one of the others, once.
type Invitation struct {
	ID        int64 // given by the store; 0 before
	Case      graft.CaseID
	Milestone graft.MilestoneID
	Revision  int    // of the case when it was made
	Method    Method // what it asks
	Sequence  int    // SEQUENCE of the event in it
	To        string // e-mail address
	MessageID string // RFC 5322 3.6.4, without angle brackets
	Event     []byte // the event in it, as JSON
	State     Sending
	At        time.Time // of the latest change
	By        string
	Says      string // the mail server's words, or the file
}

// Feed is a standing calendar, which a calendar program fetches again and again: of
// one case or, without a case, of the desk. A case has at most one that is not
// revoked, and so have each person of the clinic and the desk as a whole.
type Feed struct {
	Case    graft.CaseID // empty: a feed of the desk
	Person  string       // of the desk: whose visits it shows; empty: all
	Token   string       // the file's name without its ending: nobody can guess it
	Folder  string       // where the file lies, an absolute path; empty: graftclock serves it and no file is written
	At      time.Time
	By      string
	Revoked time.Time // zero: it stands
}

// OfDesk reports whether a feed shows the visits of many patients to the clinic.
func (f Feed) OfDesk() bool { return f.Case == "" }

// Served reports whether graftclock hands the feed out by itself.
func (f Feed) Served() bool { return f.Folder == "" }

// Shelved is one visit as it stood in the clinic's shared calendar, or as it was
// about to stand there. Rows are never changed. Of those of a visit in a calendar the
// last that is not under way counts, and with it those under way since: any of them
// may have arrived.
type Shelved struct {
	Calendar  string // address of the calendar's collection
	Case      graft.CaseID
	Milestone graft.MilestoneID
	Path      string // of the resource on the server (RFC 4791 4.1)
	ETag      string // of the resource as last seen; empty: unknown
	Event     []byte // what was put there, as JSON; empty: it was about to be removed
	State     ShelfState
	At        time.Time
}

// ShelfState is what is known of a visit in the shared calendar.
type ShelfState string

// The states of a visit in the shared calendar.
const (
	AsPut        ShelfState = "as put"        // it says what was put there
	ChangedThere ShelfState = "changed there" // somebody has changed it in the calendar
	GoneThere    ShelfState = "gone there"    // somebody has deleted it in the calendar
	TakenDown    ShelfState = "taken down"    // it was removed, for the visit is no more

	// UnderWayThere is kept before anything leaves for the calendar. A row that stays
	// so is of a run that was cut off: what it says may have arrived or not.
	UnderWayThere ShelfState = "under way"
)
