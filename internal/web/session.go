package web

import (
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"graftclock/internal/ledger"
)

// What a session holds. It lies in the ledger, under a hash of its token.
const (
	nameKey    = "name"    // who
	versionKey = "version" // of their password
	sinceKey   = "since"   // when they signed in
	seenKey    = "seen"    // when they last asked for something, as of the last write
)

// seenEvery spares the ledger a write for every click; between two writes presence
// knows better.
const seenEvery = 10 * time.Minute

func (s *Server) newSessions() *scs.SessionManager {
	m := scs.New()
	m.Store, m.Lifetime, m.HashTokenInStore = s.Sessions, s.Absolute, true
	m.Cookie.Name, m.Cookie.Secure = "graftclock", s.Secure
	if s.Secure {
		m.Cookie.Name = "__Host-graftclock"
	}
	m.Cookie.SameSite, m.Cookie.Persist = http.SameSiteLaxMode, false
	m.ErrorFunc = s.notKept
	return m
}

// notKept answers a request whose session could not be read, or not be kept. The library
// keeps it just before an answer begins, when the handler is done: so what the handler
// answers is not sent.
func (s *Server) notKept(w http.ResponseWriter, _ *http.Request, err error) {
	s.Log.Error("a session could not be read or kept", "kind", kindOf(err))
	for _, header := range []string{"Location", "Content-Disposition", "Clear-Site-Data"} {
		w.Header().Del(header)
	}
	http.Error(w, "The sign-in could not be kept in the ledger, so no page is shown. Look whether what you sent was done before you send it again.", http.StatusServiceUnavailable)
	if one, ok := w.(*oneAnswer); ok {
		one.ended = true
	}
}

// withSession gives a handler the session of its request.
func (s *Server) withSession(next http.Handler) http.Handler {
	kept := s.sessions.LoadAndSave(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { kept.ServeHTTP(&oneAnswer{ResponseWriter: w}, r) })
}

// oneAnswer sends nothing more once the answer has ended.
type oneAnswer struct {
	http.ResponseWriter
	ended bool
}

// WriteHeader begins the answer.
func (o *oneAnswer) WriteHeader(code int) {
	if !o.ended {
		o.ResponseWriter.WriteHeader(code)
	}
}

// Write goes on with the answer.
func (o *oneAnswer) Write(b []byte) (int, error) {
	if o.ended {
		return len(b), nil
	}
	return o.ResponseWriter.Write(b)
}

// Unwrap lets http.ResponseController reach the writer below.
func (o *oneAnswer) Unwrap() http.ResponseWriter { return o.ResponseWriter }

// signedIn returns whose session a request belongs to; nobody if it has none, if it
// has run out, or if the person may not sign in any more.
func (s *Server) signedIn(q *request) ledger.Person {
	if !q.session {
		return ledger.Person{}
	}
	ctx := q.Context()
	name := s.sessions.GetString(ctx, nameKey)
	if name == "" {
		return ledger.Person{}
	}
	written := time.Unix(s.sessions.GetInt64(ctx, seenKey), 0)
	seen := s.present.seen(s.sessions.Token(ctx), q.at, s.Idle)
	if seen.Before(written) {
		seen = written
	}
	since := time.Unix(s.sessions.GetInt64(ctx, sinceKey), 0)
	person, err := q.keeper.SignedIn(name, s.sessions.GetInt(ctx, versionKey))
	if err != nil || q.at.Sub(seen) > s.Idle || q.at.Sub(since) > s.Absolute {
		s.signOut(q)
		return ledger.Person{}
	}
	if q.at.Sub(written) >= seenEvery {
		s.sessions.Put(ctx, seenKey, q.at.Unix())
	}
	return person
}

// signIn gives the browser a session under a new token.
func (s *Server) signIn(q *request, p ledger.Person, version int) error {
	ctx := q.Context()
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.Put(ctx, nameKey, p.Name)
	s.sessions.Put(ctx, versionKey, version)
	s.sessions.Put(ctx, sinceKey, q.at.Unix())
	s.sessions.Put(ctx, seenKey, q.at.Unix())
	s.present.seen(s.sessions.Token(ctx), q.at, s.Idle)
	q.who = p
	return nil
}

// signOut ends a session, here and in the ledger.
func (s *Server) signOut(q *request) {
	s.present.end(s.sessions.Token(q.Context()))
	if err := s.sessions.Destroy(q.Context()); err != nil {
		s.Log.Error("a session could not be ended", "kind", kindOf(err))
	}
}
