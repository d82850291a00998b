package web

import (
	"slices"
	"strings"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// hitLine is one booked visit that the clinic cannot hold, and what is proposed.
type hitLine struct {
	Case, Patient, CaseLink string
	misfitLine
}

func (q *request) hitLines(hits []desk.Settlement) []hitLine {
	var list []hitLine
	for _, s := range hits {
		list = append(list, hitLine{string(s.Case), s.Patient, caseLink(s.Case), settlementLine(s)})
	}
	return list
}

// settlementLine is a booked visit that cannot stay, in words.
func settlementLine(s desk.Settlement) misfitLine {
	line := misfitLine{ID: s.ID, Step: titleOf(s.ID), Link: stepLink(s.Case, s.ID), Booked: "window held", Why: capital(spelled(s.Why)), Does: doesWords(s)}
	if !s.Was.Day.IsZero() {
		line.Booked = slotWords(s.Was)
	}
	for n, o := range s.Others {
		if n > 0 {
			line.Others += "; "
		}
		line.Others += offerWords(o)
	}
	return line
}

// hitPage is every booked visit that the clinic cannot hold, by case.
type hitPage struct {
	clinicHead
	Cases  []hitCase
	Visits int
}

// hitCase is one case with all that settling it would do.
type hitCase struct {
	Case, Patient, Link, Phone, Dial string
	Seen                             int64
	Shown                            string // what settling would do, as it was shown
	OtherRules                       bool
	Hits                             []misfitLine
	Besides                          []misfitLine // what does not fit for another reason
}

// showHit lists the visits that the clinic cannot hold as its file now stands.
func (q *request) showHit(status int, wrong *problem) error {
	page := hitPage{clinicHead: q.clinicHead("hit", wrong)}
	cases, err := q.keeper.HitCases(q.on)
	if err != nil {
		return err
	}
	for _, c := range cases {
		page.Visits += len(c.Hits)
		page.Cases = append(page.Cases, hitCaseOf(c))
	}
	return q.show(status, "clinic-hit", "Visits that cannot be held", page)
}

// hitCaseOf tells all that settling a case does, for it settles the whole case.
func hitCaseOf(h desk.HitCase) hitCase {
	c := hitCase{
		Case: string(h.Case), Patient: h.Patient, Link: caseLink(h.Case), Phone: h.Phone, Dial: dialled(h.Phone),
		Seen: h.Head, Shown: proposals(h.Unsettled), OtherRules: h.OtherRules,
	}
	for _, s := range h.Hits {
		c.Hits = append(c.Hits, settlementLine(s))
	}
	for _, s := range h.Unsettled {
		if !slices.ContainsFunc(h.Hits, func(hit desk.Settlement) bool { return hit.ID == s.ID }) {
			c.Besides = append(c.Besides, settlementLine(s))
		}
	}
	return c
}

// proposals is what settling does with each visit of a case.
func proposals(list []desk.Settlement) string {
	var all []string
	for _, s := range list {
		all = append(all, titleOf(s.ID)+": "+doesWords(s))
	}
	return strings.Join(all, "; ")
}

// postHit settles one case as the list proposed. Where the proposal is another one by
// now, because somebody else has taken the time, it is shown first.
func (q *request) postHit() error {
	if err := q.clinicForm(); err != nil {
		return err
	}
	says, err := q.settleAsShown()
	return q.doneIn("/clinic/hit", says, err, q.showHit)
}

func (q *request) settleAsShown() (says string, err error) {
	before, err := q.keeper.Live(q.caseID(), q.on)
	if err != nil {
		return "", err
	}
	if seen := q.actor().Seen; seen == before.Kept.Head && proposals(before.Unsettled()) != q.PostForm.Get("shown") {
		return "", &graft.Refusal{Kind: graft.Conflict, Message: "the proposal has changed since it was shown", Hint: "somebody has taken the time; look at the new proposal and settle it"}
	}
	live, did, err := q.keeper.Settle(q.actor(), q.caseID(), "")
	if err != nil {
		return "", err
	}
	return "Settled: " + live.Kept.Patient + ", " + plural(len(did), "visit", "visits") + ". " + proposals(did) + "." + q.tell(live), nil
}
