package demo

import (
	"fmt"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// atDesk is who writes at the front desk.
var atDesk = ledger.Person{Name: front, Role: "desk"}

// writeCase writes a case: its record, its approval, what was attended and the next
// visit.
func (m *many) writeCase(w desk.Writing, p *planned) error {
	if p.err != nil {
		return p.err
	}
	e := p.entry(p.surgery, atDesk, "admit")
	e.Now = "revision 1"
	revision := ledger.Revision{
		Case: p.id, Number: 1, Patient: p.read.Patient.Name, Record: p.record, Timeline: p.timeline, RulesVersion: m.desk.Rules.Version(),
		Source: "admit", On: p.surgery, At: e.At, By: front,
	}
	if err := w.AddRevision(revision, e); err != nil {
		return err
	}
	if err := m.approve(w, p); err != nil {
		return err
	}
	for _, step := range p.plan.Timeline.Milestones {
		if step.Placed.IsZero() {
			continue
		}
		if !step.Placed.Before(m.today) && step.Visit != "" {
			return m.bookNext(w, p, step)
		}
		if err := m.attend(w, p, step); err != nil {
			return err
		}
	}
	return nil
}

// approve approves a plan. Of those of last week every third is still a draft, and so
// is what a stop holds back.
func (m *many) approve(w desk.Writing, p *planned) error {
	const week, third = 7, 3
	if p.plan.Stopped() || m.today.Sub(p.surgery) < week && p.number%third == 0 {
		return nil
	}
	e := p.entry(p.surgery, ledger.Person{Name: p.surgeon, Role: "surgeon"}, "approve")
	e.Was, e.Now = "draft", "revision 1 approved"
	return w.AddApproval(ledger.Approval{Case: p.id, Revision: 1, At: e.At, By: p.surgeon}, e)
}

// attend writes that a step took place on the day it was placed on: a visit at the
// time it was booked for, anything else, or a visit for which no time was free, with its
// day alone.
func (m *many) attend(w desk.Writing, p *planned, step graft.Milestone) error {
	if !step.Placed.Before(m.today) {
		return nil // a call or a decision that lies ahead
	}
	slot, ok := graft.Slot{Day: step.Placed}, false
	if step.Visit != "" {
		if slot, ok = m.rota.take(step.Visit, step.Placed, step.Placed); !ok {
			slot = graft.Slot{Day: step.Placed}
		}
	}
	v := p.visit(step, slot)
	if !ok {
		v.Booked = at(v.Day)
		return p.attended(w, v, string(ledger.Planned))
	}
	if err := w.AddEntry(p.booking(v)); err != nil {
		return err
	}
	return p.attended(w, v, fmt.Sprintf("%s %s", ledger.Booked, v.Slot))
}

// bookNext books the next visit of a case and has most of those of the coming days
// confirmed.
func (m *many) bookNext(w desk.Writing, p *planned, step graft.Milestone) error {
	const days, fifth = 7, 5
	slot, ok := m.rota.take(step.Visit, step.Placed, step.Window.Latest)
	if !ok {
		return nil
	}
	v := p.visit(step, slot)
	var err error
	if v.ID, err = w.AddVisit(v, p.booking(v)); err != nil {
		return err
	}
	if slot.Day.Sub(m.today) > days || p.number%fifth == 0 {
		return nil
	}
	e := p.entry(m.today.AddDays(-1), atDesk, "contact")
	e.Milestone, e.Now = v.Milestone, string(ledger.Confirmed)
	return w.AddContact(ledger.Contact{Case: p.id, Milestone: v.Milestone, Visit: v.ID, Outcome: ledger.Confirmed, At: e.At, By: front}, e)
}

// visit is a visit of the case as it is booked, some weeks ahead and no sooner than on
// the day of surgery.
func (p *planned) visit(step graft.Milestone, slot graft.Slot) ledger.Visit {
	const ahead = 30
	booked := at(day.Max(p.surgery, slot.Day.AddDays(-ahead)))
	return ledger.Visit{
		Case: p.id, Patient: p.read.Patient.Name, Milestone: step.ID, State: ledger.Booked, Slot: slot, Window: step.Window,
		Revision: 1, Booked: booked, At: booked, By: front,
	}
}

// booking is the entry of a visit's booking.
func (p *planned) booking(v ledger.Visit) ledger.Entry {
	e := p.entry(day.Of(v.Booked), atDesk, string(ledger.Book))
	e.Milestone, e.Was, e.Now = v.Milestone, string(ledger.Planned), fmt.Sprintf("%s %s", ledger.Booked, v.Slot)
	return e
}

// attended writes a visit that was attended as the ledger has it in the end: what a
// booking and its end would leave behind.
func (p *planned) attended(w desk.Writing, v ledger.Visit, was string) error {
	v.State, v.At = ledger.Attended, at(v.Day)
	e := p.entry(v.Day, atDesk, string(ledger.Attend))
	e.Milestone, e.Was, e.Now = v.Milestone, was, fmt.Sprintf("%s %s", v.State, v.Slot)
	_, err := w.AddVisit(v, e)
	return err
}
