package web

import (
	"errors"
	"net/http"
	"strconv"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/ledger"
)

// request is one question of a browser, with who asks and the clinic as it stands.
type request struct {
	*http.Request
	w http.ResponseWriter
	s *Server
	rooms
	session bool          // sessions are read for this address
	who     ledger.Person // nobody: not signed in
	at      time.Time
	on      day.Day
}

func (s *Server) request(w http.ResponseWriter, r *http.Request, session bool) *request {
	at := s.Now()
	q := &request{Request: r, w: w, s: s, rooms: s.house.open(), session: session, at: at, on: day.Of(at)}
	q.who = s.signedIn(q)
	return q
}

// actor is who acts, having seen what the form says they saw.
func (q *request) actor() desk.Actor {
	return desk.Actor{Person: q.who, At: q.at, On: q.on, Seen: q.seen()}
}

// seen is the case's latest change that the page of a form showed; 0 where the form does
// not say.
func (q *request) seen() int64 {
	seen, err := strconv.ParseInt(q.PostFormValue("seen"), 10, 64)
	if err != nil || seen < 0 {
		return 0
	}
	return seen
}

// errUnseen refuses an act whose form does not say what its page showed.
var errUnseen = errors.New("an act without what its page showed")

// saysSeen reads a form that acts on a case, and refuses one that does not say what its
// page showed: it could overwrite what nobody looked at.
func (q *request) saysSeen() error {
	if err := q.readForm(); err != nil {
		return err
	}
	if q.seen() == 0 {
		return errUnseen
	}
	return nil
}

// done tells on the next page what was done, and goes there.
func (q *request) done(says, to string) error {
	q.s.present.tell(q.s.sessions.Token(q.Context()), says)
	return q.to(to)
}

// back is the page that a form came from, where it says so and another would be gone
// to.
func (q *request) back(other string) string {
	if from := q.PostFormValue("back"); from != "" {
		return localPath(from)
	}
	return other
}

// to sends the browser to another page of this program.
func (q *request) to(path string) error {
	http.Redirect(q.w, q.Request, path, http.StatusSeeOther)
	return nil
}

// download hands out a file under a name.
func (q *request) download(name, kind string, data []byte) error {
	h := q.w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", `attachment; filename="`+name+`"`)
	h.Set("Content-Length", strconv.Itoa(len(data)))
	q.w.Write(data) // a browser may be gone
	return nil
}
