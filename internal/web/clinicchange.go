package web

import (
	"cmp"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// clinicFormPage is the form of one change of the clinic file.
type clinicFormPage struct {
	clinicHead
	Title, Intro string
	To, Back     string
	Fields       []clinicField
	Why          string // typed already
}

// getClinicForm opens a form with what stands now.
func (q *request) getClinicForm(a clinicAct) error {
	if !changesClinic(q.who) {
		return &graft.Refusal{Kind: graft.Invalid, Message: "changing the clinic file needs a surgeon or the desk", Hint: "a surgeon or the desk does it under their own name"}
	}
	values := q.URL.Query()
	if a.fill != nil {
		a.fill(q, values)
	}
	return q.showClinicForm(http.StatusOK, a, values, nil)
}

// showClinicForm shows a form; after a try that was refused, with what was typed and
// why.
func (q *request) showClinicForm(status int, a clinicAct, values url.Values, wrong error) error {
	var t typed
	page := clinicFormPage{Title: a.title, Intro: a.intro, To: a.address(), Back: "/clinic#" + a.section, Why: values.Get("why")}
	var problem *problem
	if wrong != nil {
		var err error
		if problem, status, t, err = q.clinicRefused(a, wrong); err != nil {
			return err
		}
	}
	page.clinicHead = q.clinicHead("", problem)
	page.Fields = q.clinicFields(a, values, t)
	return q.show(cmp.Or(status, http.StatusOK), "clinic-form", a.title, page)
}

// clinicRefused is refused for a change of the clinic file, whose faults have the
// places of that file.
func (q *request) clinicRefused(a clinicAct, wrong error) (*problem, int, typed, error) {
	p, status, t, err := q.refused(a.name, wrong)
	var faults table.Faults
	if err != nil || !errors.As(wrong, &faults) {
		return p, status, t, err
	}
	if q.fault != nil {
		p.Says = "The clinic's files have faults, so nothing can be changed here until whoever looks after them has put them right. What was typed stands below."
	}
	t.Fault, t.Says, p.Lines = a.atFault, faultSays(faults[0]), nil
	for _, f := range slices.Backward(faults) {
		p.Lines = append([]string{faultSays(f)}, p.Lines...)
		if field := a.fieldAt(f.Path); field != "" {
			t.Fault, t.Says = field, faultSays(f)
		}
	}
	return p, status, t, nil
}

// fieldAt is the field that a place of the clinic file belongs to; empty if it is none.
func (a clinicAct) fieldAt(path string) string {
	keys := strings.FieldsFunc(path, func(r rune) bool { return r == '.' || r == '[' || r == ']' })
	for _, f := range a.fields {
		if slices.Contains(keys, f.Name) {
			return f.Name
		}
	}
	return ""
}

// postClinic shows what a change would do, and keeps it when it is sent again.
func (q *request) postClinic(a clinicAct) error {
	if err := q.clinicForm(); err != nil {
		return err
	}
	if q.PostForm.Get("again") != "" {
		return q.showClinicForm(http.StatusOK, a, q.PostForm, nil)
	}
	change, err := a.read(q)
	if err != nil {
		return q.showClinicForm(0, a, q.PostForm, err)
	}
	if q.PostForm.Get("keep") == "" {
		return q.showClinicPreview(a, change, nil)
	}
	why, err := q.line("why")
	if err != nil {
		return q.showClinicPreview(a, change, err)
	}
	changed, err := q.keeper.ChangeClinic(q.actor(), q.s.Files, q.PostForm.Get("seen"), []casefile.ClinicChange{change}, why)
	if err != nil {
		return q.showClinicPreview(a, change, err)
	}
	return q.keptClinic(a, change, changed)
}

// keptClinic tells what was kept, and goes on to the visits that the clinic cannot hold any
// more.
func (q *request) keptClinic(a clinicAct, change casefile.ClinicChange, changed *desk.Desk) error {
	says := "Kept: " + changeWords(change, q.keeper.Clinic, changed.Clinic) + "."
	hits, err := q.keeper.Preview(changed, q.on)
	switch {
	case err != nil:
		q.s.Log.Error("the visits that a change hits could not be counted", "kind", kinds(err))
		return q.done(says, "/clinic/hit")
	case len(hits) == 0:
		return q.done(says, "/clinic#"+a.section)
	}
	return q.done(says+" "+plural(len(hits), "booked visit no longer fits", "booked visits no longer fit")+"; nothing has moved yet.", "/clinic/hit")
}

// clinicPreviewPage is what a change of the clinic file would do.
type clinicPreviewPage struct {
	clinicHead
	Title, To, Back string
	Is, Will        string
	Notes           []string
	Hits            []hitLine
	Fields          []carriedField
	Seen            string
	Why, WhyFault   string
}

// showClinicPreview shows what a change would do: the booked visits that it would hit,
// with what would be proposed; after a try to keep it that was refused, with why.
func (q *request) showClinicPreview(a clinicAct, change casefile.ClinicChange, wrong error) error {
	status, page := http.StatusOK, clinicPreviewPage{Title: a.title, To: a.address(), Back: "/clinic#" + a.section, Seen: q.keeper.Seen(), Why: q.PostForm.Get("why")}
	var problem *problem
	if wrong != nil {
		var t typed
		var err error
		if problem, status, t, err = q.clinicRefused(a, wrong); err != nil {
			return err
		}
		page.WhyFault = t.At(a.name, "why")
	}
	changed, err := q.look(func(f desk.ClinicFiles) (*desk.Desk, error) {
		return q.keeper.ChangeClinic(q.actor(), f, page.Seen, []casefile.ClinicChange{change}, "")
	})
	if err != nil {
		return q.showClinicForm(0, a, q.PostForm, errOr(wrong, err))
	}
	hits, err := q.keeper.Preview(changed, q.on)
	if err != nil {
		return q.showClinicForm(0, a, q.PostForm, err)
	}
	page.clinicHead = q.clinicHead("", problem)
	page.Hits = q.hitLines(hits)
	page.Is, page.Will = stateWords(change, q.keeper.Clinic), stateWords(change, changed.Clinic)
	page.Notes = append(q.runNotes(change), q.newNotes(changed)...)
	page.Fields = sentFields(q.PostForm, a.fields)
	return q.show(status, "clinic-preview", a.title, page)
}

// errOr is the first of two errors, if there is one.
func errOr(first, second error) error {
	if first != nil {
		return first
	}
	return second
}

// sentFields are the fields of a form as they were sent, to be sent again.
func sentFields(form url.Values, fields []clinicField) []carriedField {
	var list []carriedField
	for _, f := range fields {
		for _, value := range form[f.Name] {
			list = append(list, carriedField{f.Name, value})
		}
	}
	return list
}
