package desk

import (
	"fmt"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Hold keeps the window of a milestone for the patient without a slot.
func (k *Keeper) Hold(a Actor, id graft.CaseID, c Choice, why string) (Live, ledger.Visit, error) {
	var made ledger.Visit
	live, err := k.act(a, id, string(ledger.Hold), func(t *turn) error {
		m, err := t.live.Pick(c)
		if err != nil {
			return err
		}
		state, err := t.live.State(m.ID).After(ledger.Hold)
		if err != nil {
			return err
		}
		if m.Window.Latest.IsZero() {
			return &graft.Refusal{Kind: graft.Conflict, Message: m.Title() + ": it waits for a step without a date"}
		}
		made, err = t.hold(m, state, why)
		return err
	})
	return live, made, err
}

func (t *turn) hold(m graft.Milestone, state ledger.State, why string) (ledger.Visit, error) {
	v := ledger.Visit{Case: t.live.Kept.Case, Milestone: m.ID, State: state, Window: m.Window, Revision: t.live.Kept.Revision, Booked: t.a.moment(), At: t.a.At, By: t.a.Name, Why: why}
	was := string(ledger.Planned)
	if old, ok := t.live.Latest(m.ID); ok {
		was = said(old)
	}
	var err error
	v.ID, err = t.w.AddVisit(v, t.entry(string(ledger.Hold), m.ID, was, said(v), why))
	return v, err
}

// Cancel gives a booked slot or a held window back; the milestone still waits to
// be booked.
func (k *Keeper) Cancel(a Actor, id graft.CaseID, c Choice, why string) (Live, ledger.Visit, error) {
	return k.change(a, id, c, ledger.Cancel, why)
}

// Missed records that the patient did not come.
func (k *Keeper) Missed(a Actor, id graft.CaseID, c Choice, why string) (Live, ledger.Visit, error) {
	return k.change(a, id, c, ledger.Miss, why)
}

// change brings the latest visit of a milestone into another state.
func (k *Keeper) change(a Actor, id graft.CaseID, c Choice, act ledger.Act, why string) (Live, ledger.Visit, error) {
	var v ledger.Visit
	live, err := k.act(a, id, string(act), func(t *turn) error {
		m, err := t.live.pickLatest(c, act)
		if err != nil {
			return err
		}
		state, err := t.live.State(m).After(act)
		if err != nil {
			return err
		}
		v, _ = t.live.Latest(m)
		if act == ledger.Miss && v.Day.After(a.On) {
			return &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%s lies ahead: %s", m.Title(), v.Slot), Hint: "graftclock cancel gives the slot back"}
		}
		was := said(v)
		v.State, v.At, v.By, v.Why = state, a.At, a.Name, why
		return t.w.ChangeVisit(v, t.entry(string(act), m, was, said(v), why))
	})
	return live, v, err
}

// Attended records that a step took place on a day: that of its booking, or the
// given one, or the day of the act. A visit booked for another day ends as moved.
func (k *Keeper) Attended(a Actor, id graft.CaseID, c Choice, on day.Day, why string) (Live, ledger.Visit, error) {
	var v ledger.Visit
	live, err := k.act(a, id, string(ledger.Attend), func(t *turn) error {
		m, err := t.live.Pick(c)
		if err != nil {
			return err
		}
		state, err := t.live.State(m.ID).After(ledger.Attend)
		if err != nil {
			return err
		}
		v, err = t.attend(m, state, on, why)
		return err
	})
	return live, v, err
}

func (t *turn) attend(m graft.Milestone, state ledger.State, on day.Day, why string) (ledger.Visit, error) {
	v, ok := t.live.Latest(m.ID)
	kept := ok && (v.State == ledger.Booked || v.State == ledger.Missed)
	switch {
	case on.IsZero() && kept:
		on = v.Day
	case on.IsZero():
		on = t.a.On
	}
	if on.After(t.a.On) {
		return v, &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%s cannot have been attended on %s, which lies ahead", m.Title(), diary.Long(on)), Hint: "give the day it took place"}
	}
	if on.Before(t.live.Case.Surgery.Day) {
		return v, &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%s cannot have been attended on %s, before the surgery", m.Title(), diary.Long(on))}
	}
	free, err := t.stillFree(v)
	if err != nil {
		return v, err
	}
	if kept && on == v.Day && free {
		was := said(v)
		v.State, v.At, v.By, v.Why = state, t.a.At, t.a.Name, why
		return v, t.w.ChangeVisit(v, t.entry(string(ledger.Attend), m.ID, was, said(v), why))
	}
	was, err := t.end(m.ID, ledger.Moved, why)
	if err != nil {
		return v, err
	}
	v = ledger.Visit{Case: t.live.Kept.Case, Milestone: m.ID, State: state, Slot: graft.Slot{Day: on}, Window: m.Window, Revision: t.live.Kept.Revision, Booked: t.a.moment(), At: t.a.At, By: t.a.Name, Why: why}
	v.ID, err = t.w.AddVisit(v, t.entry(string(ledger.Attend), m.ID, was, said(v), why))
	return v, err
}

// stillFree reports whether nobody was given the time of a visit that was missed.
func (t *turn) stillFree(v ledger.Visit) (bool, error) {
	if v.State != ledger.Missed {
		return true, nil
	}
	taken, err := t.w.TakenOn(day.Span{From: v.Day, To: v.Day})
	return !slices.ContainsFunc(taken, func(o ledger.Visit) bool {
		return o.Overlaps(v.Slot) && (o.Room == v.Room || o.Person == v.Person || o.Case == v.Case)
	}), err
}

// Contact records a call or message to the patient about a milestone.
func (k *Keeper) Contact(a Actor, id graft.CaseID, c Choice, outcome ledger.Outcome, says string) (Live, error) {
	return k.act(a, id, "contact", func(t *turn) error {
		m, err := t.live.Pick(c)
		if err != nil {
			return err
		}
		contact := ledger.Contact{Case: id, Milestone: m.ID, Outcome: outcome, At: a.At, By: a.Name, Says: says}
		if v, ok := t.live.Latest(m.ID); ok && v.State == ledger.Booked {
			contact.Visit = v.ID
		} else if outcome == ledger.Confirmed {
			return &graft.Refusal{Kind: graft.Conflict, Message: m.Title() + " is not booked, so there is nothing to confirm", Hint: "graftclock book books it"}
		}
		return t.w.AddContact(contact, t.entry("contact", m.ID, "", string(outcome), says))
	})
}
