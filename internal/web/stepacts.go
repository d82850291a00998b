package web

import (
	"slices"
	"unicode"
	"unicode/utf8"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// stepAct is what somebody does with one step of a case from its page.
type stepAct struct {
	name string // in the address
	asks asks
	says string // in the list of routes
	do   func(q *request, c desk.Choice) (did string, err error)
}

// stepActs are all of them but the override, which shows first what it would do. A note
// of a call stands beside the others, whatever they say.
var stepActs = []stepAct{
	{"book", signedIn, "book a visit", (*request).book},
	{"move", signedIn, "move a visit", (*request).move},
	{"hold", signedIn, "hold a window", (*request).hold},
	{"cancel", signedIn, "give a slot or a window back", (*request).cancel},
	{"missed", signedIn, "record a visit as missed", (*request).missed},
	{"attended", signedIn, "record a step as attended", (*request).attended},
	{"contact", adding, "note a call to the patient", (*request).contact},
}

// postStep does an act, and tells it on the page of the case. What is refused comes
// back to the page of the step, with all that was typed.
func (q *request) postStep(a stepAct) error {
	if err := q.form(); err != nil {
		return err
	}
	id, err := q.stepID()
	if err != nil {
		return err
	}
	did, err := a.do(q, desk.ChoiceOf(id))
	if err != nil {
		return q.showStep(0, a.name, err)
	}
	return q.done(did, q.back(caseLink(q.caseID())+"#"+anchorOf(id)))
}

func (q *request) book(c desk.Choice) (string, error) {
	want, why, err := q.slot()
	if err != nil {
		return "", err
	}
	_, v, err := q.keeper.Book(q.actor(), q.caseID(), c, want, why)
	return "Booked: " + titleOf(c.ID) + ", " + slotWords(v.Slot) + ".", err
}

func (q *request) move(c desk.Choice) (string, error) {
	want, why, err := q.slot()
	if err != nil {
		return "", err
	}
	live, v, err := q.keeper.Move(q.actor(), q.caseID(), c, want, why)
	if err != nil {
		return "", err
	}
	return "Moved: " + titleOf(c.ID) + ", now " + slotWords(v.Slot) + "." + q.tell(live), nil
}

func (q *request) hold(c desk.Choice) (string, error) {
	why, err := q.line("why")
	if err != nil {
		return "", err
	}
	_, v, err := q.keeper.Hold(q.actor(), q.caseID(), c, why)
	return "Window held: " + titleOf(c.ID) + ", " + longSpan(v.Window.Earliest, v.Window.Latest) + ".", err
}

func (q *request) cancel(c desk.Choice) (string, error) {
	why, err := q.line("why")
	if err != nil {
		return "", err
	}
	live, v, err := q.keeper.Cancel(q.actor(), q.caseID(), c, why)
	if err != nil {
		return "", err
	}
	says := "Given back: " + titleOf(c.ID)
	if !v.Day.IsZero() {
		return says + ", " + slotWords(v.Slot) + "." + q.tell(live), nil
	}
	return says + ", the window that was held.", nil
}

func (q *request) missed(c desk.Choice) (string, error) {
	why, err := q.line("why")
	if err != nil {
		return "", err
	}
	_, v, err := q.keeper.Missed(q.actor(), q.caseID(), c, why)
	return "Missed: " + titleOf(c.ID) + ", " + slotWords(v.Slot) + ". It waits to be booked again.", err
}

func (q *request) attended(c desk.Choice) (string, error) {
	on, err := q.day("day")
	if err != nil {
		return "", err
	}
	why, err := q.line("why")
	if err != nil {
		return "", err
	}
	_, v, err := q.keeper.Attended(q.actor(), q.caseID(), c, on, why)
	return "Attended: " + titleOf(c.ID) + ", " + longDay(v.Day) + ".", err
}

func (q *request) contact(c desk.Choice) (string, error) {
	outcome := ledger.Outcome(q.PostForm.Get("outcome"))
	if !slices.Contains(ledger.Outcomes, outcome) {
		return "", faultIn("outcome", "what came of the call is needed")
	}
	says, err := q.line("says")
	if err != nil {
		return "", err
	}
	_, err = q.keeper.Contact(q.actor(), q.caseID(), c, outcome, says)
	return "Noted: " + titleOf(c.ID) + ", " + string(outcome) + ".", err
}

// tell says how a change reaches the patient.
func (q *request) tell(live desk.Live) string {
	feeds, err := q.keeper.Feeds(live.Kept.Case)
	if err == nil && slices.ContainsFunc(feeds, ledger.Feed.Served) {
		return " The patient's feed shows it by itself; a calendar file on a phone does not move."
	}
	return " Tell the patient: a calendar file on a phone does not move by itself."
}

// postOverride sets a surgeon's own day for a step: the first time it shows what it would
// do, the second time it does it.
func (q *request) postOverride() error {
	if err := q.form(); err != nil {
		return err
	}
	id, err := q.stepID()
	if err != nil {
		return err
	}
	if q.PostForm.Get("again") != "" {
		return q.showStep(200, "override", nil)
	}
	act, says, err := q.override(id)
	if err != nil {
		return q.showStep(0, "override", err)
	}
	if q.keeps() {
		if err := act(q.keeper); err != nil {
			return q.showStep(0, "override", err)
		}
		return q.done(says+". The plan waits for approval.", caseLink(q.caseID())+"#"+anchorOf(id))
	}
	trial, err := q.keeper.Try(q.caseID(), q.on, act)
	if err != nil {
		return q.showStep(0, "override", err)
	}
	return q.showTrial(trial, trialOf{says, caseLink(q.caseID(), "override"), stepLink(q.caseID(), id), []string{"id", "day", "none", "why"}})
}

// override reads the form of an override, or of taking one back.
func (q *request) override(id graft.MilestoneID) (act func(*desk.Keeper) error, says string, err error) {
	to, err := q.day("day")
	if err != nil {
		return nil, "", err
	}
	why, err := q.line("why")
	if err != nil {
		return nil, "", err
	}
	says = titleOf(id) + ": set to " + longDay(to)
	if q.PostForm.Get("none") != "" {
		says = titleOf(id) + ": as computed again"
	} else if to.IsZero() {
		return nil, "", faultIn("day", "a day is needed")
	}
	return func(k *desk.Keeper) error {
		_, err := k.Override(q.actor(), q.caseID(), desk.ChoiceOf(id), to, why)
		return err
	}, says, nil
}

// keeps reports whether a form is to be kept, and not only tried. Who may not do it at
// all is refused by the act itself, so that it stands in the history.
func (q *request) keeps() bool { return q.PostForm.Get("keep") != "" || !isSurgeon(q.who) }

func lowerFirst(text string) string {
	if text == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToLower(first)) + text[size:]
}
