package web_test

import (
	"bytes"
	"errors"
	"log"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"

	"graftclock/internal/web"
)

// forgetful keeps no session while it fails.
type forgetful struct {
	scs.Store
	fails *atomic.Bool
}

func (f forgetful) Commit(token string, b []byte, expiry time.Time) error {
	if f.fails.Load() {
		return errors.New("the disk is full, says Fenwick")
	}
	return f.Store.Commit(token, b, expiry)
}

// said is what a server of the http package complains of.
type said struct {
	mu sync.Mutex
	bytes.Buffer
}

func (s *said) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.Buffer.Write(p)
}

func (s *said) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.Buffer.String()
}

// TestASessionThatCannotBeKeptIsOneAnswer fills the disk under the sessions: whatever was
// asked for is answered once, as not shown, and nothing follows it.
func TestASessionThatCannotBeKeptIsOneAnswer(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	id := s.admit("fenwick")
	fails, complaints := &atomic.Bool{}, &said{}
	s.options.Sessions = forgetful{s.options.Sessions, fails}
	pages, err := web.New(s.options)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewUnstartedServer(pages)
	server.Config.ErrorLog = log.New(complaints, "", 0)
	server.Start()
	t.Cleanup(server.Close)
	s.url = server.URL
	b, other := s.as(front), s.as("")
	b.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	other.client.CheckRedirect = b.client.CheckRedirect
	s.clock.set("2027-01-26 08:50") // from now on a click is written down again
	fails.Store(true)
	of := "/case/" + string(id)
	for name, ask := range map[string]func() answer{
		"a page": func() answer { return b.get(of) },
		"a file": func() answer { return b.post(of+"/file/desk.ics", nil) },
		"an act": func() answer {
			return b.post(of+"/contact", url.Values{"id": {string(wound)}, "outcome": {"no answer"}})
		},
		"a page not done": func() answer { return b.get("/case/none") },
		"a sign-in": func() answer {
			return other.post("/sign-in", url.Values{"name": {front}, "password": {password}})
		},
	} {
		got := ask()
		if got.status != http.StatusServiceUnavailable || strings.TrimSpace(got.body) != "The sign-in could not be kept in the ledger, so no page is shown. Look whether what you sent was done before you send it again." {
			t.Errorf("%s: %d\n%s", name, got.status, got.body)
		}
		for _, header := range []string{"Location", "Content-Disposition", "Set-Cookie"} {
			if is := got.header.Get(header); is != "" {
				t.Errorf("%s: %s: %s", name, header, is)
			}
		}
		if kind := got.header.Get("Content-Type"); !strings.HasPrefix(kind, "text/plain") {
			t.Errorf("%s: %s", name, kind)
		}
	}
	if got := complaints.String(); got != "" {
		t.Errorf("the server complains: %s", got)
	}
	if told := s.log.String(); !strings.Contains(told, "a session could not be read or kept") || strings.Contains(told, "Fenwick") {
		t.Errorf("the log: %s", told)
	}
	fails.Store(false)
	if got := b.get(of); got.status != http.StatusOK || !got.says("Nora Fenwick") {
		t.Errorf("when there is room again: %d", got.status)
	}
}
