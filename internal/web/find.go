package web

import (
	"net/http"
	"strings"

	"graftclock/internal/desk"
)

func (s *Server) findRoutes() []route {
	return []route{
		{http.MethodGet, "/find", signedIn, "find", func(q *request) error { return q.showFind(desk.Filter{}, "", false) }},
		{http.MethodPost, "/find", signedIn, "find", (*request).postFind},
	}
}

// mostFound is how many cases one answer shows.
const mostFound = 50

// findPage is the search with what it found.
type findPage struct {
	Typed    string
	Filter   desk.Filter
	Surgeons []string
	Asked    bool
	Found    []foundCase
	More     int // that are not shown
	Behind   int // cases that are still being looked through
	Cases    int
}

// Total is how many cases were found.
func (p findPage) Total() int { return len(p.Found) + p.More }

type foundCase struct {
	Link, Case, Patient, Phone, Dial, Surgeon string
	Surgery                                   string
	Marks                                     []string
	Next                                      string // the next step, in words
}

// postFind looks for a case. A name comes in the body of the request, never in an
// address line, where a browser would remember it.
func (q *request) postFind() error {
	if err := q.ParseForm(); err != nil {
		return err
	}
	f := desk.Filter{Waiting: q.checked("waiting"), Overdue: q.checked("overdue"), InWindow: q.checked("window"), Surgeon: q.PostForm.Get("surgeon")}
	return q.showFind(f, q.PostForm.Get("typed"), true)
}

func (q *request) checked(name string) bool { return q.PostForm.Get(name) == "yes" }

func (q *request) showFind(f desk.Filter, typed string, asked bool) error {
	if err := q.board.Catch(q.on); err != nil {
		return err
	}
	done, all := q.board.Ready()
	page := findPage{Typed: typed, Filter: f, Surgeons: q.board.Surgeons(), Asked: asked, Behind: all - done, Cases: all}
	if asked {
		found := q.board.Find(typed, f)
		page.More = max(0, len(found)-mostFound)
		for _, c := range found[:min(len(found), mostFound)] {
			page.Found = append(page.Found, foundOf(c))
		}
	}
	return q.show(http.StatusOK, "find", "Find", page)
}

func foundOf(c desk.Found) foundCase {
	row := foundCase{Link: caseLink(c.Case), Case: string(c.Case), Patient: c.Patient, Phone: c.Phone, Dial: dialled(c.Phone), Surgeon: c.Surgeon, Next: nextWords(c.Next)}
	if !c.Surgery.IsZero() {
		row.Surgery = longDay(c.Surgery)
	}
	for _, m := range []struct {
		is    bool
		words string
	}{{c.Waiting, "waits for a surgeon"}, {c.Overdue, "overdue"}, {c.InWindow, "in a window this month"}} {
		if m.is {
			row.Marks = append(row.Marks, m.words)
		}
	}
	return row
}

// inWords writes the name of a step as words.
var inWords = strings.NewReplacer("re-entry", "re-entry", "-", " ")

// nextWords says which step is next and when.
func nextWords(n desk.Next) string {
	n.Title = inWords.Replace(n.Title)
	switch {
	case n.Title == "":
		return ""
	case n.Day.IsZero():
		return n.Title + ", without a day"
	case n.Booked:
		return n.Title + ", booked " + longDay(n.Day)
	}
	return n.Title + ", proposed " + longDay(n.Day)
}
