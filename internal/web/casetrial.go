package web

import (
	"fmt"
	"net/http"

	"graftclock/internal/desk"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// trialOf says what is tried: in words, and with the form that keeps it.
type trialOf struct {
	says   string // what would be done
	to     string // the address that does it
	back   string // the page it was asked from
	fields []string
}

// trialPage is what an act would do, before it is done.
type trialPage struct {
	caseHead
	Says, To, Back string
	Fields         []carriedField
	Moves          movedSteps
	Same           int
	News, Over     []findingLine
	Misfits        []misfitLine
	Stops          bool
	Next           int // the revision it would make
}

// movedSteps are the steps that something would move, under a title.
type movedSteps struct {
	Title   string
	OfCases bool // of several cases, each line with whose it is
	Lines   []moveLine
}

// moveLine is a step that an act would move.
type moveLine struct {
	Step, Was, Is, By   string
	Case, Patient, Link string // only among lines of several cases
}

// showTrial shows what an act would do, with the form that does it. The form says which
// entry of the history it was decided on, so that what is kept is what was shown.
func (q *request) showTrial(t desk.Trial, of trialOf) error {
	page := trialPage{
		caseHead: q.caseHead(t.Before), Says: of.says, To: of.to, Back: of.back,
		Moves: movedSteps{Title: "The plan beside the one that stands"},
		News:  findingLines(t.News), Over: findingLines(t.Over), Misfits: misfitLines(t.After), Stops: t.After.Stopped(), Next: t.After.Kept.Revision,
	}
	for n, m := range page.Misfits {
		page.Misfits[n].Already = t.Before.Misfit(m.ID) != ""
	}
	for _, name := range of.fields {
		if value := graft.OneLine(q.PostForm.Get(name)); value != "" {
			page.Fields = append(page.Fields, carriedField{name, value})
		}
	}
	for _, s := range t.Steps {
		if s.Same() {
			page.Same++
			continue
		}
		page.Moves.Lines = append(page.Moves.Lines, moveOf(s))
	}
	return q.show(http.StatusOK, "case-trial", of.says+", "+page.Patient, page)
}

// moveOf tells of one step how it would move.
func moveOf(s desk.Shifted) moveLine {
	switch {
	case s.Was.ID == "":
		return moveLine{Step: stepTitle(s.Is), Was: "not in the plan", Is: placedWords(s.Is), By: "new"}
	case s.Is.ID == "":
		return moveLine{Step: stepTitle(s.Was), Was: placedWords(s.Was), Is: "no longer in the plan", By: "falls away"}
	case s.Was.Placed.IsZero() || s.Is.Placed.IsZero():
		return moveLine{Step: stepTitle(s.Was), Was: placedWords(s.Was), Is: placedWords(s.Is)}
	}
	return moveLine{Step: stepTitle(s.Was), Was: placedWords(s.Was), Is: placedWords(s.Is), By: daysWords(s.Is.Placed.Sub(s.Was.Placed))}
}

// placedWords is the day of a step, and whether it is booked or only planned.
func placedWords(m graft.Milestone) string {
	switch {
	case m.Placed.IsZero():
		return "no day"
	case m.Booked:
		return longDay(m.Placed) + ", booked"
	}
	return longDay(m.Placed)
}

// misfitLines lists what is booked and does not fit, with what is proposed.
func misfitLines(live desk.Live) []misfitLine {
	var list []misfitLine
	for _, s := range live.Unsettled() {
		list = append(list, settlementLine(s))
	}
	return list
}

func offerWords(o diary.Offer) string { return longDay(o.Day) + ", " + o.Start.String() }

// settlePage is what settling would do.
type settlePage struct {
	caseHead
	Problem    *problem
	Typed      typed
	Misfits    []misfitLine
	OtherRules bool
	Left       []misfitLine // what would still not fit
}

// showSettle shows what settling would do, after a try that was refused with why.
func (q *request) showSettle(status int, wrong error) error {
	var page settlePage
	if wrong != nil {
		var err error
		if page.Problem, status, page.Typed, err = q.refused("settle", wrong); err != nil {
			return err
		}
	}
	live, err := q.keeper.Live(q.caseID(), q.on)
	if err != nil {
		return err
	}
	page.caseHead, page.OtherRules = q.caseHead(live), live.OtherRules
	page.Misfits = misfitLines(live)
	if !live.Settled() && wrong == nil {
		trial, err := q.keeper.Try(q.caseID(), q.on, func(k *desk.Keeper) error {
			a := q.actor()
			a.Seen = 0
			_, _, err := k.Settle(a, q.caseID(), "")
			return err
		})
		if err != nil {
			return err
		}
		page.Left = misfitLines(trial.After)
	}
	return q.show(status, "case-settle", "Settle, "+page.Patient, page)
}

// postSettle does what was shown.
func (q *request) postSettle() error {
	if err := q.form(); err != nil {
		return err
	}
	why, err := q.line("why")
	if err != nil {
		return q.showSettle(0, err)
	}
	live, did, err := q.keeper.Settle(q.actor(), q.caseID(), why)
	if err != nil {
		return q.showSettle(0, err)
	}
	says := "Settled: " + plural(len(did), "visit", "visits") + "."
	if len(did) > 0 {
		says += q.tell(live)
	}
	return q.done(says, caseLink(q.caseID()))
}

// postApprove gives a surgeon's word on the plan as it stands.
func (q *request) postApprove() error {
	if err := q.form(); err != nil {
		return err
	}
	live, err := q.keeper.Approve(q.actor(), q.caseID())
	if err != nil {
		wrong, status, _, err := q.refused("approve", err)
		if err != nil {
			return err
		}
		return q.showCase(status, wrong)
	}
	return q.done(fmt.Sprintf("Approved: revision %d.", live.Kept.Revision), caseLink(q.caseID()))
}
