package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"unicode"
	"unicode/utf8"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// mostWords is how many characters a line of a form may have: a reason, what somebody
// said on the telephone.
const mostWords = 500

// mostName is how long the name of a case or a step in an address can be.
const mostName = 500

// typed is what a form sent, to stand in it again where it was refused.
type typed struct {
	Form   string // which form of the page
	values url.Values
	Fault  string // the field at fault, if it is one
	Says   string // what is wrong with it
}

// In returns what was typed into a field of a form; empty for another form.
func (t typed) In(form, field string) string {
	if t.Form != form {
		return ""
	}
	return graft.OneLine(t.values.Get(field))
}

// At returns what is wrong with a field of a form; empty if nothing is.
func (t typed) At(form, field string) string {
	if t.Form != form || t.Fault != field {
		return ""
	}
	return t.Says
}

// fieldFault is a refusal of what stands in one field.
type fieldFault struct {
	field string
	graft.Refusal
}

// Error returns the message.
func (f *fieldFault) Error() string { return f.Message }

// Unwrap makes it a refusal.
func (f *fieldFault) Unwrap() error { return &f.Refusal }

func faultIn(field, format string, args ...any) error {
	return &fieldFault{field, graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf(format, args...)}}
}

// form reads what a form sent. One that is too long is the reader's own error.
func (q *request) form() error {
	err := q.ParseForm()
	var big *http.MaxBytesError
	if err != nil && !errors.As(err, &big) {
		return &graft.Refusal{Kind: graft.Invalid, Message: "the form could not be read"}
	}
	return err
}

// line reads one line of words.
func (q *request) line(field string) (string, error) {
	text := graft.OneLine(q.PostForm.Get(field))
	if n := utf8.RuneCountInString(text); n > mostWords {
		return "", faultIn(field, "%d characters are too many; at most %d", n, mostWords)
	}
	return text, nil
}

// day reads a day; no day where nothing was typed.
func (q *request) day(field string) (day.Day, error) {
	text, err := q.line(field)
	if err != nil || text == "" {
		return day.Day{}, err
	}
	d, err := day.Parse(text)
	if err != nil {
		return d, faultIn(field, "%v", err)
	}
	return d, nil
}

// slot reads a time that is wanted, and the reason for it.
func (q *request) slot() (want graft.Slot, why string, err error) {
	if want.Day, err = q.day("day"); err != nil {
		return want, "", err
	}
	if want.Day.IsZero() {
		return want, "", faultIn("day", "a day is needed")
	}
	start, err := q.line("time")
	if err != nil {
		return want, "", err
	}
	if want.Start, err = day.ParseClock(start); err != nil {
		return want, "", faultIn("time", "%v", err)
	}
	if want.Room, err = q.line("room"); err != nil {
		return want, "", err
	}
	if want.Person, err = q.line("person"); err != nil {
		return want, "", err
	}
	why, err = q.line("why")
	return want, why, err
}

// stepID is the step that a form or an address names.
func (q *request) stepID() (graft.MilestoneID, error) {
	id := q.FormValue("id")
	if !nameable(id) {
		return "", nowhere()
	}
	return graft.MilestoneID(id), nil
}

// nameable reports whether an address or a form can name something by a text.
func nameable(text string) bool {
	unseen := func(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) }
	return len(text) <= mostName && utf8.ValidString(text) && !strings.ContainsFunc(text, unseen)
}

// refused turns what was refused into words for the page that it was sent from, and
// says at which field. What is no refusal and no fault stays an error.
func (q *request) refused(form string, err error) (*problem, int, typed, error) {
	var refusal *graft.Refusal
	var faults table.Faults
	if !errors.As(err, &refusal) && !errors.As(err, &faults) {
		return nil, 0, typed{}, err
	}
	p, status := q.s.problemOf(err)
	t := typed{Form: form, values: q.PostForm}
	var field *fieldFault
	if !errors.As(err, &field) {
		p.Says = spelled(p.Says) // and what was typed stays as it was typed
	}
	switch {
	case field != nil:
		t.Fault, t.Says = field.field, p.Says
	case refusal != nil && strings.Contains(refusal.Hint, "--why"):
		t.Fault, t.Says = "why", "Give the reason."
		p.Hint = "Give the reason, and send it again."
	case len(faults) > 0:
		t.Fault, t.Says = lastKey(faults[0].Path), faultSays(faults[0])
		p.Lines = nil
		for _, f := range faults {
			p.Lines = append(p.Lines, strings.ReplaceAll(lastKey(f.Path), "_", " ")+": "+faultSays(f))
		}
	}
	return &p, status, t, nil
}

// lastKey is the key at the end of a path of a record.
func lastKey(path string) string { return path[strings.LastIndex(path, ".")+1:] }

// faultSays is a fault of a form without the place in a file.
func faultSays(f table.Fault) string {
	return spelled(table.Fault{Found: f.Found, Allowed: f.Allowed, Hint: f.Hint}.String()[len(": "):])
}
