// Package ledger holds the nouns of the front desk's ledger: the revisions of a
// case, its visits and their states, approvals, overrides, contacts and the
// history of who did what. It decides which state may follow which and nothing
// else; it stores nothing and knows no clock.
package ledger

import (
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Person is who acts on the ledger, with the role the clinic file gives them.
type Person struct{ Name, Role string }

// Kept is a case as the ledger keeps it.
type Kept struct {
	Case     graft.CaseID
	Patient  string
	Revision int   // the current one, from 1
	Head     int64 // number of the latest entry that changed the case: what a desk saw when it decided
}

// Revision is one state of a case's record with the timeline derived from it. It
// never changes once written.
type Revision struct {
	Case         graft.CaseID
	Number       int // from 1
	Patient      string
	Record       []byte  // the surgery record, in the record format
	Timeline     []byte  // the timeline with its reasons, as JSON
	RulesVersion string  // of the rules behind the timeline
	Source       string  // what made it: admit, set, note, override, rules
	On           day.Day // the day of planning
	At           time.Time
	By           string
	Why          string
}

// Visit is one booking of a milestone, or its held window, with its state. A
// milestone that is booked again gets a new visit; the old one keeps its end.
type Visit struct {
	ID         int64 // given by the store; 0 before
	Case       graft.CaseID
	Patient    string // of the case; filled in by the store
	Milestone  graft.MilestoneID
	State      State
	graft.Slot              // what is booked; zero for a held window, a day alone for what was attended unbooked
	Window     graft.Window // of the milestone when the visit was booked or held
	Revision   int          // of the case when the visit was booked or held
	Booked     time.Time    // when it was booked or held
	At         time.Time    // of the latest change
	By         string       // who made it
	Why        string       // of it
}

// Approval is a surgeon's word that one revision may reach the patient.
type Approval struct {
	Case     graft.CaseID
	Revision int
	At       time.Time
	By       string
}

// Override is a surgeon's own day for a milestone. The latest of a milestone
// counts; one without a day takes the earlier ones back.
type Override struct {
	Case      graft.CaseID
	Milestone graft.MilestoneID
	Revision  int     // the one it made
	Day       day.Day // no day: taken back
	On        day.Day // when it was given
	At        time.Time
	By        string
	Why       string
}

// Outcome is what came of a contact with the patient.
type Outcome string

// The outcomes of a contact.
const (
	Confirmed   Outcome = "confirmed"
	MessageLeft Outcome = "message left"
	NoAnswer    Outcome = "no answer"
	Declined    Outcome = "declined"
)

// Outcomes lists every outcome.
var Outcomes = []Outcome{Confirmed, MessageLeft, NoAnswer, Declined}

// Contact is one call or message to the patient about a milestone.
type Contact struct {
	Case      graft.CaseID
	Milestone graft.MilestoneID
	Visit     int64 // the visit it was about; 0: none was booked
	Outcome   Outcome
	At        time.Time
	By        string
	Says      string // in the caller's words; may be empty
}

// Entry is one line of the history. Entries are never changed and never removed.
type Entry struct {
	Seq       int64 // given by the store, growing over the whole ledger
	At        time.Time
	By        Person
	Case      graft.CaseID      // empty: about no case
	Milestone graft.MilestoneID // empty: about the whole case
	What      string            // the act: admit, set, note, approve, override, hold, book, move, cancel, ...; or one of the acts below
	Was, Now  string            // before and after, for a reader
	Why       string
}

// What an entry says of what changes no case: an act that was refused, and a sign-in
// that was let in or not.
const (
	Refused       = "refused"
	SignIn        = "sign in"
	SignInRefused = "sign in refused"
)

// Changes reports whether an entry is of an act that changed something.
func (e Entry) Changes() bool {
	return e.What != Refused && e.What != SignIn && e.What != SignInRefused
}
