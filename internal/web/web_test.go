package web_test

import (
	"bytes"
	"html"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
	"graftclock/internal/sqlite"
	"graftclock/internal/web"
)

// The people of the demo clinic, and the password of all of them.
const (
	surgeon  = "Dr Alba Quill"
	nurse    = "Nurse Wyn Tate"
	front    = "Ida Marlow"
	password = "nine quiet herons at dusk"
)

// clock is a clock that a test moves.
type clock struct {
	mu sync.Mutex
	at time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

// set moves the clock to a time such as "2027-01-26 08:30".
func (c *clock) set(text string) {
	at, err := time.Parse("2006-01-02 15:04", text)
	if err != nil {
		panic(err)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = at
}

// served is the demo clinic with its pages on loopback.
type served struct {
	t      testing.TB
	url    string
	folder string // holds clinic.yaml and clinic.ledger
	keeper *desk.Keeper
	store  desk.Store
	clock  *clock
	log    *bytes.Buffer

	options web.Options
	pages   *web.Server
}

// serve opens the demo clinic on an empty ledger at a time.
func serve(t testing.TB, at string) *served {
	t.Helper()
	s := &served{t: t, folder: t.TempDir(), clock: &clock{}, log: &bytes.Buffer{}}
	s.clock.set(at)
	data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", "clinic.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(s.folder, "clinic.yaml")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	load := func() (*desk.Desk, error) {
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		c, faults := casefile.ReadClinic(path, data, os.ReadFile)
		if len(faults) > 0 {
			return nil, faults
		}
		rules := protocol.Default()
		if c.Protocol != "" {
			own, err := os.ReadFile(filepath.Join(s.folder, c.Protocol))
			if err != nil {
				return nil, err
			}
			if rules, faults = rules.Adopt(c.Protocol, own); len(faults) > 0 {
				return nil, faults
			}
		}
		return desk.New(c, rules), nil
	}
	ledger, err := sqlite.Open(filepath.Join(s.folder, "clinic.ledger"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ledger.Close() })
	s.store = desk.Keep(ledger)
	house, err := load()
	if err != nil {
		t.Fatal(err)
	}
	s.keeper = desk.NewKeeper(house, s.store)
	s.options = web.Options{
		Load: load, Stamp: s.stamp, Files: folderFiles(s.folder),
		Store: s.store, Sessions: ledger.Sessions(time.Now), Now: s.clock.now, Log: slog.New(slog.NewTextHandler(s.log, nil)), Local: true,
	}
	s.start()
	return s
}

// start starts the pages, and once more after they were stopped: on the same ledger,
// with the same people signed in.
func (s *served) start() {
	s.t.Helper()
	pages, err := web.New(s.options)
	if err != nil {
		s.t.Fatal(err)
	}
	s.pages = pages
	server := httptest.NewServer(pages)
	s.t.Cleanup(server.Close)
	s.url = server.URL
}

// catchUp waits until the lists of the desk are whole.
func (s *served) catchUp() {
	s.t.Helper()
	if err := s.pages.CatchUp(); err != nil {
		s.t.Fatal(err)
	}
}

// actor is a person of the clinic at the time of the clock.
func (s *served) actor(name string) desk.Actor {
	s.t.Helper()
	p, err := s.keeper.Person(name)
	if err != nil {
		s.t.Fatal(err)
	}
	return desk.Actor{Person: p, At: s.clock.now(), On: day.Of(s.clock.now())}
}

// admit takes a record of the demo clinic in, changed.
func (s *served) admit(name string, changes ...string) graft.CaseID {
	s.t.Helper()
	data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", name+".yaml"))
	if err != nil {
		s.t.Fatal(err)
	}
	canonical, _, faults := casefile.Canonical(name, data)
	if len(faults) > 0 {
		s.t.Fatal(faults)
	}
	record, c, faults, err := casefile.Change(name, canonical, changes)
	if err != nil || len(faults) > 0 {
		s.t.Fatal(err, faults)
	}
	if did := s.keeper.Admit(s.actor(front), record, c, ""); did.Err != nil {
		s.t.Fatal(did.Err)
	}
	return c.ID
}

// live is a case as it stands.
func (s *served) live(id graft.CaseID) desk.Live {
	s.t.Helper()
	live, err := s.keeper.Live(id, day.Of(s.clock.now()))
	if err != nil {
		s.t.Fatal(err)
	}
	return live
}

// browser is a browser in which somebody is signed in.
type browser struct {
	t      testing.TB
	client *http.Client
	url    string
}

// answer is what a browser got, after any redirect.
type answer struct {
	status int
	path   string // where it ended
	header http.Header
	body   string
}

// as opens a browser and signs a person in; nobody with an empty name.
func (s *served) as(name string) *browser {
	s.t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		s.t.Fatal(err)
	}
	b := &browser{s.t, &http.Client{Jar: jar}, s.url}
	if name == "" {
		return b
	}
	if err := s.keeper.SetPassword(desk.Terminal(s.clock.now(), day.Of(s.clock.now())), name, password); err != nil {
		s.t.Fatal(err)
	}
	if got := b.post("/sign-in", url.Values{"name": {name}, "password": {password}, "to": {"/day/2027-01-14"}}); got.status != http.StatusOK {
		s.t.Fatalf("%s is not signed in: %d\n%s", name, got.status, got.body)
	}
	return b
}

func (b *browser) get(path string) answer {
	b.t.Helper()
	return b.answer(b.client.Get(b.url + path))
}

func (b *browser) post(path string, form url.Values) answer {
	b.t.Helper()
	return b.answer(b.client.PostForm(b.url+path, form))
}

func (b *browser) answer(r *http.Response, err error) answer {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return answer{r.StatusCode, r.Request.URL.RequestURI(), r.Header, string(body)}
}

// says reports whether a page has words, whatever its white space and however its
// signs are written.
func (a answer) says(words string) bool {
	return strings.Contains(strings.Join(strings.Fields(html.UnescapeString(a.body)), " "), words)
}
