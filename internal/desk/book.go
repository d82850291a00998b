package desk

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Offers returns the best few slots for a milestone, best first. The span bounds
// the days; the zero span is the milestone's window.
func (l Live) Offers(m graft.Milestone, span day.Span, most int) ([]diary.Offer, error) {
	return diary.Slots(l.open(m.ID), l.calendar, m.ID, span, most)
}

// open is the diary's request with one milestone free to go anywhere.
func (l Live) open(id graft.MilestoneID) diary.Request {
	r := l.request
	r.Booked = map[graft.MilestoneID]diary.Booked{}
	for other, b := range l.request.Booked {
		if other != id {
			r.Booked[other] = b
		}
	}
	return r
}

// Book books a slot for a milestone that has none. Want needs a day and a time;
// room and person, where they are left out, are the first that are free. A day
// outside the window asks for a reason. One before the gate asks for a surgeon too
// and is an override, with a revision of its own; one below a hard floor is
// refused.
func (k *Keeper) Book(a Actor, id graft.CaseID, c Choice, want graft.Slot, why string) (Live, ledger.Visit, error) {
	var made ledger.Visit
	live, err := k.act(a, id, string(ledger.Book), func(t *turn) (err error) {
		m, err := t.live.Pick(c)
		if err != nil {
			return err
		}
		was := t.live.State(m.ID)
		if _, err := was.After(ledger.Book); err != nil {
			return err
		}
		made, err = t.book(m, want, why, string(ledger.Book))
		return err
	})
	return live, made, err
}

// Move gives a booked visit another slot; the old one stays in the ledger as
// moved.
func (k *Keeper) Move(a Actor, id graft.CaseID, c Choice, want graft.Slot, why string) (Live, ledger.Visit, error) {
	var made ledger.Visit
	live, err := k.act(a, id, string(ledger.Move), func(t *turn) (err error) {
		m, err := t.live.Pick(c)
		if err != nil {
			return err
		}
		if _, err := t.live.State(m.ID).After(ledger.Move); err != nil {
			return err
		}
		if m, err = t.live.free(m.ID); err != nil {
			return err
		}
		made, err = t.book(m, want, why, string(ledger.Move))
		return err
	})
	return live, made, err
}

// free returns a milestone with the window it has when it is not booked itself.
func (l Live) free(id graft.MilestoneID) (graft.Milestone, error) {
	placed := diary.PlaceAll(l.open(id), l.calendar)
	for _, m := range placed.Milestones {
		if m.ID == id {
			return m, nil
		}
	}
	return graft.Milestone{}, fmt.Errorf("milestone %s left its plan", id)
}

// book writes a booking, and ends the visit that it takes the place of.
func (t *turn) book(m graft.Milestone, want graft.Slot, why, what string) (ledger.Visit, error) {
	if err := t.mayBook(m, want.Day, why); err != nil {
		return ledger.Visit{}, err
	}
	if want.Day.Before(m.Window.NotBefore) {
		var err error
		if m, err = t.overrideTo(m, want.Day, why); err != nil {
			return ledger.Visit{}, err
		}
	}
	slot, obstacles := diary.At(t.live.open(m.ID), t.live.calendar, m.ID, want)
	if len(obstacles) > 0 {
		return ledger.Visit{}, &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("%s cannot be booked for %s: %s", m.Title(), whenWanted(want), joined(obstacles)), Hint: "graftclock slots offers times that are free"}
	}
	was, err := t.end(m.ID, ledger.Moved, why)
	if err != nil {
		return ledger.Visit{}, err
	}
	v := ledger.Visit{Case: t.live.Kept.Case, Milestone: m.ID, State: ledger.Booked, Slot: slot, Window: m.Window, Revision: t.live.Kept.Revision, Booked: t.a.moment(), At: t.a.At, By: t.a.Name, Why: why}
	v.ID, err = t.w.AddVisit(v, t.entry(what, m.ID, was, said(v), why))
	v.Patient = t.live.Kept.Patient
	return v, err
}

func whenWanted(want graft.Slot) string {
	return diary.Long(want.Day) + ", " + want.Start.String()
}

// refusing returns what refuses something about a milestone, by its name.
func refusing(m graft.Milestone) func(kind graft.RefusalKind, hint, format string, args ...any) error {
	return func(kind graft.RefusalKind, hint, format string, args ...any) error {
		return &graft.Refusal{Kind: kind, Message: m.Title() + ": " + fmt.Sprintf(format, args...), Hint: hint}
	}
}

// mayBook holds a day to the milestone's window.
func (t *turn) mayBook(m graft.Milestone, d day.Day, why string) error {
	refuse, w := refusing(m), m.Window
	switch {
	case m.Visit == "":
		return refuse(graft.Invalid, "graftclock attended records that it was done", "nobody comes in for it, so there is nothing to book")
	case w.Latest.IsZero():
		return refuse(graft.Conflict, "graftclock plan tells what it waits for", "it waits for a step without a date")
	case d.Before(t.a.On):
		return refuse(graft.Invalid, "graftclock attended records what has been", "%s is past", diary.Long(d))
	case d.Before(m.Floor):
		return refuse(graft.Invalid, "nobody may go below this floor", "%s lies below the hard floor, %s", diary.Long(d), diary.Long(m.Floor))
	case d.Before(w.NotBefore) && t.a.Role != surgeonRole:
		return refuse(graft.Invalid, "a surgeon may, with --why", "%s is before its gate, %s", diary.Long(d), diary.Long(w.NotBefore))
	case d.Before(w.NotBefore) && why == "":
		return refuse(graft.Invalid, "give the reason with --why", "%s is before its gate, %s", diary.Long(d), diary.Long(w.NotBefore))
	case (d.Before(w.Earliest) || d.After(w.Latest)) && why == "":
		return refuse(graft.Invalid, "give the reason with --why", "%s is outside its window, %s to %s", diary.Long(d), w.Earliest, w.Latest)
	}
	return nil
}

// end brings the open visit of a milestone, if there is one, into a state that
// ends it; a held window that is booked simply gives way. It returns what the
// history says of before.
func (t *turn) end(id graft.MilestoneID, state ledger.State, why string) (was string, err error) {
	v, ok := t.live.Latest(id)
	if !ok {
		return string(ledger.Planned), nil
	}
	was = said(v)
	if !v.State.Open() {
		return was, nil
	}
	if v.State == ledger.WindowHeld && state == ledger.Moved {
		state = ledger.Superseded
	}
	v.State, v.At, v.By, v.Why = state, t.a.At, t.a.Name, why
	return was, t.w.ChangeVisit(v, t.entry(string(state), id, was, said(v), why))
}

// said writes a visit for the history.
func said(v ledger.Visit) string {
	if v.Day.IsZero() {
		return fmt.Sprintf("%s, %s to %s", v.State, v.Window.Earliest, v.Window.Latest)
	}
	return string(v.State) + " " + v.Slot.String()
}
