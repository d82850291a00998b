package web

import (
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/desk"
	"graftclock/internal/ledger"
)

func (s *Server) morningRoutes() []route {
	return []route{{http.MethodGet, "/{$}", signedIn, "morning", (*request).getMorning}}
}

// firmShown is how many windows to firm up stand open on the page; the rest is folded
// away.
const firmShown = 6

// confirmShown is how many visits to confirm stand open on the page.
const confirmShown = 8

// morningPage is what the desk has to do today.
type morningPage struct {
	Day     string
	Closed  string // why the clinic is closed; empty: it is open
	Behind  int    // cases whose rows are still being made
	Cases   int
	Visits  []template.HTML
	Calls   listed // after surgery, and what is overdue, the gravest first
	Confirm listed // visits of the coming days
	Firm    listed
	Drafts  []morningDraft
	Hits    []morningHit
	Waiting int // plans that wait; Drafts are the first of them
	Hit     int // visits that are hit; Hits are the first of them
}

// mostRows is how many rows of a list a page holds. Nobody reads more of them in a
// morning, and those that matter most come first.
const mostRows = 40

// listed are rows of which the first stand open, some more are folded away, and the
// rest is counted.
type listed struct {
	First, More []template.HTML
	Rest        int
}

// Len is how many rows there are.
func (l listed) Len() int { return len(l.First) + len(l.More) + l.Rest }

// list writes the lines of a list, as many as a page holds.
func (r *rowWriter) list(lines []desk.Line, shown int, layout string, row func(desk.Line) morningRow) listed {
	l := listed{Rest: max(0, len(lines)-mostRows)}
	for n, line := range lines[:len(lines)-l.Rest] {
		if text := r.write(layout, line, row); n < shown {
			l.First = append(l.First, text)
		} else {
			l.More = append(l.More, text)
		}
	}
	return l
}

// morningRow is one step of a patient.
type morningRow struct {
	Seen, ID      string // for an act
	Link, Step    string // of the case, of the step
	Case, Patient string
	Title         string
	Time, Where   string // of a visit
	State         string // in words
	Marks         string
	Do, Why       string
	Phone, Dial   string
	Last          string // what came of the last call
	Note, Confirm bool   // acts that are offered: what came of a call, that the patient confirmed
	Attend, Miss  bool
	Comes         bool   // the patient comes in for it
	Days          string // of the window
	Stale         bool
}

type morningDraft struct {
	Link, Case, Patient, Surgeon, Do string
	Revision                         int
}

type morningHit struct {
	Link, Case, Patient, Title, Was, Why, Does string
}

// getMorning shows the day's work.
func (q *request) getMorning() error {
	if err := q.board.Catch(q.on); err != nil {
		return err
	}
	m, err := q.board.Morning(q.on)
	if err != nil {
		return err
	}
	page := morningPage{Day: q.on.Time().Format("Monday 2 January 2006"), Closed: q.closed(), Behind: m.Behind, Cases: m.Cases}
	rows := q.s.written.writer(q.s.pages["morning"])
	for _, line := range m.Visits {
		page.Visits = append(page.Visits, rows.write("visit", line, visitRow))
	}
	n := slices.IndexFunc(m.Calls, func(l desk.Line) bool { return l.List == desk.Unconfirmed }) // they come last
	if n < 0 {
		n = len(m.Calls)
	}
	page.Calls = rows.list(m.Calls[:n], mostRows, "call", callRow)
	page.Confirm, page.Firm = rows.list(m.Calls[n:], confirmShown, "call", callRow), rows.list(m.Firm, firmShown, "firm", firmRow)
	if rows.err != nil {
		return rows.err
	}
	q.s.written.keep(rows)
	page.Waiting, page.Hit = len(m.Drafts), len(m.Hits)
	for _, d := range m.Drafts[:min(len(m.Drafts), mostRows)] {
		page.Drafts = append(page.Drafts, morningDraft{caseLink(d.Case), string(d.Case), d.Patient, d.Surgeon, spelled(d.Do()), d.Revision})
	}
	for _, h := range m.Hits[:min(len(m.Hits), mostRows)] {
		page.Hits = append(page.Hits, morningHit{caseLink(h.Case, "settle"), string(h.Case), h.Patient, titleOf(h.ID), slotWords(h.Was), capital(spelled(h.Why)), hitDoes(h)})
	}
	return q.show(http.StatusOK, "morning", "Morning", page)
}

// closed says why the clinic is closed today; empty if it is open.
func (q *request) closed() string {
	calendar, faults := q.keeper.Calendar(q.on.Year())
	if len(faults) > 0 {
		return ""
	}
	return strings.Join(calendar.Obstacles(q.on, "", ""), ", ")
}

// rowOf is what every list says of a step.
func rowOf(r desk.Line) morningRow {
	row := morningRow{
		Seen: strconv.FormatInt(r.Head, 10), ID: string(r.ID), Link: caseLink(r.Case), Step: stepLink(r.Case, r.ID),
		Case: string(r.Case), Patient: r.Patient, Title: titleOf(r.ID), Marks: strings.Join(r.Marks(), ", "),
		Do: does(r), Why: r.Why, Phone: r.Phone, Dial: dialled(r.Phone), Stale: r.Stale,
	}
	if r.Last != nil {
		row.Last = calledBefore(r.Calls, *r.Last)
	}
	return row
}

// does says what is to be done about a step.
func does(r desk.Line) string {
	if r.Do == "do" {
		return "to be done"
	}
	return r.Do
}

func visitRow(r desk.Line) morningRow {
	row := rowOf(r)
	row.Time, row.Where = r.Slot.Start.String()+"–"+r.Slot.End().String(), where(r.Slot.Room, r.Slot.Person)
	row.State = "not confirmed"
	if r.Confirmed {
		row.State = "confirmed"
	}
	if r.Unfit != "" {
		row.State += "; does not fit: " + r.Unfit
	}
	row.Attend, row.Miss, row.Comes = true, true, true
	return row
}

func callRow(r desk.Line) morningRow {
	row := rowOf(r)
	row.Note, row.Confirm = r.List == desk.AfterSurgery || r.Do != "do", r.Visit != 0 && r.List == desk.Unconfirmed && r.Unfit == ""
	switch {
	case r.List == desk.Unconfirmed:
		row.Do, row.Why = "", slotWords(r.Slot)
		if r.Unfit != "" {
			row.Why += ", which does not fit: " + spelled(r.Unfit)
		}
	case !r.Since.IsZero():
		row.Why = r.Why + ", late since " + longDay(r.Since)
	}
	switch {
	case r.List == desk.Overdue && r.Visit != 0:
		row.Attend, row.Miss, row.Comes = true, true, true
	case r.List == desk.AfterSurgery, r.Do == "do":
		row.Attend = true
	}
	return row
}

func firmRow(r desk.Line) morningRow {
	row := rowOf(r)
	row.Days = longSpan(r.Window.Earliest, r.Window.Latest)
	if row.State = string(r.State); r.Visit != 0 {
		row.State = "booked " + longDay(r.Slot.Day) + ", which does not fit"
	}
	row.Time = longDay(r.Placed)
	row.Attend = r.Do == "do"
	return row
}

// where is the room and the person of a visit.
func where(room, person string) string {
	switch {
	case room == "":
		return person
	case person == "":
		return room
	}
	return room + ", " + person
}

// calledBefore says how often the patient was called and what came of it last.
func calledBefore(calls int, last ledger.Contact) string {
	often := fmt.Sprintf("called %d times", calls)
	if calls == 1 {
		often = "called once"
	}
	says := fmt.Sprintf("%s, last %s: %s", often, last.At.Format("Mon 2 January"), last.Outcome)
	if last.Says != "" {
		says += " (" + last.Says + ")"
	}
	return says
}

// hitDoes says what settling does with a visit that is hit.
func hitDoes(h desk.Hit) string {
	switch {
	case h.Proposal.Day.IsZero():
		return "give back"
	case h.Hold:
		return "hold the window round " + longDay(h.Proposal.Day)
	}
	return "move to " + slotWords(h.Proposal)
}
