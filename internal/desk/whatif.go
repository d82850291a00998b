package desk

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/report"
	"graftclock/internal/table"
)

// WhatIf asks for every implant what other facts would change: additive, window,
// lid, a shorter implant, another axis. Each answer is the plan of the changed
// record, made as compare makes it. Record is the text of the plan's case.
func (d *Desk) WhatIf(p Plan, record []byte) ([]report.WhatIf, error) {
	a := asker{desk: d, plan: p, record: record, known: map[string]answered{}}
	was, err := a.ask(nil)
	if err != nil {
		return nil, err
	}
	var all []report.WhatIf
	for n, s := range p.Case.Sinuses {
		for m, i := range s.Implants {
			if _, clocked := clockOf(was.plan.Timeline, i.Tooth); !clocked {
				continue
			}
			at := fmt.Sprintf("sinuses[%d]", n)
			w, err := a.implant(i, was.plan, slices.Concat(sinusQuestions(s, at), implantQuestions(i, fmt.Sprintf("%s.implants[%d]", at, m))))
			if err != nil {
				return nil, err
			}
			all = append(all, w)
		}
	}
	return all, nil
}

// asker plans each changed record once.
type asker struct {
	desk   *Desk
	plan   Plan
	record []byte
	known  map[string]answered
}

// answered is the plan of a changed record, or why there can be none.
type answered struct {
	plan Plan
	left string
}

// ask plans the record with changes, without what the ledger knows. A change that
// the record's reader refuses is left out for the reader's reason.
func (a *asker) ask(set []string) (answered, error) {
	key := strings.Join(set, "\n")
	if known, ok := a.known[key]; ok {
		return known, nil
	}
	var is answered
	c, faults, err := casefile.With(a.plan.Case.File, a.record, set)
	if err != nil {
		return is, fmt.Errorf("what if: %w", err)
	}
	if len(faults) > 0 {
		if len(set) == 0 {
			return is, fmt.Errorf("what if: %w", faults)
		}
		is.left = whyNot(faults)
	} else if is.plan, err = a.desk.Plan(c, a.plan.Timeline.On); err != nil {
		return is, fmt.Errorf("what if %s: %w", strings.Join(set, ", "), err)
	}
	a.known[key] = is
	return is, nil
}

// whyNot is the first fault of a changed record in half a line.
func whyNot(faults table.Faults) string {
	f := faults[0]
	return strings.TrimSuffix(strings.TrimSuffix(f.Found, ".")+"; allowed: "+f.Allowed, "; allowed: ")
}

// implant asks all questions about one implant.
func (a *asker) implant(i graft.Implant, was Plan, questions []question) (report.WhatIf, error) {
	w := report.WhatIf{Tooth: i.Tooth, Gate: gateOf(was.Timeline, i.Restoration)}
	w.Rows = append(w.Rows, answer("as recorded", nil, i, w.Gate, was, was))
	for _, q := range questions {
		why := q.left
		if why == "" {
			is, err := a.ask(q.set)
			if err != nil {
				return w, err
			}
			if why = is.left; why == "" {
				w.Rows = append(w.Rows, answer(q.says, q.set, i, w.Gate, was, is.plan))
				continue
			}
		}
		w.Left = append(w.Left, report.LeftOut{Change: q.says, Why: why})
	}
	return w, nil
}

// answer reads one row out of a plan.
func answer(says string, set []string, i graft.Implant, gate graft.Step, was, is Plan) report.Answer {
	clock, _ := clockOf(is.Timeline, i.Tooth)
	return report.Answer{
		Change: says, Set: set, ToFull: clock.ToFull,
		Gate:    earliest(is.Timeline, gate, i.Restoration),
		Loading: earliest(is.Timeline, graft.FirstLoading, i.Restoration),
		News:    news(was.Timeline.Findings, is.Timeline.Findings),
	}
}

// news are the stops and warnings of one plan that another does not have.
func news(was, is []graft.Finding) []graft.Finding {
	var fresh []graft.Finding
	for _, f := range is {
		had := slices.ContainsFunc(was, func(w graft.Finding) bool { return w.Rule == f.Rule && w.Path == f.Path })
		told := slices.ContainsFunc(fresh, func(w graft.Finding) bool { return w.Rule == f.Rule })
		if f.Severity != graft.Note && !had && !told {
			fresh = append(fresh, f)
		}
	}
	return fresh
}

func clockOf(t graft.Timeline, tooth int) (graft.ImplantClock, bool) {
	n := slices.IndexFunc(t.Implants, func(c graft.ImplantClock) bool { return c.Tooth == tooth })
	if n < 0 {
		return graft.ImplantClock{}, false
	}
	return t.Implants[n], true
}

// gateOf is the step of a restoration that waits for bone: the first of its steps
// in clinical order.
func gateOf(t graft.Timeline, restoration string) graft.Step {
	for _, step := range []graft.Step{graft.Placement, graft.Uncovering, graft.Impression} {
		if _, there := t.Find(graft.MilestoneIDOf(step, restoration, "")); there {
			return step
		}
	}
	return graft.Uncovering
}

// earliest is the first day of a step's window.
func earliest(t graft.Timeline, step graft.Step, restoration string) day.Day {
	m, _ := t.Find(graft.MilestoneIDOf(step, restoration, ""))
	return day.Max(m.Window.NotBefore, m.Window.Earliest)
}
