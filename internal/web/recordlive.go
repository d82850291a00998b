package web

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// follows is what follows from a form, as far as it is filled in. Without JavaScript
// a button asks for it.
type follows struct {
	Says     string // in a sentence or two, read aloud when it changes
	Clock    []wanting
	Dates    []wanting
	Implants []implantFollows
	Findings []found
	Planned  string // how the dates were made; empty: there are none
	Asks     bool   // what-ifs are wanted
	WhatIfs  []whatIfTable
}

// wanting is a fact that is missing, or told wrongly.
type wanting struct {
	Where, Says string
	ID          string // of its field; empty: it has none
}

// found is a finding with the field that it is about.
type found struct {
	wanting
	Severity string
}

// implantFollows is what follows for one implant.
type implantFollows struct {
	Tooth, Heading string
	Facts          []namedFact
	SVG            template.HTML
	Title          string // id of the drawing's title
}

type namedFact struct{ Name, Value string }

// follows derives from the form what can be derived, and tells what is missing for
// the rest. Nothing is taken for granted: what the bone clock does not ask for may be
// absent, and then there are no dates.
func (q *request) follows(r *recordForm) (follows, error) {
	o := r.form.Outlook(formFile, q.on)
	f := follows{Clock: wantings(o.Clock), Dates: wantings(o.Dates), Asks: r.beside.Get(whatIfField) != ""}
	if len(o.Case.Sinuses) == 0 {
		f.Says = f.sentence()
		return f, nil
	}
	sections, err := q.keeper.Sections(o.Case.Case)
	if err != nil {
		return f, err
	}
	plan, planned, err := q.formPlan(r, o.Case)
	if err != nil {
		return f, err
	}
	for _, s := range sections {
		f.Implants = append(f.Implants, implantOf(s, plan, o.Dated()))
	}
	f.Findings = foundIn(plan, r.form, o.Dated())
	if o.Dated() {
		f.Planned = planned + ", as seen on " + longDay(q.on) + "."
		if f.Asks {
			if f.WhatIfs, err = q.whatIfs(plan, o.Text); err != nil {
				return f, err
			}
		}
	}
	f.Says = f.sentence()
	return f, nil
}

// formPlan is the plan of what a form says: of a case that is kept with what the ledger
// knows beside the record.
func (q *request) formPlan(r *recordForm, c casefile.Case) (plan desk.Plan, says string, err error) {
	if r.of == "" {
		plan, err = q.keeper.Plan(c, q.on)
		return plan, "Planned from this form alone, without anything that is booked or overridden", err
	}
	plan, err = q.keeper.PlanWith(r.of, c, q.on)
	return plan, "Planned from this form with what the ledger has of the case, attended, booked or overridden", err
}

// foundIn are the findings of a plan that concern the surgery: the patient's part may
// not be filled in yet. Without dates, none is about a fact that a word stands in for.
func foundIn(plan desk.Plan, form *casefile.Form, dated bool) []found {
	var list []found
	for _, f := range plan.Timeline.Findings {
		ofSinus := strings.HasPrefix(f.Path, "sinuses") && !casefile.StandsIn(f.Path)
		if !ofSinus && (!dated || strings.HasPrefix(f.Path, "patient")) {
			continue
		}
		one := found{wanting{Says: spelled(f.Says)}, severities[f.Severity]}
		if p := form.PartOf(f.Path); p != nil && dated {
			one.Where, one.ID = p.Where(), p.ID()
		}
		list = append(list, one)
	}
	return list
}

// wantings are faults with a way to their fields.
func wantings(told []casefile.Told) []wanting {
	list := make([]wanting, len(told))
	for n, t := range told {
		list[n] = wanting{Where: t.Path}
		if t.Part != nil {
			list[n].Where, list[n].ID = t.Part.Where(), t.Part.ID()
		}
		if !t.Missing {
			list[n].Says = t.Says
		}
	}
	return list
}

// implantOf is what follows for one implant; its dates only where every fact is there.
func implantOf(s desk.Section, plan desk.Plan, dated bool) implantFollows {
	c := s.Clock
	tooth := strconv.Itoa(c.Tooth)
	f := implantFollows{Tooth: tooth, Heading: "Implant " + tooth + ", " + string(c.Side) + " sinus", SVG: s.Drawing.SVG(), Title: s.Drawing.ID + "-title"}
	f.Facts = []namedFact{
		{"Full support", fmt.Sprintf("%.2f months, band %.2f to %.2f", c.ToFull, c.BandLow, c.BandHigh)},
		{"Last", "residual bone and walls hold the whole implant: nothing has to form"},
	}
	if c.LastAspect != "" {
		f.Facts[1].Value = fmt.Sprintf("%s, %.1f mm above the floor, waiting for the %s", c.LastAspect, c.LastHeightMM, c.WaitsFor)
	}
	if !dated {
		return f
	}
	for _, step := range []graft.Step{s.Gate, graft.FirstLoading} {
		f.Facts = append(f.Facts, namedFact{capital(strings.ReplaceAll(string(step), "-", " ")), notBefore(plan.Timeline, step, c.Restoration)})
	}
	return f
}

// notBefore tells the earliest day of a restoration's step.
func notBefore(t graft.Timeline, step graft.Step, restoration string) string {
	m, there := t.Find(graft.MilestoneIDOf(step, restoration, ""))
	if !there || m.Window.Latest.IsZero() {
		return "held back, see what is found below"
	}
	return "not before " + longDay(m.Window.NotBefore)
}

// sentence tells the main thing, for who cannot see the page change.
func (f follows) sentence() string {
	var says []string
	for _, i := range f.Implants {
		says = append(says, fmt.Sprintf("Implant %s: full support after %s.", i.Tooth, i.Facts[0].Value))
	}
	if n := len(f.Clock); n > 0 {
		says = append(says, "The bone clock still needs "+plural(n, "fact", "facts")+".")
	} else if n := len(f.Dates); n > 0 {
		says = append(says, "For dates "+plural(n, "fact is", "facts are")+" still needed.")
	}
	if len(says) == 0 {
		return "There is nothing for the bone clock to time."
	}
	return strings.Join(says, " ")
}

// whatIfTable tells what other facts would change for one implant.
type whatIfTable struct {
	Heading string
	Gate    string
	Rows    []whatIfRow
	Left    []namedFact
}

type whatIfRow struct{ Change, Months, Gate, Loading, News string }

func (q *request) whatIfs(plan desk.Plan, text []byte) ([]whatIfTable, error) {
	asked, err := q.keeper.WhatIf(plan, text)
	if err != nil {
		return nil, err
	}
	var tables []whatIfTable
	for _, w := range asked {
		t := whatIfTable{Heading: fmt.Sprintf("Implant %d", w.Tooth), Gate: strings.ReplaceAll(string(w.Gate), "-", " ")}
		for _, a := range w.Rows {
			row := whatIfRow{Change: a.Change, Months: fmt.Sprintf("%.2f", a.ToFull), Gate: longDay(a.Gate), Loading: longDay(a.Loading)}
			var news []string
			for _, finding := range a.News {
				news = append(news, severities[finding.Severity]+": "+spelled(finding.Says))
			}
			row.News = strings.Join(news, " ")
			t.Rows = append(t.Rows, row)
		}
		for _, l := range w.Left {
			t.Left = append(t.Left, namedFact{l.Change, l.Why})
		}
		tables = append(tables, t)
	}
	return tables, nil
}
