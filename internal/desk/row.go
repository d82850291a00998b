package desk

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Whose is the case that rows are about. The rows of a case share it.
type Whose struct {
	Case    graft.CaseID
	Patient string
	Phone   string // as dialled; empty: no number is recorded
	Surgeon string
	Surgery day.Day
	Head    int64   // the case's latest change when its rows were made: what an act on it has seen
	Planned day.Day // the day for which they were made
}

func (l Live) whose() *Whose {
	s := l.Case.Surgery
	return &Whose{Case: l.Kept.Case, Patient: l.Kept.Patient, Phone: l.Case.Patient.Phone, Surgeon: s.Surgeon, Surgery: s.Day, Head: l.Kept.Head, Planned: l.Timeline.On}
}

// List is one of the lists that the desk works from.
type List string

// The lists of steps.
const (
	Visits       List = "visits"
	AfterSurgery List = "after surgery" // the call that is due today
	Overdue      List = "overdue"
	Unconfirmed  List = "unconfirmed"
	Due          List = "due" // to be booked, or to be done at the desk
)

// Row is one step of a case in a list. It never changes once made.
type Row struct {
	*Whose
	List  List
	ID    graft.MilestoneID
	State ledger.State

	Visit     int64      // number of the visit that is booked; 0: none is
	Slot      graft.Slot // what is booked
	Unfit     string     // why the booked time cannot stay; empty: it can
	Confirmed bool       // by the patient
	Placed    day.Day    // where the plan has it: booked, or proposed; no day: it has none left
	Window    graft.Window

	Rank  int     // of harm; 0 is the gravest
	Do    string  // what the desk does about it
	Why   string  // why it is here, in half a line; may be empty
	Since day.Day // overdue: when its window ended; no day: it was missed, or its outcome is not recorded

	Calls int             // how often the patient was called about it
	Last  *ledger.Contact // the last of these; nil: none

	marks marks
	stays bool      // booked, and the plan leaves it there
	start day.Clock // of the booked or proposed slot
}

// Choice names the step for an act on it.
func (r *Row) Choice() Choice { return ChoiceOf(r.ID) }

// Title is the step with whom and which it is for.
func (r *Row) Title() string { return r.ID.Title() }

// Marks are what the desk should know of a visit before it picks up the phone.
func (r *Row) Marks() []string { return r.marks.words() }

// row is what every list says of a step.
func (d *Desk) row(list List, whose *Whose, l Live, m graft.Milestone) *Row {
	r := &Row{Whose: whose, List: list, ID: m.ID, State: l.State(m.ID), Placed: m.Placed, Window: m.Window, marks: d.marks(l, m), stays: m.Booked, start: m.Slot.Start}
	if v, ok := l.Latest(m.ID); ok && v.State == ledger.Booked {
		r.Visit, r.Slot, r.Confirmed = v.ID, v.Slot, l.ConfirmedVisit(v)
	}
	for _, c := range l.Contacts {
		if c.Milestone == m.ID && c.Visit == r.Visit {
			r.Calls, r.Last = r.Calls+1, &c
		}
	}
	return r
}

// marks is a set of what the desk should know of a visit.
type marks byte

const (
	longLead marks = 1 << iota
	missedBefore
	setBySurgeon
	isDraft
)

var markWords = []string{"long lead", "missed before", "set by surgeon", "draft"}

func (s marks) words() []string {
	var words []string
	for n, word := range markWords {
		if s>>n&1 == 1 {
			words = append(words, word)
		}
	}
	return words
}

func (d *Desk) marks(l Live, m graft.Milestone) (s marks) {
	if v, ok := l.Latest(m.ID); ok && v.State == ledger.Booked && d.longLead(v) {
		s |= longLead
	}
	if l.Missed() > 0 {
		s |= missedBefore
	}
	if m.Override != nil {
		s |= setBySurgeon
	}
	if l.Approval == nil {
		s |= isDraft
	}
	return s
}

// longLead reports whether the visit was booked longer ahead than the rules think
// safe from being forgotten.
func (d *Desk) longLead(v ledger.Visit) bool {
	return v.Day.After(day.Of(v.Booked).Add(d.Rules.Period("long-lead")))
}

// Draft is a plan that no surgeon has approved.
type Draft struct {
	*Whose
	Revision int
	Stop     string // the first stop finding, which is in the way; empty: none
	Unfit    bool   // something booked does not fit, which is in the way
	Stale    bool   // it waits to be made anew
}

// Do says what is done about a draft.
func (d Draft) Do() string {
	switch {
	case d.Stop != "":
		return "stop: " + d.Stop
	case d.Unfit:
		return "settle first: something booked does not fit"
	}
	return "approve or override"
}

// Hit is a booked visit that the clinic cannot hold as its file now stands.
type Hit struct {
	*Whose
	ID       graft.MilestoneID
	Was      graft.Slot // the booked slot
	Why      string     // why the clinic cannot hold it
	Proposal graft.Slot // zero: no day is left
	Hold     bool       // so far ahead that the window is held and no slot booked
	Stale    bool       // it waits to be made anew
}

// Title is the step with whom and which it is for.
func (h Hit) Title() string { return h.ID.Title() }

// Does says what settling does with the visit.
func (h Hit) Does() string { return Settlement{Proposal: h.Proposal, Hold: h.Hold}.Does() }
