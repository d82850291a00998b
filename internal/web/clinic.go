package web

import (
	"net/http"
	"strings"

	"graftclock/internal/ledger"
)

// clinicRoutes are the addresses of the clinic itself: its days, rooms and people, its
// rules, its feeds, and who may sign in.
func (s *Server) clinicRoutes() []route {
	get, post := http.MethodGet, http.MethodPost
	routes := []route{
		{get, "/clinic", signedIn, "clinic", (*request).getClinic},
		{get, "/clinic/hit", signedIn, "visits that the clinic cannot hold", func(q *request) error { return q.showHit(http.StatusOK, nil) }},
		{post, "/clinic/hit/{case}", signedIn, "settle a case from the list of hit visits", (*request).postHit},
		{get, "/clinic/rules", signedIn, "rules", (*request).getRules},
		{get, "/clinic/rules/{rule}", signedIn, "rule", func(q *request) error { return q.showRule("", nil) }},
		{post, "/clinic/rules/{rule}/adopt", signedIn, "adopt a rule value", (*request).postAdopt},
		{post, "/clinic/rules/{rule}/take-back", signedIn, "take a rule value back", (*request).postTakeBack},
		{get, "/clinic/feeds", signedIn, "feeds of the desk", func(q *request) error { return q.showFeeds(http.StatusOK, nil) }},
		{post, "/clinic/feeds", signedIn, "open a feed of the desk", (*request).postDeskFeed},
		{post, "/clinic/feeds/revoke", signedIn, "end a feed of the desk", (*request).postRevokeDeskFeed},
		{get, "/clinic/people", signedIn, "sign-ins", func(q *request) error { return q.showPeople(http.StatusOK, "", nil) }},
		{post, "/clinic/people/password", signedIn, "set the password of somebody", (*request).postPersonPassword},
		{post, "/clinic/people/end", signedIn, "end a sign-in", (*request).postEndSignIn},
		{get, "/clinic/history", signedIn, "history of the clinic", (*request).getClinicHistory},
	}
	for _, a := range clinicActs {
		if !a.bare {
			routes = append(routes, route{get, a.address(), signedIn, "form: " + a.says, func(q *request) error { return q.getClinicForm(a) }})
		}
		routes = append(routes, route{post, a.address(), signedIn, a.says, func(q *request) error { return q.postClinic(a) }})
	}
	return routes
}

// changesClinic spares everybody else what package desk would refuse them.
func changesClinic(p ledger.Person) bool { return isSurgeon(p) || p.Role == "desk" }

// clinicHead is what stands on top of every page of the clinic.
type clinicHead struct {
	Problem  *problem
	Page     string // which of them it is
	Changes  bool   // who looks may change the clinic
	Surgeons bool   // who looks is a surgeon
}

func (q *request) clinicHead(page string, wrong *problem) clinicHead {
	return clinicHead{Problem: wrong, Page: page, Changes: changesClinic(q.who), Surgeons: isSurgeon(q.who)}
}

// doneIn tells what was done on a page of the clinic, or shows that page with why it
// was not.
func (q *request) doneIn(to, says string, err error, show func(status int, wrong *problem) error) error {
	if err == nil {
		return q.done(says, to)
	}
	wrong, status, _, err := q.refused("", err)
	if err != nil {
		return err
	}
	return show(status, wrong)
}

// clinicForm reads what a form sent. Bytes that are no text become the sign for that, so
// that a page which shows them again stays one.
func (q *request) clinicForm() error {
	err := q.form()
	for _, values := range q.PostForm {
		for n := range values {
			values[n] = strings.ToValidUTF8(values[n], "\uFFFD")
		}
	}
	return err
}
