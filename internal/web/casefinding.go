package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// findingKind is a kind of finding with the keys of the record that it has, besides
// its day.
type findingKind struct {
	What  graft.Observed
	About string
	keys  []string
}

// stepKeys name a visit in a finding; the form asks for them as one step.
var stepKeys = []string{"step", "for", "which"}

// findingKinds are all kinds of the record format.
var findingKinds = []findingKind{
	{graft.Stability, "an implant's stability was measured", []string{"tooth", "isq"}},
	{graft.Image, "an image was read", []string{"result", "shows", "side"}},
	{graft.Infection, "the sinus or the graft is infected", []string{"side"}},
	{graft.LatePerforation, "the membrane has a hole, seen after the surgery", []string{"size_mm", "repaired", "side"}},
	{graft.GraftRemoved, "the graft was taken out", []string{"side"}},
	{graft.LeftOut, "a step is done without", stepKeys},
	{graft.Attended, "a step took place, for the record itself; the desk records it at the step", stepKeys},
}

// findingPage is the form of one kind of finding, or the choice of a kind.
type findingPage struct {
	caseHead
	Problem *problem
	Typed   typed
	Kinds   []findingKind
	Kind    *findingKind
	Today   string
	Reading string
	Fields  []findingField
}

// findingField is one field of the form.
type findingField struct {
	Key, Label, Hint string
	Options          []option // empty: a line to type
	Value            string
	Numeric          bool
	Fault            string
}

// option is one choice of a field.
type option struct {
	Value, Says string
	Chosen      bool
}

// showFinding shows the form of a finding; after a try that was refused, with what was
// typed and why.
func (q *request) showFinding(status int, wrong error) error {
	page := findingPage{Kinds: findingKinds, Typed: typed{Form: "finding", values: q.PostForm}}
	if wrong != nil {
		var err error
		if page.Problem, status, page.Typed, err = q.refused("finding", wrong); err != nil {
			return err
		}
	}
	live, err := q.keeper.Live(q.caseID(), q.on)
	if err != nil {
		return err
	}
	page.caseHead, page.Today = q.caseHead(live), cmp.Or(page.Typed.In("finding", "day"), q.on.String())
	page.Reading, _ = q.reading(page.Today)
	title := "Record a finding"
	if kind := findingOf(q.FormValue("what")); kind != nil {
		page.Kind, title = kind, capital(string(kind.What))
		page.Fields = findingFields(*kind, live, page.Typed)
	}
	return q.show(status, "case-finding", title+", "+page.Patient, page)
}

func findingOf(what string) *findingKind {
	n := slices.IndexFunc(findingKinds, func(k findingKind) bool { return string(k.What) == what })
	if n < 0 {
		return nil
	}
	return &findingKinds[n]
}

// findingFields builds the fields of a kind from the shape of the record.
func findingFields(kind findingKind, live desk.Live, t typed) []findingField {
	shape := observationShape()
	var fields []findingField
	for _, key := range kind.keys {
		f := findingField{Key: key, Label: capital(strings.ReplaceAll(key, "_", " ")), Value: t.In("finding", key), Fault: t.At("finding", key)}
		switch {
		case key == "step":
			f = findingField{Key: "id", Label: "Step", Value: t.In("finding", "id"), Fault: cmp.Or(t.At("finding", "step"), t.At("finding", "for"), t.At("finding", "which")), Options: stepOptions(live, kind.What)}
		case key == "for" || key == "which" || key == "side" && len(live.Case.Sinuses) < 2:
			continue
		default:
			describe(&f, shape[key], live)
		}
		for n := range f.Options {
			f.Options[n].Chosen = f.Options[n].Value == f.Value
		}
		fields = append(fields, f)
	}
	return fields
}

// observationShape are the shapes of a finding's keys.
func observationShape() map[string]table.Shape {
	shapes := map[string]table.Shape{}
	for _, f := range casefile.Record().Fields {
		if f.Key == "findings" {
			for _, key := range f.Shape.Of.Fields {
				shapes[key.Key] = key.Shape
			}
		}
	}
	return shapes
}

// describe gives a field the choices or the hint of its shape.
func describe(f *findingField, s table.Shape, live desk.Live) {
	if _, doc, ok := strings.Cut(s.Doc, ": "); ok {
		f.Hint = doc // without the kind of finding, which the form is for
	}
	switch {
	case f.Key == "tooth":
		f.Label, f.Hint = "Implant", "by its position, ISO 3950"
		for _, sinus := range live.Case.Sinuses {
			for _, i := range sinus.Implants {
				f.Options = append(f.Options, option{Value: strconv.Itoa(i.Tooth), Says: fmt.Sprintf("%d, %s", i.Tooth, i.Restoration)})
			}
		}
	case s.Kind == table.KindWord:
		for _, w := range s.Words {
			f.Options = append(f.Options, option{Value: w, Says: w})
		}
	case s.Kind == table.KindBool:
		f.Options = []option{{Value: "true", Says: "yes"}, {Value: "false", Says: "no"}}
	case s.Kind == table.KindNumber:
		f.Numeric = true
		f.Hint = strings.TrimSpace(fmt.Sprintf("from %g to %g %s", s.Min, s.Max, s.Unit))
	}
	switch f.Key {
	case "isq":
		f.Label = "ISQ, the implant stability quotient"
	case "size_mm":
		f.Label = "Largest extent"
	}
}

// stepOptions are the steps that a finding may be about: those still to come, or
// those that are to have taken place.
func stepOptions(live desk.Live, what graft.Observed) []option {
	var list []option
	for _, m := range inOrder(live.Timeline.Milestones) {
		if m.Attended.IsZero() && (what == graft.LeftOut || !m.Placed.After(live.Timeline.On)) {
			list = append(list, option{Value: string(m.ID), Says: stepTitle(m)})
		}
	}
	return list
}

// postFinding shows what a finding would do to the plan, and the second time records
// it.
func (q *request) postFinding() error {
	if err := q.form(); err != nil {
		return err
	}
	if q.PostForm.Get("again") != "" {
		return q.showFinding(http.StatusOK, nil)
	}
	fields, says, why, err := q.finding()
	if err != nil {
		return q.showFinding(0, err)
	}
	act := func(k *desk.Keeper) error {
		_, err := k.AddFinding(q.actor(), q.caseID(), fields, why)
		return err
	}
	if q.keeps() {
		if err := act(q.keeper); err != nil {
			return q.showFinding(0, err)
		}
		return q.done("Recorded: "+says+". The plan waits for approval.", caseLink(q.caseID()))
	}
	trial, err := q.keeper.Try(q.caseID(), q.on, act)
	if err != nil {
		return q.showFinding(0, err)
	}
	return q.showTrial(trial, trialOf{capital(says), caseLink(q.caseID(), "finding"), caseLink(q.caseID()), slices.Concat([]string{"what", "day", "id", "why"}, findingOf(fields["what"]).keys)})
}

// finding reads the form of a finding, and tells it in words.
func (q *request) finding() (fields map[string]string, says, why string, err error) {
	kind := findingOf(q.PostForm.Get("what"))
	if kind == nil {
		return nil, "", "", faultIn("what", "what was found is needed")
	}
	on, err := q.day("day")
	if err != nil {
		return nil, "", "", err
	}
	if on.IsZero() {
		return nil, "", "", faultIn("day", "a day is needed")
	}
	fields, says = map[string]string{"what": string(kind.What), "day": on.String()}, string(kind.What)
	for _, key := range kind.keys {
		if fields[key], err = q.line(key); err != nil {
			return nil, "", "", err
		}
		if words := findingWords(key, fields[key]); words != "" {
			says += ", " + words
		}
	}
	if slices.Equal(kind.keys, stepKeys) {
		id, err := q.stepID()
		if err != nil {
			return nil, "", "", err
		}
		step, whom, which := id.Parts()
		fields["step"], fields["for"], fields["which"] = string(step), whom, which
		says += ": " + lowerFirst(titleOf(id))
	}
	why, err = q.line("why")
	return fields, says + ", " + longDay(on), why, err
}

// findingWords tells one fact of a finding in words.
func findingWords(key, value string) string {
	switch {
	case value == "" || key == "shows":
		return ""
	case key == "repaired":
		return map[string]string{"true": "repaired", "false": "not repaired"}[value]
	}
	before := map[string]string{"tooth": "implant ", "isq": "ISQ "}
	after := map[string]string{"size_mm": " mm", "side": " side"}
	return before[key] + value + after[key]
}
