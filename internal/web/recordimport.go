package web

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
)

// importPage reads records in: first what they are and what is wrong with them, then
// what became of each.
type importPage struct {
	Problem *problem
	Pasted  string // what was typed or pasted
	Name    string // of the file
	Text    string // its bytes, wrapped up to travel in the page
	What    string // what the file is
	Faults  []string
	Ready   []arriving // the records without a fault
	Why     string
	Did     []outcome
	Count   string // of the outcomes
	Again   bool   // some were refused, and may be taken in with a reason
}

// arriving is a record that can be taken in.
type arriving struct{ Place, Case, Patient, Surgery string }

// outcome is what became of one.
type outcome struct {
	Place, Case, Patient, Says, Hint string
	Link                             string // to its page; empty: it is not kept
}

func (q *request) showImport(status int, p importPage) error {
	return q.show(status, "record-import", "Read records in", p)
}

// pastedName stands for the file's name where text was pasted.
const pastedName = "pasted text"

// postImport reports on a file or on pasted text. Nothing is taken in yet.
func (q *request) postImport() error {
	if err := q.readForm(); err != nil {
		return err
	}
	p := importPage{Pasted: q.PostFormValue("pasted")}
	name, data, lost, err := q.sentFile("file")
	if err != nil {
		return err
	}
	if lost {
		p.Problem = &problem{Says: "The file " + name + " is not here: it was too long to keep while you signed in.", Hint: "Choose it again."}
		return q.showImport(http.StatusUnprocessableEntity, p)
	}
	if len(data) == 0 && name == "" {
		name, data = pastedName, []byte(p.Pasted)
	} else {
		p.Pasted = ""
	}
	if len(bytes.TrimSpace(data)) == 0 {
		p.Problem = &problem{Says: "There is nothing to read.", Hint: "Choose a file, or paste the text of a record."}
		return q.showImport(http.StatusUnprocessableEntity, p)
	}
	return q.report(p, name, data)
}

// sentFile is the file of a form, sent with it or carried through the sign-in page; no
// name for none. One that is lost was too long to be carried.
func (q *request) sentFile(field string) (name string, data []byte, lost bool, err error) {
	if q.MultipartForm == nil || len(q.MultipartForm.File[field]) == 0 {
		return q.carriedFile(field)
	}
	head := q.MultipartForm.File[field][0]
	data, err = readSent(head)
	return sentName(head), data, false, err
}

// report shows what a file is, its faults, and which of its records can be taken in.
func (q *request) report(p importPage, name string, data []byte) error {
	p.Name = name
	arrivals, what, err := casefile.CheckArrivals(name, data, casefile.IsCSV(name, data))
	if err != nil {
		told, status := q.s.problemOf(err)
		p.Problem = &told
		return q.showImport(status, p)
	}
	status := http.StatusOK
	for _, a := range arrivals {
		for _, fault := range a.Faults {
			status, p.Faults = http.StatusUnprocessableEntity, append(p.Faults, fault.String())
		}
		if len(a.Faults) == 0 {
			p.Ready = append(p.Ready, arriving{a.Place, string(a.Case.ID), a.Case.Patient.Name, longDay(a.Case.Surgery.Day)})
		}
	}
	p.What = what + ", no fault"
	if n := len(p.Faults); n > 0 {
		p.What = what + ", " + plural(n, "fault", "faults")
	}
	if len(p.Ready) > 0 {
		if p.Text, err = wrapped(data); err != nil {
			return err
		}
	}
	return q.showImport(status, p)
}

// postTake takes in the records without a fault, one after the other. It reads the
// text anew, so that what comes back from the page counts for no more than a file.
func (q *request) postTake() error {
	if err := q.readForm(); err != nil {
		return err
	}
	p := importPage{Name: graft.OneLine(q.PostFormValue("name")), Text: q.PostFormValue("text"), Why: strings.TrimSpace(q.PostFormValue(whyField))}
	data, err := unwrapped(p.Text)
	if err != nil {
		return &graft.Refusal{Kind: graft.Invalid, Message: "the records did not come back whole: read them in again"}
	}
	arrivals, _, err := casefile.Arrivals(p.Name, data, casefile.IsCSV(p.Name, data))
	if err != nil {
		return err
	}
	counts := map[string]int{}
	for _, a := range arrivals {
		o := outcome{Place: a.Place, Case: string(a.Case.ID), Patient: a.Case.Patient.Name}
		did := ""
		if len(a.Faults) > 0 {
			o.Says = "not taken in: " + plural(len(a.Faults), "fault", "faults")
		} else if did, err = q.admit(a, p.Why, &o); err != nil {
			return err
		}
		counts[did]++
		p.Again = p.Again || o.Hint != ""
		p.Did = append(p.Did, o)
	}
	p.Count = fmt.Sprintf("%d admitted, %d revised, %d unchanged, %d not taken in", counts["admitted"], counts["revised"], counts["unchanged"], counts[""])
	return q.showImport(http.StatusOK, p)
}

// admit takes one record in and tells what became of it. The error is one that no
// other record would be spared.
func (q *request) admit(a casefile.Arrival, why string, o *outcome) (did string, err error) {
	admitted := q.keeper.Admit(q.actor(), a.Record, a.Case, why)
	var refusal *graft.Refusal
	switch {
	case errors.As(admitted.Err, &refusal):
		o.Says = "not taken in: " + refusal.Message
		if refusal.Kind == graft.Conflict {
			o.Hint = "Give a reason below, and it is taken in."
		}
		return "", nil
	case admitted.Err != nil:
		return "", admitted.Err
	}
	o.Says = fmt.Sprintf("%s, revision %d", admitted.Did, admitted.Revision)
	o.Link = caseLink(admitted.Case)
	return admitted.Did, nil
}

// wrapped packs a text so that a hidden field carries its very bytes there and back;
// as it stands, a browser would change its line ends.
func wrapped(data []byte) (string, error) {
	var b bytes.Buffer
	pack := gzip.NewWriter(&b)
	if _, err := pack.Write(data); err != nil {
		return "", err
	}
	if err := pack.Close(); err != nil {
		return "", err
	}
	return base64.StdEncoding.EncodeToString(b.Bytes()), nil
}

// unwrapped is the inverse of wrapped, for no more than a browser may send.
func unwrapped(text string) ([]byte, error) {
	packed, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return nil, err
	}
	pack, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(pack, mostBody+1))
	if err == nil && len(data) > mostBody {
		return nil, io.ErrShortBuffer
	}
	return data, err
}
