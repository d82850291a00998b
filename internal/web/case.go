package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// caseRoutes are the addresses of one case: its page, its steps, what is decided about
// it and what it gives out.
func (s *Server) caseRoutes() []route {
	routes := []route{
		{http.MethodGet, "/case/{case}", signedIn, "case", func(q *request) error { return q.showCase(http.StatusOK, nil) }},
		{http.MethodGet, "/case/{case}/history", signedIn, "history of a case", (*request).getHistory},
		{http.MethodPost, "/case/{case}/approve", signedIn, "approve a plan", (*request).postApprove},
		{http.MethodGet, "/case/{case}/settle", signedIn, "what settling would do", func(q *request) error { return q.showSettle(http.StatusOK, nil) }},
		{http.MethodPost, "/case/{case}/settle", signedIn, "settle what does not fit", (*request).postSettle},
		{http.MethodGet, "/case/{case}/finding", signedIn, "form of a finding", func(q *request) error { return q.showFinding(http.StatusOK, nil) }},
		{http.MethodPost, "/case/{case}/finding", signedIn, "record a finding", (*request).postFinding},
		{http.MethodGet, "/case/{case}/file/{name}", signedIn, "file of a case, to look at", (*request).getFile},
		{http.MethodPost, "/case/{case}/file/{name}", adding, "give out a file of a case", (*request).postFile},
		{http.MethodPost, "/case/{case}/feed", signedIn, "open the feed of a case", (*request).postFeed},
		{http.MethodPost, "/case/{case}/feed/revoke", signedIn, "end the feed of a case", (*request).postRevoke},
		{http.MethodGet, "/case/{case}/step", signedIn, "step of a case", func(q *request) error { return q.showStep(http.StatusOK, "", nil) }},
		{http.MethodPost, "/case/{case}/override", signedIn, "override a step", (*request).postOverride},
	}
	for _, a := range stepActs {
		routes = append(routes, route{http.MethodPost, "/case/{case}/" + a.name, a.asks, a.says, func(q *request) error { return q.postStep(a) }})
	}
	return routes
}

// caseID is the case that an address names; none for what can be no number of a case.
func (q *request) caseID() graft.CaseID {
	if id := q.PathValue("case"); nameable(id) {
		return graft.CaseID(id)
	}
	return ""
}

// caseLink is the address of a case's page, or of one below it.
func caseLink(id graft.CaseID, below ...string) string {
	return "/case/" + url.PathEscape(string(id)) + strings.Join(append([]string{""}, below...), "/")
}

// stepLink is the address of the page of one step.
func stepLink(id graft.CaseID, step graft.MilestoneID) string {
	return caseLink(id, "step") + "?id=" + url.QueryEscape(string(step))
}

// casePage is what the page of a case shows.
type casePage struct {
	caseHead
	Problem    *problem
	Stops      bool
	Settled    bool
	OtherRules bool
	Findings   []findingLine
	Misfits    []misfitLine
	Axis       axis
	Now        string
	Steps      []stepEntry // to the first year's recall
	Later      []stepEntry // recalls after it
	Gone       []stepEntry // visits of steps that the plan no longer has
	Sources    []reference
	Papers     papers
}

// findingLine is a finding in words.
type findingLine struct{ Severity, Says, Rule, Path string }

// severities are the words of a finding's weight.
var severities = map[graft.Severity]string{graft.Stop: "Stop", graft.Warn: "Warning", graft.Note: "Note"}

func findingLines(findings []graft.Finding) []findingLine {
	var list []findingLine
	for _, f := range findings {
		list = append(list, findingLine{severities[f.Severity], spelled(f.Says), string(f.Rule), f.Path})
	}
	return list
}

// misfitLine is a booked visit that does not fit the plan, and what is proposed.
type misfitLine struct {
	ID                            graft.MilestoneID
	Step, Link, Booked, Why, Does string
	Others                        string
	Already                       bool // before an act that is tried
}

// stepEntry is one step of the list.
type stepEntry struct {
	N                      int
	Anchor, Link           string
	ID                     string
	Name, For              string
	Stands                 stance
	Window, Why, Override  string
	Open                   bool // something can still be done with it
	Firm                   bool // near enough to book
	Books, Moves           bool // a time may be booked, or another taken
	Holds, Ticks, Misses   bool // its window may be held; it can be recorded as done, or missed
	TickWord               string
	Past                   bool
	NowBefore, NowAfterAll bool // the line of today stands before it, or after all
	Reasons                []reason
	placed                 day.Day
}

// entryActs are the acts of one step, with the case they are of.
type entryActs struct {
	Entry stepEntry
	Link  string
	Seen  int64
}

// With gives a step of the list what its buttons send.
func (p casePage) With(e stepEntry) entryActs { return entryActs{e, p.Link, p.Seen} }

// showCase shows a case, with what went wrong if something did.
func (q *request) showCase(status int, wrong *problem) error {
	live, err := q.keeper.Live(q.caseID(), q.on)
	if err != nil {
		return err
	}
	papers, err := q.papers(live)
	if err != nil {
		return err
	}
	page := q.casePage(live)
	page.Problem, page.Papers = wrong, papers
	return q.show(status, "case", page.Patient+", "+page.Case, page)
}

func (q *request) casePage(live desk.Live) casePage {
	page := casePage{
		caseHead: q.caseHead(live), Stops: live.Stopped(), Settled: live.Settled(), OtherRules: live.OtherRules,
		Findings: findingLines(live.Timeline.Findings), Now: longDay(q.on),
	}
	told := newTeller()
	for n, m := range inOrder(live.Timeline.Milestones) {
		e := q.stepEntry(live, m)
		e.N, e.Anchor, e.Reasons = n+1, anchorOf(m.ID), told.tell(m.Reasons)
		if pastFirstYear(m) {
			page.Later = append(page.Later, e)
		} else {
			page.Steps = append(page.Steps, e)
		}
		if s, ok := misfitOf(live, m.ID); ok {
			page.Misfits = append(page.Misfits, misfitLine{Step: stepTitle(m), Link: e.Link, Booked: slotWords(s.Was), Why: capital(spelled(s.Why)), Does: doesWords(s)})
		}
	}
	markToday(page.Steps, q.on)
	for _, v := range live.Gone {
		page.Gone = append(page.Gone, stepEntry{Link: stepLink(live.Kept.Case, v.Milestone), Name: titleOf(v.Milestone), Stands: visitStance(v)})
	}
	page.Sources = told.bibliography()
	page.Axis = q.axis(live, page.Steps)
	return page
}

// stepEntry is a step in words with what can be done.
func (q *request) stepEntry(live desk.Live, m graft.Milestone) stepEntry {
	e := stepEntry{
		ID: string(m.ID), Link: stepLink(live.Kept.Case, m.ID), Name: stepName(m), For: m.For,
		Window: windowWords(m.Window), Why: half(m.Why), placed: m.Placed, Past: !m.Attended.IsZero(),
	}
	e.Stands = standing(live, m)
	if m.Why == "attended" {
		e.Why = ""
	}
	if m.Override != nil {
		e.Override = overrideWords(*m.Override)
	}
	q.mayDo(&e, live, m)
	return e
}

// visitStance says where a visit stands whose step the plan no longer has.
func visitStance(v ledger.Visit) stance {
	s := stance{Short: string(v.State), Word: capital(string(v.State))}
	if !v.Day.IsZero() {
		s.Rest = " for " + slotWords(v.Slot)
	}
	s.Rest += "; the plan no longer has this step"
	return s
}

// mayDo notes what the state of a step allows.
func (q *request) mayDo(e *stepEntry, live desk.Live, m graft.Milestone) {
	state := live.State(m.ID)
	allowed := state.Allows()
	is := func(a ledger.Act) bool { return slices.Contains(allowed, a) }
	e.Open = m.Attended.IsZero()
	e.Firm = m.Firm
	dated := !m.Window.Latest.IsZero()
	e.Books = e.Open && m.Visit != "" && dated && is(ledger.Book)
	e.Holds = e.Books && !m.Firm && is(ledger.Hold)
	e.Moves = e.Open && m.Visit != "" && is(ledger.Move)
	v, booked := live.Latest(m.ID)
	booked = booked && state == ledger.Booked
	due := booked && !v.Day.After(q.on) || m.Visit == "" && !m.Placed.IsZero() && !m.Placed.After(q.on)
	e.Ticks = e.Open && due && is(ledger.Attend)
	e.Misses = e.Open && booked && due && is(ledger.Miss)
	e.TickWord = "Attended"
	if m.Visit == "" {
		e.TickWord = "Done"
	}
}

// markToday finds the step before which, in the list, today lies.
func markToday(steps []stepEntry, on day.Day) {
	n := slices.IndexFunc(steps, func(e stepEntry) bool { return e.placed.IsZero() || e.placed.After(on) || e.placed == on && !e.Past })
	switch {
	case n >= 0:
		steps[n].NowBefore = true
	case len(steps) > 0:
		steps[len(steps)-1].NowAfterAll = true
	}
}

// monthsOfFirstYear is a year, as recalls are named.
const monthsOfFirstYear = 12

// pastFirstYear reports whether a step is a recall after the first year, by its name.
func pastFirstYear(m graft.Milestone) bool {
	var months int
	_, err := fmt.Sscanf(m.Which, "%d months", &months)
	return m.Step == graft.Recall && err == nil && months > monthsOfFirstYear
}

// inOrder sorts steps by their days, those without one last.
func inOrder(milestones []graft.Milestone) []graft.Milestone {
	list := slices.Clone(milestones)
	slices.SortStableFunc(list, func(a, b graft.Milestone) int {
		if a.Placed.IsZero() || b.Placed.IsZero() {
			return cmp.Compare(yes(a.Placed.IsZero()), yes(b.Placed.IsZero()))
		}
		return a.Placed.Sub(b.Placed)
	})
	return list
}

func yes(b bool) int {
	if b {
		return 1
	}
	return 0
}
