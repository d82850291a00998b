package desk

import (
	"errors"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

func isNotFound(err error) bool {
	var refusal *graft.Refusal
	return errors.As(err, &refusal) && refusal.Kind == graft.NotFound
}

// Settlement is one visit that does not fit the plan, and what would settle it.
type Settlement struct {
	Case     graft.CaseID
	Patient  string
	ID       graft.MilestoneID
	Was      graft.Slot    // the booked slot; a held window has none
	Why      string        // why it cannot stay
	Proposal graft.Slot    // the slot that fits best; zero: the milestone is gone or has no day
	Hold     bool          // so far ahead that the window is held and no slot booked
	Others   []diary.Offer // further slots that would do, best first
}

// Does says what settling does with the visit.
func (s Settlement) Does() string {
	switch {
	case s.Proposal.Day.IsZero():
		return "give back"
	case s.Hold:
		return "hold the window round " + s.Proposal.Day.Weekday().String()[:3] + " " + s.Proposal.Day.String()
	}
	return s.Proposal.String()
}

// Unsettled lists what does not fit the plan, in the order of the plan, with the
// best that the diary found for all of it together.
func (l Live) Unsettled() []Settlement {
	list := l.unsettled()
	for n, s := range list {
		if !s.Proposal.Day.IsZero() {
			m, _ := l.Timeline.Find(s.ID)
			list[n].Others = l.alternatives(m)
		}
	}
	return list
}

// unsettled is Unsettled without further slots that would do, which take long to find.
func (l Live) unsettled() []Settlement {
	var list []Settlement
	for _, misfit := range l.Misfits {
		m, _ := l.Timeline.Find(misfit.ID)
		s := Settlement{Case: l.Kept.Case, Patient: l.Kept.Patient, ID: misfit.ID, Was: misfit.Booked, Why: misfit.Says, Hold: !m.Firm}
		if !m.Placed.IsZero() {
			s.Proposal = m.Slot
		}
		list = append(list, s)
	}
	for _, v := range l.Gone {
		list = append(list, Settlement{Case: l.Kept.Case, Patient: l.Kept.Patient, ID: v.Milestone, Was: v.Slot, Why: noLongerPlanned})
	}
	return list
}

// noLongerPlanned is why the visit of a step cannot stay that the plan has not any more.
const noLongerPlanned = "the plan no longer has this step"

// alternatives returns the next best slots after the proposed one.
func (l Live) alternatives(m graft.Milestone) []diary.Offer {
	const most = 3
	offers, err := l.Offers(m, day.Span{}, most)
	if err != nil {
		return nil
	}
	var others []diary.Offer
	for _, o := range offers {
		if o.Slot != m.Slot {
			others = append(others, o)
		}
	}
	return others
}

// Settle does what Unsettled proposes: it moves what can be moved, gives back what
// the plan no longer has a place for, and makes a new revision where the rules
// have changed. It returns what it did.
func (k *Keeper) Settle(a Actor, id graft.CaseID, why string) (Live, []Settlement, error) {
	var did []Settlement
	live, err := k.act(a, id, "settle", func(t *turn) error {
		if t.live.Settled() {
			return &graft.Refusal{Kind: graft.Conflict, Message: "everything booked fits the plan; there is nothing to settle"}
		}
		did = t.live.Unsettled()
		if err := t.underNewRules(why); err != nil {
			return err
		}
		return t.settle(did, why)
	})
	return live, did, err
}

// underNewRules makes a revision of the same record by the rules now in force.
func (t *turn) underNewRules(why string) error {
	if !t.live.OtherRules {
		return nil
	}
	overrides, err := t.w.Overrides(t.live.Kept.Case)
	if err != nil {
		return err
	}
	e := t.entry("rules", "", "rules "+t.live.Revision.RulesVersion, "rules "+t.keeper.Rules.Version(), why)
	if err := t.revise("rules", t.live.Revision.Record, t.live.Case, overrides, e); err != nil {
		return err
	}
	t.live.Kept.Revision++
	return nil
}

// settle ends every visit that does not fit before it books anew, for one may
// take the slot that another leaves.
func (t *turn) settle(list []Settlement, why string) error {
	was := make([]string, len(list))
	for n, s := range list {
		state := ledger.Moved
		if s.Proposal.Day.IsZero() {
			state = ledger.Superseded
		}
		var err error
		if was[n], err = t.end(s.ID, state, orElse(why, s.Why)); err != nil {
			return err
		}
	}
	for _, s := range list {
		if s.Proposal.Day.IsZero() {
			continue
		}
		m, _ := t.live.Timeline.Find(s.ID)
		if err := t.rebook(m, s, orElse(why, s.Why)); err != nil {
			return err
		}
	}
	return nil
}

func (t *turn) rebook(m graft.Milestone, s Settlement, why string) error {
	v := ledger.Visit{Case: s.Case, Milestone: s.ID, State: ledger.WindowHeld, Window: m.Window, Revision: t.live.Kept.Revision, Booked: t.a.moment(), At: t.a.At, By: t.a.Name, Why: why}
	if !s.Hold {
		v.State, v.Slot = ledger.Booked, s.Proposal
	}
	_, err := t.w.AddVisit(v, t.entry("settle", s.ID, "booked "+s.Was.String(), said(v), why))
	return err
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// notHeld picks from what does not fit the booked visits that the clinic cannot hold.
func (l Live) notHeld(unsettled []Settlement) []Settlement {
	var hits []Settlement
	for _, s := range unsettled {
		if _, known := l.Timeline.Find(s.ID); known && s.Was.Minutes > 0 {
			if why := l.clinicSays(s); why != "" {
				s.Why = why
				hits = append(hits, s)
			}
		}
	}
	return hits
}

// clinicSays returns why the clinic cannot hold a booked slot; empty if it can and
// the plan, or the patient, is in the way.
func (l Live) clinicSays(s Settlement) string {
	r := l.open(s.ID)
	r.Unavailable = nil
	_, obstacles := diary.At(r, l.calendar, s.ID, s.Was)
	return joined(obstacles)
}

// Record returns a revision of a case's record; number 0 is the current one.
func (k *Keeper) Record(id graft.CaseID, number int) (ledger.Revision, error) {
	var r ledger.Revision
	err := k.store.View(func(l Ledger) error {
		kept, err := l.Case(id)
		if err != nil {
			return err
		}
		if number == 0 {
			number = kept.Revision
		}
		r, err = l.Revision(id, number)
		return err
	})
	return r, err
}
