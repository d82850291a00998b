package web

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/protocol"
)

// What a preview of a rule's value looks at: so many cases, for so long.
const (
	mostCases = 2000
	lookFor   = 5 * time.Second
)

// rulePreviewPage is what another value of a rule would change.
type rulePreviewPage struct {
	clinicHead
	ruleLine
	Title        string
	To, Back     string
	Will         string
	Preview      desk.RulesPreview
	Moves        movedSteps
	Misfits      []misfitsOf
	Fields       []carriedField
	Seen         string
	Why          string
	Partly, More bool // not all cases were looked at; not all touched are listed
}

// misfitsOf is what is booked in one case and would no longer fit.
type misfitsOf struct {
	Case, Patient, Link string
	Misfits             []misfitLine
}

// ruleAct is a change of a rule's value: in words, with the act itself.
type ruleAct struct {
	form, title string
	value, why  string
	fields      []carriedField
	do          func(f desk.ClinicFiles, seen string) (*desk.Desk, error)
}

// postAdopt gives a rule a value of the clinic's own: the first time it shows what that
// would change, the second time it keeps it.
func (q *request) postAdopt() error {
	return q.postRule("adopt", func(r protocol.Rule) (a ruleAct, err error) {
		a = ruleAct{form: "adopt", title: "Adopt another value: " + string(r.ID)}
		if a.value, err = q.neededLine("value", "a value is needed"); err != nil {
			return a, err
		}
		if a.why, err = q.line("why"); err != nil {
			return a, err
		}
		a.fields = []carriedField{{"value", a.value}, {"why", a.why}}
		a.do = func(f desk.ClinicFiles, seen string) (*desk.Desk, error) {
			return q.keeper.AdoptRule(q.actor(), f, seen, r.ID, a.value, a.why)
		}
		return a, nil
	})
}

// postTakeBack has a rule go by its own value again, in the same two steps.
func (q *request) postTakeBack() error {
	return q.postRule("take-back", func(r protocol.Rule) (a ruleAct, err error) {
		a = ruleAct{form: "take-back", title: "Take the clinic's own value back: " + string(r.ID)}
		if a.why, err = q.line("why"); err != nil {
			return a, err
		}
		a.fields = []carriedField{{"why", a.why}}
		a.do = func(f desk.ClinicFiles, seen string) (*desk.Desk, error) {
			return q.keeper.TakeBackRule(q.actor(), f, seen, r.ID, a.why)
		}
		return a, nil
	})
}

func (q *request) postRule(form string, read func(protocol.Rule) (ruleAct, error)) error {
	if err := q.clinicForm(); err != nil {
		return err
	}
	r, err := q.rule()
	if err != nil {
		return err
	}
	if q.PostForm.Get("again") != "" {
		return q.showRule(form, nil)
	}
	a, err := read(r)
	if err != nil {
		return q.showRule(form, err)
	}
	if q.PostForm.Get("keep") == "" {
		return q.showRulePreview(r, a, nil)
	}
	changed, err := a.do(q.s.Files, q.PostForm.Get("seen"))
	if err != nil {
		return q.showRulePreview(r, a, err)
	}
	now, _ := changed.Rules.Lookup(r.ID)
	return q.done(fmt.Sprintf("Kept: %s is now %s. Each case is planned by it from now on; one whose plan that changes waits to be settled and approved again.", r.ID, now.Text()), ruleLink(r.ID))
}

// showRulePreview shows which open cases get another day or a booked visit that no
// longer fits.
func (q *request) showRulePreview(r protocol.Rule, a ruleAct, wrong error) error {
	status, page := http.StatusOK, rulePreviewPage{Title: a.title, To: ruleLink(r.ID) + "/" + a.form, Back: ruleLink(r.ID), Seen: q.keeper.Seen(), Fields: a.fields, Why: a.why}
	var problem *problem
	if wrong != nil {
		var err error
		if problem, status, _, err = q.ruleRefused(a.form, wrong); err != nil {
			return err
		}
	}
	changed, err := q.look(func(f desk.ClinicFiles) (*desk.Desk, error) { return a.do(f, page.Seen) })
	if err != nil {
		return q.showRule(a.form, errOr(wrong, err))
	}
	ctx, end := context.WithTimeout(q.Context(), lookFor)
	defer end()
	if page.Preview, err = q.keeper.PreviewRules(ctx, changed, q.on, mostCases); err != nil {
		return q.showRule(a.form, err)
	}
	will, _ := changed.Rules.Lookup(r.ID)
	page.clinicHead = q.clinicHead("rules", problem)
	page.ruleLine, page.Will = ruleLine{ID: string(r.ID), Link: ruleLink(r.ID), Says: r.Says, Value: r.Text()}, will.Text()
	page.Partly, page.More = page.Preview.Looked < page.Preview.Cases, len(page.Preview.Effects) < page.Preview.Touched
	page.Moves = movedSteps{Title: "Dates that would change", OfCases: true}
	for _, e := range page.Preview.Effects {
		page.effect(e)
	}
	return q.show(status, "clinic-rule-preview", a.title, page)
}

// effect notes what the other value would change in one case.
func (page *rulePreviewPage) effect(e desk.RuleEffect) {
	of := misfitsOf{Case: string(e.Case), Patient: e.Patient, Link: caseLink(e.Case)}
	for _, g := range e.Gates {
		line := gateLine(g)
		line.Case, line.Patient, line.Link = of.Case, of.Patient, of.Link
		page.Moves.Lines = append(page.Moves.Lines, line)
	}
	for _, s := range e.Misfits {
		of.Misfits = append(of.Misfits, settlementLine(s))
	}
	if len(of.Misfits) > 0 {
		page.Misfits = append(page.Misfits, of)
	}
}

// gateLine is the first day of a gate, now and by the other value.
func gateLine(g desk.GateMove) moveLine {
	line := moveLine{Step: titleOf(g.ID), Was: gateDay(g.Was), Is: gateDay(g.Now)}
	if !g.Was.IsZero() && !g.Now.IsZero() {
		line.By = daysWords(g.Now.Sub(g.Was))
	}
	return line
}

func gateDay(d day.Day) string {
	if d.IsZero() {
		return "no date"
	}
	return "not before " + longDay(d)
}
