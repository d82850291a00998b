package demo

import (
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// change moves or cancels a visit, or notes that the patient is away on its day, where
// the patient asks for it.
func (y *year) change(p *patient) (bool, error) {
	const nearest, farthest = 2, 16
	for _, m := range p.live.Timeline.Milestones {
		ahead := m.Placed.Sub(y.on)
		if !m.Booked || !m.Attended.IsZero() || ahead < nearest || ahead > farthest {
			continue
		}
		switch {
		case m.Step == p.moves && p.once("moved"):
			return y.move(p, m)
		case m.Step == p.away && p.once("away"):
			return true, y.unavailable(p, day.Span{From: m.Placed, To: m.Placed})
		case m.Step == p.cancels && p.once("cancelled"):
			var err error
			p.live, _, err = y.keeper.Cancel(y.as(front), p.id, choice(m), "the patient is ill")
			p.rests = y.on.AddDays(nearest)
			return true, err
		}
	}
	return false, nil
}

// move gives a visit the last day that is offered.
func (y *year) move(p *patient, m graft.Milestone) (bool, error) {
	if err := y.fresh(p); err != nil {
		return false, err
	}
	offers, err := y.offers(p, m, day.Span{})
	if err != nil || len(offers) < 2 {
		return false, err
	}
	p.live, _, err = y.keeper.Move(y.as(front), p.id, choice(m), y.timeOn(offers[len(offers)-1]), "the patient asked")
	return true, err
}

// book books the next visit that has come near, and holds the window of an
// operation that has not. Before a surgery nothing is booked on a draft.
func (y *year) book(p *patient) (bool, error) {
	if p.live.Stopped() || y.on.Before(p.rests) || p.live.Approval == nil && p.live.Case.Ahead(y.on) {
		return false, nil
	}
	m, ok := y.next(p)
	if !ok || !y.near(p, m) && !y.holds(p, m) {
		return false, nil
	}
	if err := y.fresh(p); err != nil {
		return false, err
	}
	if m, ok = y.next(p); !ok {
		return false, nil
	}
	if y.near(p, m) {
		return y.take(p, m)
	}
	if !y.holds(p, m) || !p.once("hold "+string(m.ID)) {
		return false, nil
	}
	var err error
	p.live, _, err = y.keeper.Hold(y.as(front), p.id, choice(m), "")
	return true, err
}

// next returns the next visit of a patient that is not booked.
func (y *year) next(p *patient) (graft.Milestone, bool) {
	for _, m := range p.live.Timeline.Milestones {
		if m.Surgical && m.Step == p.forgets && m.Attended.IsZero() {
			break // nor does the desk think of what follows
		}
		state := p.live.State(m.ID)
		open := m.Visit != "" && m.Attended.IsZero() && !m.Placed.IsZero() && state != ledger.Booked
		if open && m.Step != p.forgets && (!p.lost || state != ledger.Missed) {
			return m, true
		}
	}
	return graft.Milestone{}, false
}

// near reports whether the desk books a visit by now. For a crowded day it books
// ahead.
func (y *year) near(p *patient, m graft.Milestone) bool {
	again := p.live.State(m.ID) == ledger.Missed || p.live.State(m.ID) == ledger.Cancelled
	return again || m.Placed.Sub(y.on) <= p.lead
}

// holds reports whether the desk holds the window of a visit that is far ahead.
func (y *year) holds(p *patient, m graft.Milestone) bool {
	return m.Surgical && p.live.State(m.ID) == ledger.Planned && !p.live.Case.Ahead(y.on) && !p.done["hold "+string(m.ID)]
}

// take books a slot for a visit: on a day that is to be crowded, or the best.
func (y *year) take(p *patient, m graft.Milestone) (bool, error) {
	const soon = 28
	slot, ok, err := y.crowded(p, m)
	if err != nil {
		return false, err
	}
	if !ok {
		span := day.Span{}
		if m.Overdue {
			span = day.Span{From: y.on.AddDays(1), To: y.on.AddDays(soon)}
		}
		offers, err := y.offers(p, m, span)
		if err != nil {
			return false, err
		}
		if len(offers) == 0 {
			p.rests = y.on.AddDays(2)
			return false, nil
		}
		slot = y.timeOn(offers[y.random.IntN(min(2, len(offers)))])
	}
	why := ""
	if slot.Day.After(m.Window.Latest) {
		why = "first day that is free"
	}
	p.live, _, err = y.keeper.Book(y.as(front), p.id, choice(m), slot, why)
	return true, err
}

// crowded returns a slot on a day that is to have more visits, if the visit may be
// there and nothing else is to happen to it before. Far ahead it takes two of one kind,
// which leaves room for visits that are booked later.
func (y *year) crowded(p *patient, m graft.Milestone) (graft.Slot, bool, error) {
	window := day.Span{From: m.Window.Earliest, To: m.Window.Latest}
	for _, c := range y.wanted {
		if p.eventful(m.Step) || !window.Contains(c.day) || !c.day.After(y.on) || y.full(c, m.Step) {
			continue
		}
		offers, err := p.live.Offers(m, day.Span{From: c.day, To: c.day}, 1)
		if err != nil {
			return graft.Slot{}, false, err
		}
		if len(offers) > 0 && offers[0].Inside && len(offers[0].Breaks) == 0 {
			return y.timeOn(offers[0]), true, nil
		}
	}
	return graft.Slot{}, false, nil
}

// full reports whether a crowded day has its visits, or enough of one step.
func (y *year) full(c crowd, step graft.Step) bool {
	const far, alike = 12, 2
	all, same := y.visitsOn(c.day, step)
	return all >= c.visits || same >= alike && c.day.Sub(y.on) > far
}

// visitsOn counts the visits that are booked for a day, and those of one step.
func (y *year) visitsOn(d day.Day, step graft.Step) (all, same int) {
	for _, p := range y.patients {
		for _, m := range p.live.Timeline.Milestones {
			if !m.Booked || !m.Attended.IsZero() || m.Placed != d {
				continue
			}
			if all++; m.Step == step {
				same++
			}
		}
	}
	return all, same
}

// offers returns the best days for a visit, without those that a desk does not give
// and those that are full.
func (y *year) offers(p *patient, m graft.Milestone, span day.Span) ([]diary.Offer, error) {
	const most = 5
	offers, err := p.live.Offers(m, span, most)
	return slices.DeleteFunc(offers, func(o diary.Offer) bool {
		full := func(c crowd) bool {
			all, _ := y.visitsOn(o.Day, m.Step)
			return c.day == o.Day && all >= c.atMost
		}
		return slices.ContainsFunc(y.wanted, full) || o.BeforeGate || o.BelowFloor || !o.Inside && !m.Overdue || !o.Day.After(y.on)
	}), err
}

// timeOn draws a time of a day that is offered, rather an early one.
func (y *year) timeOn(o diary.Offer) graft.Slot {
	early := 1 + y.random.IntN(len(o.Starts))
	return graft.Slot{Day: o.Day, Start: o.Starts[y.random.IntN(early)]}
}
