package web

import (
	"errors"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// doorRoutes are the addresses by which people come in and go out.
func (s *Server) doorRoutes() []route {
	return []route{
		{http.MethodGet, "/sign-in", anybody, "sign in", func(q *request) error { return q.showSignIn(http.StatusOK, "", newCarried(q)) }},
		{http.MethodPost, "/sign-in", anybody, "sign in", (*request).postSignIn},
		{http.MethodPost, "/sign-out", signedIn, "sign out", (*request).postSignOut},
		{http.MethodGet, "/password", signedIn, "own password", func(q *request) error { return q.showPassword(http.StatusOK, "") }},
		{http.MethodPost, "/password", signedIn, "change own password", (*request).postPassword},
	}
}

// carried is what somebody was about to do when their sign-in had run out. It goes
// through the sign-in page as hidden fields, so that nothing typed is lost.
type carried struct {
	To      string // the address it was for, on this program
	Posts   bool   // it was sent by a form
	TooMuch bool   // and is more than can be carried
	Fields  []carriedField
}

type carriedField struct{ Name, Value string }

// carriedPrefix marks the hidden fields of what is carried.
const carriedPrefix = "typed."

// newCarried reads what is carried out of a request: one that needs a sign-in, or
// the sign-in page's own form.
func newCarried(q *request) carried {
	if q.URL.Path == "/sign-in" {
		c := carried{To: localPath(q.FormValue("to")), Posts: q.FormValue("posts") == "yes"}
		c.Fields = fieldsOf(q.PostForm, func(name string) (string, bool) { return strings.CutPrefix(name, carriedPrefix) })
		return c
	}
	c := carried{To: localPath(q.URL.RequestURI()), Posts: q.Method == http.MethodPost && !strings.HasSuffix(q.URL.Path, "/password")}
	if c.Posts {
		var big *http.MaxBytesError
		c.TooMuch = errors.As(q.readForm(), &big)
		c.Posts = !c.TooMuch
		c.Fields = fieldsOf(q.PostForm, func(name string) (string, bool) { return name, true })
		if files, err := carriedFiles(q.MultipartForm); err == nil {
			c.Fields = append(c.Fields, files...)
		}
	}
	return c
}

// fieldsOf lists the values of a form by name, each in its order.
func fieldsOf(form url.Values, name func(string) (string, bool)) []carriedField {
	var list []carriedField
	for _, key := range slices.Sorted(maps.Keys(form)) {
		if own, ok := name(key); ok {
			for _, value := range form[key] {
				list = append(list, carriedField{own, value})
			}
		}
	}
	return list
}

// localPath keeps an address that leads to a page of this program; any other becomes
// the first page.
func localPath(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n") || strings.HasPrefix(u.Path, "/sign-") {
		return "/"
	}
	return to
}

// signInPage is what the page to sign in shows.
type signInPage struct {
	Says    string
	Name    string
	Carried carried
	Demo    []string
}

// signInFirst answers who is not signed in. A page asked for by the script gets no
// page to show, only the status.
func (s *Server) signInFirst(q *request) {
	if q.Header.Get("Sec-Fetch-Dest") == "empty" {
		http.Error(q.w, "Sign in again.", http.StatusUnauthorized)
		return
	}
	says := ""
	c := newCarried(q)
	switch {
	case c.TooMuch:
		says = "The sign-in has run out. What was sent is more than a page takes (4 MB), and is not kept."
	case c.Posts:
		says = "The sign-in has run out. What you typed is kept: sign in, and send it."
	}
	if err := q.showSignIn(http.StatusUnauthorized, says, c); err != nil {
		s.fail(q, err)
	}
}

func (q *request) showSignIn(status int, says string, c carried) error {
	return q.show(status, "sign-in", "Sign in", signInPage{says, q.PostFormValue("name"), c, q.s.Demo})
}

// errTooMany refuses who tries passwords too fast.
var errTooMany = errors.New("too many tries at a password")

// mayTry counts a try at the password of a name. Name and client are counted apart, so
// that one who guesses can lock nobody out for long.
func (q *request) mayTry(name string) error {
	if q.s.signIns.allow(q.s.client(q.Request), q.at) && q.s.tries.allow(name, q.at) {
		return nil
	}
	q.w.Header().Set("Retry-After", "60")
	return errTooMany
}

// ownPassword refuses who does not know the password of the person who is signed in, as
// somebody at a screen that was left open does not. Tries are counted as at the door.
func (q *request) ownPassword(secret string) error {
	if err := q.mayTry(q.who.Name); err != nil {
		return err
	}
	_, _, err := q.keeper.SignIn(q.who.Name, secret, q.at)
	if isRefusal(err) {
		return &graft.Refusal{Kind: graft.Invalid, Message: "that is not your own password"}
	}
	return err
}

// postSignIn lets a person in.
func (q *request) postSignIn() error {
	name, password := strings.TrimSpace(q.PostFormValue("name")), q.PostFormValue("password")
	c := newCarried(q)
	var person ledger.Person
	var version int
	err := q.mayTry(name)
	if err == nil {
		person, version, err = q.keeper.SignIn(name, password, q.at)
	}
	if err != nil {
		p, status := q.s.problemOf(err)
		return q.showSignIn(status, p.Says, c)
	}
	if err := q.s.signIn(q, person, version); err != nil {
		return err
	}
	if !c.Posts {
		return q.to(c.To)
	}
	return q.show(http.StatusOK, "carried", "Signed in", c)
}

func (q *request) postSignOut() error {
	q.s.signOut(q)
	q.w.Header().Set("Clear-Site-Data", `"cache", "storage"`)
	return q.to("/sign-in")
}

func (q *request) showPassword(status int, says string) error {
	return q.show(status, "password", "Your password", struct{ Says, Who string }{says, q.who.Name})
}

// postPassword changes one's own password; who does so knows the old one. It ends
// every other sign-in of the person.
func (q *request) postPassword() error {
	fresh := q.PostFormValue("new")
	if fresh != q.PostFormValue("again") {
		return q.showPassword(http.StatusUnprocessableEntity, "The two new passwords differ.")
	}
	err := q.ownPassword(q.PostFormValue("old"))
	if err == nil {
		err = q.keeper.SetPassword(q.actor(), q.who.Name, fresh)
	}
	if err != nil {
		p, status := q.s.problemOf(err)
		return q.showPassword(status, p.Says)
	}
	_, version, err := q.keeper.SignIn(q.who.Name, fresh, q.at)
	if err != nil {
		return err
	}
	if err := q.s.signIn(q, q.who, version); err != nil {
		return err
	}
	return q.done("Your password is changed. Every other sign-in of yours has ended.", "/")
}
