package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// mostOffers is how many days a step's page offers.
const mostOffers = 6

// stepPage is what the page of one step shows.
type stepPage struct {
	caseHead
	Problem       *problem
	Typed         typed
	Step          stepEntry
	Gone          bool   // the plan no longer has it
	Act           string // of a booking: book, or move where it has one
	Offers        []offerLine
	From, To      formField // the days that are looked at; empty: the window
	Rooms, People []string
	Holds         bool
	Cancels       string // what is given back; empty: nothing
	Attends       bool
	AttendedOn    string // what the field is filled with
	Contacts      bool
	Outcomes      []ledger.Outcome
	Overrides     bool
	Computed      string
	Floor         string
	Readings      map[string]string
	Past          []pastLine
	Sources       []reference
}

// offerLine is one day that is offered, with its free times.
type offerLine struct {
	N          int
	Day, Long  string
	Starts     []string
	Where, Why string
	Asks       bool // for a reason
}

// pastLine is one thing that was done about the step.
type pastLine struct{ When, Who, Says string }

// showStep shows the page of a step; after an act that was refused, with what was
// typed into its form and why it was not done.
func (q *request) showStep(status int, form string, wrong error) error {
	page := stepPage{Typed: typed{Form: form, values: q.PostForm}}
	if wrong != nil {
		var err error
		if page.Problem, status, page.Typed, err = q.refused(form, wrong); err != nil {
			return err
		}
	}
	id, err := q.stepID()
	if err != nil {
		return err
	}
	live, err := q.keeper.Live(q.caseID(), q.on)
	if err != nil {
		return err
	}
	if err := q.fillStep(&page, live, id); err != nil {
		return err
	}
	return q.show(cmp.Or(status, http.StatusOK), "step", page.Step.Name+", "+page.Patient, page)
}

// fillStep gathers what there is to say of a step and to do with it.
func (q *request) fillStep(page *stepPage, live desk.Live, id graft.MilestoneID) error {
	m, planned := live.Timeline.Find(id)
	if _, visited := live.Latest(id); !planned && !visited {
		return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("case %s has no such step", live.Kept.Case)}
	}
	page.caseHead = q.caseHead(live)
	if !planned {
		page.Gone = true
		step, whom, which := id.Parts()
		m = graft.Milestone{ID: id, Step: step, For: whom, Which: which}
	}
	page.Step = q.stepEntry(live, m)
	if page.Gone {
		v, _ := live.Latest(id)
		page.Step.Stands, page.Step.Open = visitStance(v), v.State.Open()
	}
	told := newTeller()
	page.Step.Reasons = told.tell(m.Reasons)
	page.Sources = told.bibliography()
	q.stepForms(page, live, m)
	page.Past = q.past(live, id)
	if page.Act == "" {
		return nil
	}
	page.Rooms, page.People = q.roomsFor(m.Visit)
	offers, err := live.Offers(m, q.looked(page), mostOffers+1) // today's may be over
	page.Offers = q.offerLines(offers)
	return err
}

// stepForms decides which forms a step has.
func (q *request) stepForms(page *stepPage, live desk.Live, m graft.Milestone) {
	state := live.State(m.ID)
	is := func(a ledger.Act) bool { return slices.Contains(state.Allows(), a) }
	v, visited := live.Latest(m.ID)
	switch {
	case page.Gone:
	case page.Step.Moves:
		page.Act = "move"
	case page.Step.Books:
		page.Act = "book"
	}
	open := page.Step.Open && !page.Gone
	page.Holds = open && is(ledger.Hold) && m.Visit != "" && !m.Window.Latest.IsZero()
	if visited && is(ledger.Cancel) {
		page.Cancels = "The booked time goes back"
		if v.Day.IsZero() {
			page.Cancels = "The held window goes back"
		}
	}
	page.Attends = open && is(ledger.Attend)
	if page.Attends {
		page.AttendedOn = q.on.String()
		if visited && !v.Day.IsZero() && !v.Day.After(q.on) {
			page.AttendedOn = v.Day.String()
		}
	}
	page.Step.Misses = is(ledger.Miss) && !v.Day.After(q.on)
	page.Contacts, page.Outcomes = open, ledger.Outcomes
	if state != ledger.Booked {
		page.Outcomes = slices.DeleteFunc(slices.Clone(ledger.Outcomes), func(o ledger.Outcome) bool { return o == ledger.Confirmed })
	}
	page.overrides(m, open)
	page.Readings = q.readings(page)
}

// overrides decides whether a surgeon may set a day of their own, and says what bounds
// it.
func (page *stepPage) overrides(m graft.Milestone, open bool) {
	page.Overrides = page.Surgeons && open && !m.Window.Latest.IsZero()
	w := m.Window
	if m.Override != nil {
		w = m.Override.Computed
	}
	page.Computed, page.Floor = "not before "+longDay(w.NotBefore)+", best "+longDay(w.Target), "none"
	if !m.Floor.IsZero() {
		page.Floor = longDay(m.Floor)
	}
}

// formField is one field of a form of the page.
type formField struct {
	ID, Name, Label, Value, Fault, Reading string
	Needed                                 bool
}

// Field is a field of a form with what was typed into it.
func (p stepPage) Field(form, name, label string, needed bool) formField {
	f := formField{ID: form + "-" + name, Name: name, Label: label, Value: p.Typed.In(form, name), Fault: p.Typed.At(form, name), Needed: needed}
	if name == "day" {
		f.Reading = p.Readings[form]
	}
	if f.Value == "" && form == "attended" && name == "day" {
		f.Value = p.AttendedOn
	}
	return f
}

// readings are the days in the forms, read aloud.
func (q *request) readings(page *stepPage) map[string]string {
	all := map[string]string{}
	for _, form := range []string{"book", "move", "attended", "override"} {
		if text := page.Typed.In(form, "day"); text != "" {
			all[form], _ = q.reading(text)
		}
	}
	if page.Typed.In("attended", "day") == "" && page.AttendedOn != "" {
		all["attended"], _ = q.reading(page.AttendedOn)
	}
	return all
}
