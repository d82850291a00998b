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
	m.ErrorFunc = func(w http.ResponseWriter, _ *http.Request, err error) {
		s.Log.Error("a session could not be read or kept", "kind", kindOf(err))
		http.Error(w, "The ledger could not be read. Try again in a moment.", http.StatusServiceUnavailable)
	}
	return m
}

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
