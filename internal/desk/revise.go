package desk

import (
	"bytes"
	"fmt"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// revise writes the next revision of the turn's case with a changed record, and
// the timeline that follows from it.
func (t *turn) revise(source string, record []byte, c casefile.Case, overrides []ledger.Override, e ledger.Entry) error {
	next := ledger.Revision{
		Case: t.live.Kept.Case, Number: t.live.Kept.Revision + 1, Patient: c.Patient.Name, Record: record, RulesVersion: t.keeper.Rules.Version(),
		Source: source, On: t.a.On, At: t.a.At, By: t.a.Name, Why: e.Why,
	}
	known := knownOf(t.live.Visits, overrides, t.live.request.Book)
	plan, err := t.keeper.plan(c, t.a.On, &known)
	if err != nil {
		return err
	}
	if next.Timeline, err = JSON(plan); err != nil {
		return err
	}
	return t.w.AddRevision(next, e)
}

// Set changes values of a case's record, each given as KEY=VALUE, and makes a new
// revision, by the rule of mayRevise. Faults of the changed record are of type
// table.Faults.
func (k *Keeper) Set(a Actor, id graft.CaseID, changes []string, why string) (Live, error) {
	if err := a.mayRevise(changes); err != nil {
		return Live{}, k.refused(a, id, "set", err)
	}
	return k.act(a, id, "set", func(t *turn) error {
		name := recordName(t.live.Revision)
		record, c, faults, err := casefile.Change(name, t.live.Revision.Record, changes)
		if err != nil {
			return &graft.Refusal{Kind: graft.Invalid, Message: err.Error()}
		}
		if len(faults) > 0 {
			return faults
		}
		if c.ID != id {
			return &graft.Refusal{Kind: graft.Invalid, Message: "the number of a case stays what it is", Hint: "admit the record under its other number"}
		}
		return t.reviseTo("set", record, c, why)
	})
}

// reviseTo makes a revision of a changed record; one that changes nothing is a
// refusal, and so is one by a person who may not change what it changes.
func (t *turn) reviseTo(source string, record []byte, c casefile.Case, why string) error {
	changed := casefile.Differences(t.live.Revision.Record, record)
	if len(changed) == 0 {
		return &graft.Refusal{Kind: graft.Conflict, Message: "the record says that already", Hint: "graftclock record show " + string(t.live.Kept.Case) + " prints it"}
	}
	if err := t.a.mayRevise(changed); err != nil {
		return err
	}
	overrides, err := t.w.Overrides(t.live.Kept.Case)
	if err != nil {
		return err
	}
	e := t.entry(source, "", fmt.Sprintf("revision %d", t.live.Kept.Revision), joined(changed), why)
	return t.revise(source, record, c, overrides, e)
}

// Override sets a surgeon's own day for a milestone in place of the computed one,
// or takes it back where the day is none; either makes a new revision. A day below
// a hard floor is refused. It needs a surgeon and a reason.
func (k *Keeper) Override(a Actor, id graft.CaseID, c Choice, to day.Day, why string) (Live, error) {
	if err := a.needSurgeon("an override"); err != nil {
		return Live{}, k.refused(a, id, "override", err)
	}
	if why == "" {
		return Live{}, k.refused(a, id, "override", &graft.Refusal{Kind: graft.Invalid, Message: "an override needs its reason", Hint: "give it with --why"})
	}
	return k.act(a, id, "override", func(t *turn) error {
		m, err := t.live.Pick(c)
		if err != nil {
			return err
		}
		if err := t.mayOverride(m, to); err != nil {
			return err
		}
		return t.override(m, to, why)
	})
}

// override writes an override, or takes one back, and the revision it makes.
func (t *turn) override(m graft.Milestone, to day.Day, why string) error {
	id := t.live.Kept.Case
	earlier, err := t.w.Overrides(id)
	if err != nil {
		return err
	}
	o := ledger.Override{Case: id, Milestone: m.ID, Revision: t.live.Kept.Revision + 1, Day: to, On: t.a.On, At: t.a.At, By: t.a.Name, Why: why}
	was := "computed " + m.Window.NotBefore.String()
	if m.Override != nil {
		was = "set to " + m.Override.Day.String() + ", computed " + m.Override.Computed.NotBefore.String()
	}
	now := "set to " + to.String()
	if to.IsZero() {
		now = "as computed"
	}
	if err := t.w.AddOverride(o, t.entry("override", m.ID, was, now, why)); err != nil {
		return err
	}
	e := t.entry("revision", m.ID, fmt.Sprintf("revision %d", t.live.Kept.Revision), fmt.Sprintf("revision %d", o.Revision), why)
	return t.revise("override", t.live.Revision.Record, t.live.Case, append(earlier, o), e)
}

// overrideTo overrides a milestone in the middle of another act, and returns it as
// the case then has it.
func (t *turn) overrideTo(m graft.Milestone, to day.Day, why string) (graft.Milestone, error) {
	if err := t.override(m, to, why); err != nil {
		return m, err
	}
	var err error
	if t.live, err = t.keeper.live(t.w, t.live.Kept.Case, t.a.On); err != nil {
		return m, err
	}
	return t.live.free(m.ID)
}

func (t *turn) mayOverride(m graft.Milestone, to day.Day) error {
	refuse := refusing(m)
	switch {
	case to.IsZero() && m.Override == nil:
		return refuse(graft.Conflict, "", "it has no override to take back")
	case to.IsZero():
		return nil
	case !m.Attended.IsZero():
		return refuse(graft.Conflict, "", "it was attended on %s", diary.Long(m.Attended))
	case m.Window.Latest.IsZero():
		return refuse(graft.Conflict, "graftclock plan tells what it waits for", "it waits for a step without a date")
	case to.Before(t.a.On):
		return refuse(graft.Invalid, "", "%s is past", diary.Long(to))
	case to.Before(m.Floor):
		return refuse(graft.Invalid, "nobody may go below this floor", "%s lies below the hard floor, %s", diary.Long(to), diary.Long(m.Floor))
	case m.Override != nil && m.Override.Day == to:
		return refuse(graft.Conflict, "", "it is set to %s already", to)
	}
	return nil
}

// Approve gives a surgeon's word that the current revision may reach the patient.
// It is refused while a stop finding stands, while something that is booked does
// not fit, and where the rules have changed since.
func (k *Keeper) Approve(a Actor, id graft.CaseID) (Live, error) {
	if err := a.needSurgeon("approving"); err != nil {
		return Live{}, k.refused(a, id, "approve", err)
	}
	return k.act(a, id, "approve", func(t *turn) error {
		live := t.live
		switch {
		case live.Approval != nil:
			return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("revision %d was approved by %s", live.Kept.Revision, live.Approval.By)}
		case live.Stopped():
			return &graft.Refusal{Kind: graft.Conflict, Message: "a stop finding stands: " + firstStop(live.Timeline.Findings), Hint: "graftclock plan prints all findings"}
		case !live.Settled():
			return &graft.Refusal{Kind: graft.Conflict, Message: "something that is booked does not fit this plan, or the rules have changed", Hint: "graftclock settle " + string(id) + " first"}
		}
		approval := ledger.Approval{Case: id, Revision: live.Kept.Revision, At: a.At, By: a.Name}
		return t.w.AddApproval(approval, t.entry("approve", "", "draft", fmt.Sprintf("revision %d approved", live.Kept.Revision), ""))
	})
}

func firstStop(findings []graft.Finding) string {
	for _, f := range findings {
		if f.Severity == graft.Stop {
			return f.Says
		}
	}
	return ""
}

// Admitted is what became of one record that was to be taken in.
type Admitted struct {
	Case     graft.CaseID
	Revision int    // the case's current one, 0 when nothing is kept
	Did      string // admitted, revised, unchanged
	Err      error  // a refusal, or table.Faults of the record; nil when it is kept
}

// Admit takes a record in: a new case, by anybody of the clinic, or a new revision of
// one that is kept, by the rule of mayRevise. The same record changes nothing. A record
// that would undo what the ledger has recorded since the last one is refused, unless a
// reason is given.
func (k *Keeper) Admit(a Actor, record []byte, c casefile.Case, why string) Admitted {
	out := Admitted{Case: c.ID}
	out.Err = k.acted(a, c.ID, "admit", func(w Writing) error {
		kept, err := k.keptOf(w, c.ID)
		if err != nil {
			return err
		}
		if kept.Revision == 0 {
			out.Did, out.Revision = "admitted", 1
			return k.firstRevision(w, a, record, c, why)
		}
		live, err := k.live(w, c.ID, a.On)
		if err != nil {
			return err
		}
		t := &turn{k, w, a, live}
		out.Did, out.Revision, err = t.readmit(record, c, why)
		return err
	})
	return out
}

// keptOf returns the case, or the zero Kept where the ledger has none.
func (k *Keeper) keptOf(l Ledger, id graft.CaseID) (ledger.Kept, error) {
	kept, err := l.Case(id)
	if isNotFound(err) {
		return ledger.Kept{}, nil
	}
	return kept, err
}

// readmit compares a record with what the ledger has of its case.
func (t *turn) readmit(record []byte, c casefile.Case, why string) (did string, revision int, err error) {
	now := t.live.Kept.Revision
	if bytes.Equal(record, t.live.Revision.Record) {
		return "unchanged", now, nil
	}
	last, err := t.lastAdmitted()
	if err != nil {
		return "", 0, err
	}
	if bytes.Equal(record, last.Record) {
		return "unchanged", now, nil
	}
	changed := casefile.Differences(t.live.Revision.Record, record)
	if err := t.a.mayRevise(changed); err != nil { // no reason would help
		return "", 0, err
	}
	if !bytes.Equal(last.Record, t.live.Revision.Record) && why == "" {
		return "", 0, &graft.Refusal{
			Kind:    graft.Conflict,
			Message: fmt.Sprintf("case %s was changed in the ledger since its record was taken in, and this record would undo that: %s", c.ID, joined(changed)),
			Hint:    "change the case with graftclock set or note, or give a reason with --why",
		}
	}
	return "revised", now + 1, t.reviseTo("admit", record, c, why)
}

// lastAdmitted returns the latest revision that was made by taking a record in.
func (t *turn) lastAdmitted() (ledger.Revision, error) {
	for n := t.live.Kept.Revision; ; n-- {
		r, err := t.w.Revision(t.live.Kept.Case, n)
		if err != nil || r.Source == "admit" {
			return r, err
		}
	}
}
