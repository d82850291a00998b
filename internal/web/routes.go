package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
)

// route is one address of the program. A name that begins with a verb is an act;
// package desk decides who may.
type route struct {
	method, pattern string
	asks            asks
	name            string
	do              func(*request) error
}

// asks is what an address asks of who comes.
type asks int

const (
	signedIn asks = iota // a sign-in; and of an act on a case, what its page showed of it
	adding               // a sign-in alone: an act on a case that overwrites nothing, such as a note of a call
	anybody              // nothing
)

// overwrites reports whether the route is an act that could undo what somebody else has
// done with a case meanwhile.
func (r route) overwrites() bool {
	return r.method == http.MethodPost && strings.Contains(r.pattern, "{case}") && r.asks != adding
}

// routes lists every address that there is.
func (s *Server) routes() []route {
	return slices.Concat(s.doorRoutes(), s.morningRoutes(), s.caseRoutes(), s.recordRoutes(), s.findRoutes(), s.clinicRoutes(), s.feedRoutes(), s.dayRoutes())
}

// mux sends each request to its handler. What has no address gets a page that says
// so, and tells nobody who is not signed in what there is.
func (s *Server) mux() http.Handler {
	mux := http.NewServeMux()
	for _, a := range s.assets {
		mux.HandleFunc("GET "+a.address, a.serve)
	}
	for _, r := range s.routes() {
		mux.Handle(r.method+" "+r.pattern, s.answer(r))
	}
	mux.Handle("/", s.answer(route{name: "nowhere", do: func(q *request) error { return nowhere() }}))
	return mux
}

// pageOf names the page of a request for the log, from the list above.
func (s *Server) pageOf(r *http.Request) string {
	if r.Pattern == "" {
		return "none"
	}
	_, pattern, _ := strings.Cut(r.Pattern, " ")
	return pattern
}

// answer runs a handler with what it needs, or shows who has to sign in first.
func (s *Server) answer(r route) http.Handler {
	session := !strings.HasPrefix(r.pattern, "/feed/") // a calendar program has none
	run := http.HandlerFunc(func(w http.ResponseWriter, hr *http.Request) {
		q := s.request(w, hr, session)
		if r.asks != anybody && q.who.Name == "" {
			s.signInFirst(q)
			return
		}
		var err error
		if r.overwrites() {
			err = q.saysSeen()
		}
		if err == nil {
			err = r.do(q)
		}
		if err != nil {
			s.fail(q, err)
		}
	})
	if !session {
		return run
	}
	return s.withSession(run)
}

// kindOf tells of a fault only what it is, for its text may hold a name.
func kindOf(fault any) string { return fmt.Sprintf("%T", fault) }
