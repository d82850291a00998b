// Package web shows the desk in a browser: pages on which the front desk books and
// the surgeon decides. It calls the methods of package desk that the command line
// calls, decides nothing by itself and does no arithmetic on a case.
package web

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/alexedwards/scs/v2"

	"graftclock/internal/day"
	"graftclock/internal/desk"
)

// Options say what the pages stand on.
type Options struct {
	// Load reads the clinic file and its rules. Stamp changes whenever a file that
	// Load reads has changed; it is asked at every request.
	Load  func() (*desk.Desk, error)
	Stamp func() string

	Store    desk.Store
	Files    desk.ClinicFiles // the clinic's files, for changes
	Sessions scs.Store        // keeps who is signed in, over a restart
	Now      func() time.Time
	Log      *slog.Logger // gets no name, no address line and nothing of a case

	Secure bool // the browser speaks https, to this program or to a proxy before it
	Proxy  bool // requests come through a proxy that names the client in X-Forwarded-For
	Local  bool // only this machine is served: any other host name is refused

	Idle, Absolute time.Duration // ends of a sign-in; 0: the default

	Demo []string // sentences for the sign-in page of the demonstration
}

// Ends of a sign-in unless Options say otherwise: an hour without a click, a
// working day in all.
const (
	defaultIdle     = time.Hour
	defaultAbsolute = 12 * time.Hour
)

// Server answers the browsers of one clinic.
type Server struct {
	Options
	house    *house
	sessions *scs.SessionManager
	present  *presence
	pages    pages
	assets   assets
	written  written
	handler  http.Handler
	signIns  *limits // by client
	tries    *limits // by name
	feeds    *limits // by client
	typing   *typing
	underWay atomic.Int64 // requests that are being answered
}

// New returns the server of a clinic. It fails when the clinic file has faults or a
// template is broken.
func New(o Options) (*Server, error) {
	if o.Idle == 0 {
		o.Idle = defaultIdle
	}
	if o.Absolute == 0 {
		o.Absolute = defaultAbsolute
	}
	s := &Server{Options: o}
	s.signIns, s.tries, s.feeds, s.typing = signInLimits(), tryLimits(), feedLimits(), newTyping()
	var err error
	if s.house, err = newHouse(o, s.giveWay); err != nil {
		return nil, err
	}
	if s.assets, err = readAssets(); err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	if s.pages, err = parsePages(s.assets); err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	s.sessions, s.present = s.newSessions(), newPresence()
	s.handler = s.guarded(s.mux())
	return s, nil
}

// rest is how long Work waits when nothing is left to do.
const rest = time.Second

// batch is how many cases Work plans anew before it looks round.
const batch = 20

// Work keeps the lists of the desk ready until the context ends.
func (s *Server) Work(ctx context.Context) {
	for ctx.Err() == nil {
		left, err := s.house.open().board.Deepen(day.Of(s.Now()), batch)
		if err != nil {
			s.Log.Error("the lists could not be brought up to date", "kind", kinds(err))
		}
		if left > 0 && err == nil {
			continue
		}
		select {
		case <-ctx.Done():
		case <-time.After(rest):
		}
	}
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.underWay.Add(1)
	defer s.underWay.Add(-1)
	s.handler.ServeHTTP(w, r)
}

// How Work gives way to those who wait for a page: it looks again after a moment, and
// goes on after some even if pages are asked for without end.
const (
	pause  = time.Millisecond
	pauses = 20
)

// giveWay waits while requests are being answered, but not for long.
func (s *Server) giveWay() {
	for n := 0; n < pauses && s.underWay.Load() > 0; n++ {
		time.Sleep(pause)
	}
}
