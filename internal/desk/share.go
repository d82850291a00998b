package desk

import (
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// share is what one case adds to the lists of the desk. It never changes once made.
type share struct {
	whose *Whose
	rows  []*Row // of visits all that is booked from the day of planning on
	draft *Draft // nil: the plan is approved
	hits  []Hit
}

// has reports whether there is a row on one of the lists.
func (s *share) has(lists ...List) bool {
	return slices.ContainsFunc(s.rows, func(r *Row) bool { return slices.Contains(lists, r.List) })
}

// shareOf makes the rows of a case; of what is to be booked, those that are due until
// a day.
func (d *Desk) shareOf(l Live, until day.Day) share {
	whose := l.whose()
	s := share{whose: whose, rows: d.visitsOf(whose, l), draft: l.draft(whose), hits: l.hitRows(whose)}
	for _, m := range l.Timeline.Milestones {
		if !m.Attended.IsZero() {
			continue
		}
		for _, r := range []*Row{d.afterSurgery(whose, l, m), d.late(whose, l, m), d.unconfirmed(whose, l, m), d.due(whose, l, m, until)} {
			if r != nil {
				s.rows = append(s.rows, r)
			}
		}
	}
	s.rows = slices.Clip(s.rows)
	return s
}

// visitsOf are the visits of a case for which the patient may come: those that fit the
// plan, and those that do not, for nobody has told the patient yet.
func (d *Desk) visitsOf(whose *Whose, l Live) []*Row {
	var rows []*Row
	for _, v := range l.Visits {
		latest, _ := l.Latest(v.Milestone)
		if v.State != ledger.Booked || latest.ID != v.ID || v.Day.Before(l.Timeline.On) {
			continue
		}
		m, planned := l.Timeline.Find(v.Milestone)
		if !planned {
			m = milestoneOf(v.Milestone)
		}
		if !m.Attended.IsZero() {
			continue
		}
		r := d.row(Visits, whose, l, m)
		r.Do, r.Unfit = "receive", l.unfit(v, planned)
		rows = append(rows, r)
	}
	return rows
}

// unfit says why a booked visit cannot stay; empty if it can.
func (l Live) unfit(v ledger.Visit, planned bool) string {
	if !planned {
		return noLongerPlanned
	}
	for _, misfit := range l.Misfits {
		if misfit.ID == v.Milestone {
			return misfit.Says
		}
	}
	return ""
}

// afterSurgery is the row of the call that is due on the day of planning; nil for any
// other step.
func (d *Desk) afterSurgery(whose *Whose, l Live, m graft.Milestone) *Row {
	if m.Step != graft.PhoneCall || m.Overdue || m.Placed != l.Timeline.On {
		return nil
	}
	r := d.row(AfterSurgery, whose, l, m)
	r.Do, r.Why = "call", "the call after surgery"
	return r
}

// late is the row of what is overdue: its window has passed, its visit was missed, or
// nobody has recorded what came of it; nil for any other step.
func (d *Desk) late(whose *Whose, l Live, m graft.Milestone) *Row {
	missed := l.State(m.ID) == ledger.Missed
	was := m.Booked && m.Placed.Before(l.Timeline.On)
	if !was && (m.Booked || !m.Overdue && !missed) {
		return nil
	}
	r := d.row(Overdue, whose, l, m)
	r.Rank, r.Why = harmOf(m.Step, missed)
	r.Do = "call and book"
	switch {
	case was:
		r.Do, r.Why = "record attended or missed", r.Why+", if nobody came"
	case m.Overdue:
		r.Since = m.Window.Latest
	}
	if none := d.noDay(m); none != "" {
		r.Do, r.Why = "make room or offer a later day", r.Why+", "+none
	}
	if m.Visit == "" {
		r.Do = "do"
	}
	return r
}

// noDay says of a step that has a window, but no day, for how long there is none; empty
// of any other.
func (d *Desk) noDay(m graft.Milestone) string {
	switch {
	case !m.Placed.IsZero() || m.Window.Latest.IsZero():
		return ""
	case m.Overdue:
		return "no free day left in the next " + d.Rules.Period("overdue-window").Words()
	}
	return "no free day left in its window"
}

// unconfirmed is the row of a visit of the coming days that the patient has not
// confirmed; nil for any other step.
func (d *Desk) unconfirmed(whose *Whose, l Live, m graft.Milestone) *Row {
	on := l.Timeline.On
	v, ok := l.Latest(m.ID)
	if !ok || v.State != ledger.Booked || v.Day.Before(on) || v.Day.After(on.Add(d.Rules.Period("unconfirmed-within"))) || l.ConfirmedVisit(v) {
		return nil
	}
	r := d.row(Unconfirmed, whose, l, m)
	r.Do, r.Rank, r.Unfit = "confirm", len(harm)+1, l.unfit(v, true)
	if r.Unfit != "" {
		r.Do = "call"
	}
	return r
}

// due is the row of what has no slot and is proposed for a day until the given one; nil
// for any other step.
func (d *Desk) due(whose *Whose, l Live, m graft.Milestone, until day.Day) *Row {
	if m.Booked || m.Overdue || m.Placed.IsZero() || m.Placed.After(until) {
		return nil
	}
	r := d.row(Due, whose, l, m)
	if r.Do = "book"; m.Visit == "" {
		r.Do = "do"
	}
	return r
}

// draft is the plan of a case while no surgeon has approved it.
func (l Live) draft(whose *Whose) *Draft {
	if l.Approval != nil {
		return nil
	}
	return &Draft{Whose: whose, Revision: l.Kept.Revision, Stop: firstStop(l.Timeline.Findings), Unfit: !l.Settled()}
}

// hitRows are the booked visits of a case that the clinic cannot hold.
func (l Live) hitRows(whose *Whose) []Hit {
	var hits []Hit
	for _, s := range l.notHeld(l.unsettled()) {
		hits = append(hits, Hit{Whose: whose, ID: s.ID, Was: s.Was, Why: s.Why, Proposal: s.Proposal, Hold: s.Hold})
	}
	return hits
}

// harm ranks what is overdue, the gravest first: what goes unseen in the first
// weeks, stitches left in, a loading that waits, a recall.
var harm = []struct {
	says  string
	steps []graft.Step
}{
	{"early check missed", []graft.Step{graft.PhoneCall, graft.LateCheck}},
	{"stitches past their time", []graft.Step{graft.WoundCheck}},
	{"loading waits", []graft.Step{graft.Placement, graft.Uncovering, graft.Impression, graft.FirstLoading, graft.DefinitiveRestoration, graft.ReEntry, graft.ImagingDecision}},
	{"review overdue", []graft.Step{graft.HealingReview}},
	{"recall overdue", []graft.Step{graft.Recall}},
}

// harmOf ranks a step; a wound check that the patient missed is an early check.
func harmOf(step graft.Step, missed bool) (rank int, says string) {
	if missed && step == graft.WoundCheck {
		return 0, harm[0].says
	}
	for rank, h := range harm {
		if slices.Contains(h.steps, step) {
			return rank, h.says
		}
	}
	return len(harm), "overdue"
}
