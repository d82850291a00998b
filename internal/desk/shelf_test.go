package desk_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/caldav"
	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
	"graftclock/internal/reference/radicale"
	"graftclock/internal/sqlite"
)

// sharing is a clinic with a ledger and a calendar of its own on a server that others
// have made, and somebody else who writes into that calendar too.
type sharing struct {
	*testing.T
	keeper *desk.Keeper
	store  desk.Store
	file   string // of the ledger
	shelf  desk.Shelf
	wire   *wire          // what the desk says to the server
	other  *caldav.Client // somebody else
	ida    desk.Actor
}

// demoHouse is the demo clinic as it is, one for all: a desk serves any number of callers
// at once, and knows nothing that its ledger does not tell.
var demoHouse = sync.OnceValue(func() *desk.Desk {
	path := filepath.Join(reference.Root(), "testdata", "demo", "clinic.yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		panic(err)
	}
	c, faults := casefile.ReadClinic(path, data, os.ReadFile)
	if len(faults) > 0 {
		panic(faults)
	}
	return desk.New(c, protocol.Default())
})

// share opens a clinic with an empty ledger and an empty calendar, on the morning of
// 18 January 2027.
func share(t *testing.T, server *radicale.Server, changes ...func(*casefile.Clinic)) *sharing {
	t.Helper()
	file := filepath.Join(t.TempDir(), "clinic.ledger")
	store, err := sqlite.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	house := demoHouse()
	if len(changes) > 0 {
		c := demoClinic(t)
		for _, change := range changes {
			change(&c)
		}
		house = desk.New(c, protocol.Default())
	}
	s := &sharing{T: t, store: desk.Keep(store), file: file, wire: newWire(t), other: caller(t, server, nil)}
	s.keeper = desk.NewKeeper(house, s.store)
	s.ida = acting(t, s.keeper, "Ida Marlow", "2027-01-18")
	client := caller(t, server, s.wire)
	if s.shelf.Path, err = client.Path("/" + server.User + "/" + strings.ReplaceAll(t.Name(), "/", " ") + "/"); err != nil {
		t.Fatal(err)
	}
	s.shelf.Server, s.shelf.Name = client, "the shared calendar"
	if err := s.other.Make(t.Context(), s.shelf.Path, "Desk"); err != nil {
		t.Fatal(err)
	}
	return s
}

func caller(t *testing.T, server *radicale.Server, w http.RoundTripper) *caldav.Client {
	t.Helper()
	o := caldav.Options{URL: server.URL, User: server.User, Password: server.Password}
	if w != nil {
		o.HTTP = &http.Client{Transport: w}
	}
	c, err := caldav.New(o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// wire carries what the desk says to the server, counts it, and holds everything
// that is to be written to what must be true of it.
type wire struct {
	t     testing.TB
	inner http.Transport
	// Leaving may keep a request from leaving, arrived may lose the answer to one.
	leaving, arrived func(*http.Request) error

	mutex sync.Mutex
	sent  map[string]int // by method
}

func newWire(t testing.TB) *wire {
	nothing := func(*http.Request) error { return nil }
	w := &wire{t: t, leaving: nothing, arrived: nothing, sent: map[string]int{}}
	t.Cleanup(w.inner.CloseIdleConnections)
	return w
}

// RoundTrip implements http.RoundTripper.
func (w *wire) RoundTrip(r *http.Request) (*http.Response, error) {
	w.mutex.Lock()
	w.sent[r.Method]++
	w.mutex.Unlock()
	w.look(r)
	if err := w.leaving(r); err != nil {
		return nil, err
	}
	response, err := w.inner.RoundTrip(r)
	if err != nil {
		return nil, err
	}
	if err := w.arrived(r); err != nil {
		io.Copy(io.Discard, response.Body)
		response.Body.Close()
		return nil, err
	}
	return response, nil
}

// count tells how many requests of a method were sent.
func (w *wire) count(method string) int {
	w.mutex.Lock()
	defer w.mutex.Unlock()
	return w.sent[method]
}

// written is how many requests were sent that could change something.
func (w *wire) written() int {
	return w.count("PUT") + w.count("DELETE") + w.count("MKCALENDAR")
}

// look wants every change to say what it changes, and everything that is put to be
// one event and no message, without a fault.
func (w *wire) look(r *http.Request) {
	match, none := r.Header.Get("If-Match"), r.Header.Get("If-None-Match")
	switch r.Method {
	case "DELETE":
		if !strings.HasPrefix(match, `"`) {
			w.t.Errorf("DELETE %s with If-Match %q", r.URL.Path, match)
		}
	case "PUT":
		if !(strings.HasPrefix(match, `"`) && none == "") && !(match == "" && none == "*") {
			w.t.Errorf("PUT %s with If-Match %q and If-None-Match %q", r.URL.Path, match, none)
		}
		body, err := r.GetBody()
		if err != nil {
			w.t.Errorf("PUT %s: %v", r.URL.Path, err)
			return
		}
		data, _ := io.ReadAll(body)
		w.lint(r.URL.Path, data)
	}
}

func (w *wire) lint(path string, data []byte) {
	for _, c := range ics.Lint(data) {
		w.t.Errorf("PUT %s: %v", path, c)
	}
	uid := strings.TrimSuffix(path[strings.LastIndex(path, "/")+1:], ".ics")
	if bytes.Count(data, []byte("\r\nBEGIN:VEVENT\r\n")) != 1 || !bytes.Contains(data, []byte("\r\nUID:"+uid+"\r\n")) {
		w.t.Errorf("PUT %s is not the one event of its name:\n%s", path, data)
	}
	if regexp.MustCompile(`(?mi)^(METHOD|ORGANIZER|ATTENDEE)[:;]`).Match(data) {
		w.t.Errorf("PUT %s is a message:\n%s", path, data)
	}
}

// publish publishes at eight in the morning and wants no error.
func (s *sharing) publish() []desk.Shelving {
	s.Helper()
	did, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At, false)
	if err != nil {
		s.Fatal(err)
	}
	return did
}

// pull pulls and wants no error.
func (s *sharing) pull() []desk.Pulled {
	s.Helper()
	pulled, err := s.keeper.Pull(s.Context(), s.shelf, s.ida.On, s.ida.At)
	if err != nil {
		s.Fatal(err)
	}
	return pulled
}

func (s *sharing) book(id graft.CaseID, step graft.Step, day, clock string) {
	s.Helper()
	if _, _, err := s.keeper.Book(s.ida, id, desk.Choice{Step: step}, at(day, clock), ""); err != nil {
		s.Fatal(err)
	}
}

// rows returns what counts of what the ledger knows of the calendar.
func (s *sharing) rows() (rows []ledger.Shelved) {
	s.Helper()
	if err := s.store.View(func(l desk.Ledger) (err error) {
		rows, err = l.Shelved(s.shelf.Name, "")
		return err
	}); err != nil {
		s.Fatal(err)
	}
	return rows
}

// calendar returns all that lies in the calendar, by path.
func (s *sharing) calendar() map[string]caldav.Object {
	s.Helper()
	changes, _, err := s.other.Changes(context.Background(), s.shelf.Path, "")
	if err != nil {
		s.Fatal(err)
	}
	var paths []string
	for _, c := range changes {
		paths = append(paths, c.Path)
	}
	objects, err := s.other.Fetch(context.Background(), s.shelf.Path, paths)
	if err != nil {
		s.Fatal(err)
	}
	all := map[string]caldav.Object{}
	for _, o := range objects {
		if !o.Missing { // the server tells of what was deleted, too
			all[o.Path] = o
		}
	}
	return all
}

// object returns a visit as it lies in the calendar.
func (s *sharing) object(id graft.CaseID, step graft.Step) caldav.Object {
	s.Helper()
	for _, r := range s.rows() {
		if r.Case != id || !strings.HasPrefix(string(r.Milestone), string(step)+"/") {
			continue
		}
		o, err := s.other.Get(context.Background(), r.Path)
		if err != nil {
			s.Fatal(err)
		}
		return o
	}
	s.Fatalf("nothing is known of %s of %s", step, id)
	return caldav.Object{}
}

// shows reads the one event of an object.
func (s *sharing) shows(o caldav.Object) ics.Seen {
	s.Helper()
	events, err := ics.Read(o.Data, s.keeper.Clinic.Zone)
	if err != nil || len(events) != 1 {
		s.Fatalf("%d events at %s, %v:\n%s", len(events), o.Path, err, o.Data)
	}
	return events[0]
}

// edit has somebody else change a visit in the calendar.
func (s *sharing) edit(id graft.CaseID, step graft.Step, change func(string) string) {
	s.Helper()
	o := s.object(id, step)
	changed := change(string(o.Data))
	if changed == string(o.Data) {
		s.Fatalf("the edit changes nothing in\n%s", o.Data)
	}
	if _, err := s.other.Put(context.Background(), o.Path, o.ETag, []byte(changed)); err != nil {
		s.Fatal(err)
	}
}

// remove has somebody else delete a visit in the calendar.
func (s *sharing) remove(id graft.CaseID, step graft.Step) {
	s.Helper()
	o := s.object(id, step)
	if err := s.other.Delete(context.Background(), o.Path, o.ETag); err != nil {
		s.Fatal(err)
	}
}

// inLedger writes down all that the ledger keeps but what it knows of the calendar.
func (s *sharing) inLedger(ids ...graft.CaseID) string {
	s.Helper()
	var text strings.Builder
	if err := s.store.View(func(l desk.Ledger) error {
		for _, id := range ids {
			kept, err := l.Case(id)
			visits, err2 := l.Visits(id)
			history, err3 := l.History(id)
			history = slices.DeleteFunc(history, func(e ledger.Entry) bool { return !e.Changes() })
			issues, err4 := l.Issues(id)
			if err := errors.Join(err, err2, err3, err4); err != nil {
				return err
			}
			fmt.Fprintf(&text, "%+v\n%+v\n%+v\n%+v\n", kept, visits, history, issues)
		}
		return nil
	}); err != nil {
		s.Fatal(err)
	}
	return text.String()
}

// told writes down what a run did.
func told(did []desk.Shelving) string {
	var lines []string
	for _, d := range did {
		line := fmt.Sprintf("%s %s: %s", d.Case, d.Milestone.Title(), d.Did)
		if d.Why != "" {
			line += ": " + d.Why
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// wantTold wants a run to have done that and nothing else.
func (s *sharing) wantTold(did []desk.Shelving, want ...string) {
	s.Helper()
	if diff := cmp.Diff(strings.Join(want, "\n"), told(did)); diff != "" {
		s.Errorf("what was done (-want +got):\n%s", diff)
	}
}

// wantRest wants calendar and ledger to agree: nothing to pull and nothing to write.
func (s *sharing) wantRest() {
	s.Helper()
	before := s.wire.written()
	for _, p := range s.pull() {
		s.Errorf("still different: %s %s: %s", p.Case, p.Milestone, p.Why)
	}
	s.wantTold(s.publish())
	if wrote := s.wire.written() - before; wrote > 0 {
		s.Errorf("with nothing to do %d requests wrote", wrote)
	}
}
