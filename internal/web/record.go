package web

import (
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// recordRoutes are the addresses of the record's form and of the import.
func (s *Server) recordRoutes() []route {
	return []route{
		{http.MethodGet, "/record", signedIn, "form of a new record", (*request).getRecord},
		{http.MethodPost, "/record", signedIn, "keep a new record", (*request).postRecord},
		{http.MethodGet, "/case/{case}/record", signedIn, "form of a case's record", (*request).getRecord},
		{http.MethodPost, "/case/{case}/record", signedIn, "change a case's record", (*request).postRecord},
		{http.MethodPost, "/record/live", signedIn, "what follows from a record", (*request).postLive},
		{http.MethodGet, "/record/import", signedIn, "form to read records in", func(q *request) error { return q.showImport(http.StatusOK, importPage{}) }},
		{http.MethodPost, "/record/import", signedIn, "check records", (*request).postImport},
		{http.MethodPost, "/record/import/take", signedIn, "take records in", (*request).postTake},
	}
}

// Fields of the form beside those of the record.
const (
	actField      = "act"      // what the pressed button does
	seenField     = "seen"     // the case's latest change that the form shows
	revisionField = "revision" // and the revision
	whyField      = "why"      // reason of a change
	whatIfField   = "what_if"  // what-ifs are wanted
	ofField       = "of"       // the kept case
	leavingField  = "leaving"  // the page is being left
)

// besides are the fields that a draft keeps too.
var besides = []string{seenField, revisionField, whyField, whatIfField}

// recordForm is the form of one record: of a new case, or of one that is kept.
type recordForm struct {
	of   graft.CaseID // the kept case; empty: a new one
	live desk.Live    // how it stands
	kept []byte       // its record

	typed  url.Values // the record's fields
	beside url.Values // the others
	form   *casefile.Form
	draft  string // since when a draft holds what is typed
	unkept string // why none does
	focus  string // the path where the person goes on
}

// formName names the form among the drafts.
func (r *recordForm) formName() string {
	if r.of == "" {
		return "record"
	}
	return "record " + string(r.of)
}

// address is the form's own.
func (r *recordForm) address() string {
	if r.of == "" {
		return "/record"
	}
	return caseLink(r.of, "record")
}

// recordForm opens the form that an address names.
func (q *request) recordForm() (*recordForm, error) {
	r := &recordForm{of: q.caseID()}
	if r.of == "" {
		return r, nil
	}
	var err error
	if r.live, err = q.keeper.Live(r.of, q.on); err != nil {
		return nil, err
	}
	r.kept = r.live.Revision.Record
	return r, nil
}

// take sorts the fields of a form that was sent or kept.
func (r *recordForm) take(fields url.Values) {
	r.typed, r.beside, r.form = maps.Clone(fields), url.Values{}, nil
	for _, name := range besides {
		if texts, there := r.typed[name]; there {
			r.beside[name] = texts
		}
		delete(r.typed, name)
	}
	for _, name := range []string{actField, ofField, leavingField} {
		delete(r.typed, name)
	}
}

// fields are what a draft keeps of the form.
func (r *recordForm) fields() url.Values {
	all := maps.Clone(r.typed)
	maps.Copy(all, r.beside)
	return all
}

// read reads what was typed.
func (r *recordForm) read() (err error) {
	r.form, err = casefile.ReadForm(r.typed, r.kept)
	return err
}

// getRecord shows the form: with what was typed and not kept, else the record as it
// is kept, else empty.
func (q *request) getRecord() error {
	r, err := q.recordForm()
	if err != nil {
		return err
	}
	if err := q.openDraft(r); err != nil {
		return err
	}
	if r.draft == "" {
		r.take(casefile.BlankForm())
		if r.of != "" {
			r.take(casefile.FormOf(r.kept))
		}
	}
	return q.showRecord(http.StatusOK, r, nil)
}

// postRecord does what the pressed button says. Whatever does not keep the record
// keeps what was typed.
func (q *request) postRecord() error {
	if err := q.readForm(); err != nil {
		return err
	}
	r, err := q.recordForm()
	if err != nil {
		return err
	}
	r.take(q.PostForm)
	act, at, _ := strings.Cut(q.PostFormValue(actField), ":")
	var refused error
	switch act {
	case "drop":
		if err := q.dropDraft(r); err != nil {
			return err
		}
		return q.to(r.address())
	case "add":
		r.focus, refused = casefile.AddEntry(r.typed, at)
	case "take":
		casefile.TakeEntry(r.typed, at)
		r.focus = at[:max(0, strings.LastIndexByte(at, '['))]
	case "save":
		return q.saveRecord(r)
	}
	if err := r.read(); err != nil {
		return err
	}
	if err := q.keepDraft(r); err != nil {
		return err
	}
	return q.showRecord(http.StatusOK, r, refused)
}

// readForm reads the fields of a form that was sent. What cannot be read, or has more
// fields than the library takes, is refused.
func (q *request) readForm() error {
	err := q.ParseForm()
	if err == nil {
		err = q.ParseMultipartForm(mostBody)
	}
	if errors.Is(err, http.ErrNotMultipart) {
		return nil
	}
	var big *http.MaxBytesError
	if err == nil || errors.As(err, &big) {
		return err
	}
	return &graft.Refusal{Kind: graft.Invalid, Message: "what was sent is no form of this program, or has more fields than any of them"}
}

// saveRecord keeps the record: a new case is taken in, a kept one gets a new revision.
// Refused or faulty, it comes back as it was typed.
func (q *request) saveRecord(r *recordForm) error {
	if err := r.read(); err != nil {
		return err
	}
	text, c, faultless := r.form.Record(formFile)
	if !faultless {
		if err := q.keepDraft(r); err != nil {
			return err
		}
		return q.showRecord(http.StatusUnprocessableEntity, r, nil)
	}
	err := q.keepRecord(r, text, c)
	var refusal *graft.Refusal
	switch {
	case r.of == "" && errors.As(err, &refusal) && q.isKept(c.ID, text): // sent twice
	case errors.As(err, &refusal):
		if err := q.keepDraft(r); err != nil {
			return err
		}
		return q.showRecord(statuses[refusal.Kind], r, err)
	case err != nil:
		return err
	}
	if err := q.dropDraft(r); err != nil {
		return err
	}
	return q.done(fmt.Sprintf("The record of %s, %s, is kept. It is a draft until a surgeon approves it.", c.ID, c.Patient.Name), caseLink(c.ID))
}

// formFile stands for the file in complaints about a form.
const formFile = "the form"

func (q *request) keepRecord(r *recordForm, text []byte, c casefile.Case) error {
	if r.of == "" {
		return q.keeper.AdmitNew(q.actor(), text, c, "")
	}
	_, err := q.keeper.Amend(q.actor(), r.of, text, strings.TrimSpace(r.beside.Get(whyField)))
	return err
}

// suggest offers the words that the clinic knows for fields of free text.
func (q *request) suggest(f *casefile.Form) {
	var surgeons []string
	for _, p := range q.keeper.Clinic.People {
		if p.Role == "surgeon" {
			surgeons = append(surgeons, p.Name)
		}
	}
	offer := func(path string, words []string) {
		for _, word := range words {
			f.Find(path).Options = append(f.Find(path).Options, casefile.Option{Value: word, Says: word})
		}
	}
	offer("surgery.surgeon", surgeons)
	offer("patient.language", slices.Sorted(slices.Values(q.keeper.Templates.Tags())))
}
