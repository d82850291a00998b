package web

import (
	"net/http"
	"strconv"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
)

// recordPage is the form of a record as a page shows it.
type recordPage struct {
	Title, Action string
	Of            string // the kept case
	CaseLink      string
	Seen          int64
	Revision      int
	Why           string
	Surgeon       bool // who types is one

	Parts    []*casefile.Part
	Findings []string // those of the kept record
	Problem  *problem
	Faults   []casefile.Told
	Draft    string   // since when what is typed is kept as a draft
	Unkept   string   // why it is not
	Meant    []string // what saving would change
	Changed  []string // what somebody else changed since the form was opened
	Live     follows
}

// showRecord shows the form with what was typed, what was refused, and what follows.
// After an attempt to keep it, what is missing is told too.
func (q *request) showRecord(status int, r *recordForm, refused error) error {
	if r.form == nil {
		if err := r.read(); err != nil {
			return err
		}
	}
	p := recordPage{Title: "New record", Action: r.address(), Why: r.beside.Get(whyField), Surgeon: isSurgeon(q.who), Draft: r.draft, Unkept: r.unkept}
	if refused != nil {
		told, _ := q.s.problemOf(refused)
		p.Problem = &told
	}
	text, _, faultless := r.form.Record(formFile)
	if status == http.StatusOK {
		r.form.Overlook()
	}
	p.Faults = r.form.Faults()
	if r.of != "" {
		p.kept(q, r)
		if faultless && len(p.Changed) > 0 {
			p.Meant = casefile.Differences(r.kept, text)
		}
	}
	var err error
	if p.Live, err = q.follows(r); err != nil {
		return err
	}
	q.suggest(r.form)
	q.readAloud(r.form.Parts)
	r.goOn()
	p.Parts = r.form.Parts
	return q.show(status, "record", p.Title, p)
}

// kept adds what is known of the kept case, and what was changed since the form was
// opened.
func (p *recordPage) kept(q *request, r *recordForm) {
	kept := r.live.Kept
	p.Title = "Record of " + string(kept.Case) + ", " + kept.Patient
	p.Of, p.CaseLink, p.Seen, p.Revision = string(kept.Case), caseLink(kept.Case), kept.Head, kept.Revision
	for _, finding := range r.form.Findings() {
		p.Findings = append(p.Findings, spelled(finding))
	}
	opened, err := strconv.Atoi(r.beside.Get(revisionField))
	if err != nil || opened == kept.Revision {
		return
	}
	if was, err := q.keeper.Record(kept.Case, opened); err == nil {
		p.Changed = casefile.Differences(was.Record, r.kept)
	}
}

// readAloud gives every day of the form its weekday and the name of its month.
func (q *request) readAloud(parts []*casefile.Part) {
	for _, p := range parts {
		q.readAloud(p.Parts)
		if p.Control != casefile.OneDay && p.Control != casefile.Days {
			continue
		}
		p.Reading = []string{"", ""}
		for n, text := range []string{p.From(), p.To()} {
			if _, err := day.Parse(text); err == nil {
				p.Reading[n], _ = q.reading(text)
			}
		}
	}
}

// goOn marks where the person goes on: the first field of an entry that was added, the
// list that one was taken from.
func (r *recordForm) goOn() {
	p := r.form.Find(r.focus)
	for n := 0; p == nil && strings.HasSuffix(r.focus, "]") && n < len(r.focus); n++ {
		list := r.form.Find(r.focus[:strings.LastIndexByte(r.focus, '[')])
		if list == nil || len(list.Parts) == 0 {
			return
		}
		p = list.Parts[len(list.Parts)-1] // the numbers were typed with gaps
	}
	for p != nil && len(p.Parts) > 0 && p.Control == casefile.Group {
		p = p.Parts[0]
	}
	if p != nil {
		p.Focus = true
	}
}

// Lead says how the form is filled in.
func (p recordPage) Lead() string {
	switch {
	case p.Of == "":
		return "A star marks what is needed; in a group or an entry that may be left out, once it is begun. What is left empty is left out of the record. What you type is kept for you alone until you keep the record."
	case p.Surgeon:
		return "What is left empty is left out of the record. A change makes a new revision, which a surgeon has to approve."
	}
	return "You can change what is the patient's; all else needs a surgeon. A change makes a new revision, which a surgeon has to approve."
}

// FaultCount counts the faults in words.
func (p recordPage) FaultCount() string {
	return plural(len(p.Faults), "fault", "faults")
}

// Keep is what the button says that keeps the record.
func (p recordPage) Keep() string {
	if p.Of == "" {
		return "Keep this record"
	}
	return "Keep the changes"
}
