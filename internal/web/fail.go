package web

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"syscall"

	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// problem is what went wrong, for a person.
type problem struct {
	Says  string
	Hint  string
	Lines []string // faults of a file or a form
}

// nowhere answers an address that is none.
func nowhere() error {
	return &graft.Refusal{Kind: graft.NotFound, Message: "there is no such page"}
}

// statuses say by which status a refusal is answered.
var statuses = map[graft.RefusalKind]int{graft.NotFound: http.StatusNotFound, graft.Conflict: http.StatusConflict, graft.Invalid: http.StatusUnprocessableEntity}

// problemOf turns an error into words and a status. What is neither a refusal nor a
// fault of what was typed is the program's own: it is logged by its kind and not
// shown.
func (s *Server) problemOf(err error) (problem, int) {
	var refusal *graft.Refusal
	var faults table.Faults
	var big *http.MaxBytesError
	switch {
	case errors.As(err, &refusal):
		return problem{Says: sentence(refusal.Message), Hint: pageHint(refusal.Hint)}, statuses[refusal.Kind]
	case errors.As(err, &faults):
		p := problem{Says: "What was entered has faults. Nothing was changed."}
		for _, f := range faults {
			p.Lines = append(p.Lines, f.String())
		}
		return p, http.StatusUnprocessableEntity
	case errors.As(err, &big):
		return problem{Says: "That is more than this page takes (4 MB). Nothing was changed."}, http.StatusRequestEntityTooLarge
	case errors.Is(err, errTooMany):
		return problem{Says: "Too many tries. Wait a minute and try again."}, http.StatusTooManyRequests
	case errors.Is(err, errUnseen):
		return problem{Says: "What was sent does not say what its page showed of the case. Nothing was changed.", Hint: "Open the case again and do it from there."}, http.StatusBadRequest
	}
	s.Log.Error("not done", "kind", kinds(err))
	return problem{Says: "The ledger or a file could not be read or written. Nothing that was not reported as done was done."}, http.StatusInternalServerError
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return capital(s)
}

// pageHint leaves out a hint that names a command: a page has buttons.
func pageHint(hint string) string {
	if strings.Contains(hint, "graftclock ") || strings.Contains(hint, "--") {
		return ""
	}
	return sentence(hint)
}

func isRefusal(err error) bool {
	var refusal *graft.Refusal
	return errors.As(err, &refusal)
}

// failed is a page that only says why something was not done.
type failed struct {
	problem
	Title string
}

// fail shows a page that says why something was not done.
func (s *Server) fail(q *request, err error) {
	p, status := s.problemOf(err)
	title := "Not done"
	if status == http.StatusNotFound {
		title = "Not found"
	}
	if err := q.show(status, "problem", title, failed{p, title}); err != nil {
		s.Log.Error("a page could not be made", "kind", kinds(err))
		http.Error(q.w, p.Says, status)
	}
}

// kinds tells of an error its kinds, outermost first, and the disk's own words; its
// text may hold a name.
func kinds(err error) string {
	var all []string
	for ; err != nil; err = errors.Unwrap(err) {
		all = append(all, fmt.Sprintf("%T", err))
		if number, ok := err.(syscall.Errno); ok {
			all = append(all, number.Error())
		}
	}
	return strings.Join(all, ": ")
}
