package desk

import (
	"cmp"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Keeper is a desk that keeps a ledger: it remembers what was booked, approved
// and found, and offers real slots. Every change is one act of one person and
// stands in the history.
type Keeper struct {
	*Desk
	store   Store
	mark    atomic.Pointer[bookmark]
	marking sync.Mutex // held by who reads for the next mark
	feeds   keptFeeds
	feeding sync.Mutex // held by the one who fills a feed of the desk
}

// NewKeeper returns the desk with its ledger.
func NewKeeper(d *Desk, store Store) *Keeper { return &Keeper{Desk: d, store: store} }

// Actor is who acts, when, and on which day the act is taken to be.
type Actor struct {
	ledger.Person
	At   time.Time
	On   day.Day
	Seen int64 // the case's latest change that the person saw before deciding; 0: not asked

	terminal bool // sits at the clinic's own machine and goes by no name: see Terminal
}

// moment is the time of the act on the day that it is taken to be.
func (a Actor) moment() time.Time {
	at := a.At.UTC()
	midnight := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, time.UTC)
	return a.On.Time().Add(at.Sub(midnight))
}

// surgeonRole is the role of the clinic file that some acts ask for.
const surgeonRole = "surgeon"

// Person returns the person of the clinic file who goes by the name, with the
// role that the file gives. An unknown name is a refusal that lists the known.
func (d *Desk) Person(name string) (ledger.Person, error) {
	var known []string
	for _, p := range d.Clinic.People {
		if p.Name == name {
			return ledger.Person{Name: p.Name, Role: p.Role}, nil
		}
		known = append(known, p.Name+" ("+p.Role+")")
	}
	if name == "" {
		return ledger.Person{}, &graft.Refusal{Kind: graft.Invalid, Message: "nobody is named who acts", Hint: "people of the clinic file: " + joined(known)}
	}
	return ledger.Person{}, &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("the clinic file has no person %q", name), Hint: "people of the clinic file: " + joined(known)}
}

// needSurgeon refuses an act that only a surgeon may do.
func (a Actor) needSurgeon(what string) error {
	if a.Role == surgeonRole {
		return nil
	}
	return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%s needs a surgeon; %s is %s", what, a.Name, orNobody(a.Role)), Hint: "a surgeon of the clinic does it under their own name"}
}

func orNobody(role string) string {
	if role == "" {
		return "nobody of the clinic"
	}
	return role
}

// turn is one act under way: the ledger in hand, and the case as it stands.
type turn struct {
	keeper *Keeper
	w      Writing
	a      Actor
	live   Live
}

// act runs one act on one case, all or nothing, and returns the case as it stands
// afterwards. One that is refused stands in the history by its name, what.
func (k *Keeper) act(a Actor, id graft.CaseID, what string, do func(*turn) error) (Live, error) {
	var after Live
	err := k.acted(a, id, what, func(w Writing) error {
		before, err := k.live(w, id, a.On)
		if err != nil {
			return err
		}
		if a.Seen != 0 && a.Seen != before.Kept.Head {
			return k.changedMeanwhile(w, id, a.Seen)
		}
		if err := do(&turn{k, w, a, before}); err != nil {
			return err
		}
		after, err = k.live(w, id, a.On)
		return err
	})
	return after, err
}

// changedMeanwhile refuses an act decided on what is no longer so, and says what
// happened.
func (k *Keeper) changedMeanwhile(l Ledger, id graft.CaseID, seen int64) error {
	entries, err := l.History(id)
	if err != nil {
		return err
	}
	var since []string
	for _, e := range entries {
		if e.Seq > seen && e.Changes() {
			since = append(since, e.By.Name+": "+e.What+" "+e.Milestone.Title())
		}
	}
	return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("case %s was changed meanwhile (%s)", id, joined(since)), Hint: "look at it again and decide anew"}
}

// entry starts an entry of the history about the turn's case.
func (t *turn) entry(what string, id graft.MilestoneID, was, now, why string) ledger.Entry {
	return ledger.Entry{At: t.a.At, By: t.a.Person, Case: t.live.Kept.Case, Milestone: id, What: what, Was: was, Now: now, Why: why}
}

// taken lists what rooms and people of the clinic have on, from a day on: the
// slots of all cases and the busy times of the clinic file.
func (d *Desk) taken(l Ledger, from day.Day) (*diary.Book, error) {
	slots, err := d.slotsTaken(l, from)
	if err != nil {
		return nil, err
	}
	return d.bookOf(slots, from)
}

// takenSlot is what a visit takes of the clinic, with the case whose visit it is, also
// where that is no matter to the book.
type takenSlot struct {
	of    graft.CaseID
	visit int64
	diary.Taken
}

// inOrder compares what two visits take as the ledger lists it: by day, time and number.
func (s takenSlot) inOrder(other takenSlot) int {
	return cmp.Or(s.Day.Sub(other.Day), cmp.Compare(s.Start, other.Start), cmp.Compare(s.visit, other.visit))
}

func takenBy(v ledger.Visit) takenSlot {
	t := takenSlot{v.Case, v.ID, diary.Taken{Slot: v.Slot, Case: v.Case, Says: fmt.Sprintf("%s %s, %s", v.Case, v.Patient, v.Milestone.Title())}}
	if v.State == ledger.Attended {
		t.Case = "" // what has been is in the way of the same case too
	}
	return t
}

// slotsTaken reads what visits take of the clinic, from a day on.
func (d *Desk) slotsTaken(l Ledger, from day.Day) ([]takenSlot, error) {
	calendar, faults := d.Calendar(from.Year())
	if len(faults) > 0 {
		return nil, faults
	}
	booked, err := l.TakenOn(day.Span{From: from, To: calendar.Horizon().To})
	if err != nil {
		return nil, err
	}
	slots := make([]takenSlot, len(booked))
	for n, v := range booked {
		slots[n] = takenBy(v)
	}
	return slots, nil
}

// bookOf is the book of what visits take and of the busy times around a day.
func (d *Desk) bookOf(slots []takenSlot, on day.Day) (*diary.Book, error) {
	calendar, faults := d.Calendar(on.Year())
	if len(faults) > 0 {
		return nil, faults
	}
	taken := make([]diary.Taken, 0, len(slots)+len(calendar.Busy()))
	for _, s := range slots {
		taken = append(taken, s.Taken)
	}
	for _, b := range calendar.Busy() {
		taken = append(taken, diary.Taken{Slot: b.Slot, Says: b.Name})
	}
	return diary.NewBook(taken), nil
}
