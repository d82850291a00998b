package browser_test

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/cli"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
	"graftclock/internal/sqlite"
	"graftclock/internal/web"
)

// People of the demo clinic, and the password that each of them has in these tests.
const (
	surgeon = "Dr Alba Quill"
	nurse   = "Nurse Wyn Tate"
	clerk   = "Ida Marlow"
	secret  = "seven boats below the pier"
)

// dayOne is the morning on which the tests begin: two working days after the surgery
// of the case HR-2041.
var dayOne = time.Date(2027, time.January, 18, 8, 40, 0, 0, time.UTC)

// house is a clinic with its ledger, its pages on loopback and a clock that the test
// moves.
type house struct {
	t      testing.TB
	folder string
	home   string
	clock  atomic.Int64
	pages  atomic.Pointer[web.Server]
	store  *sqlite.Store
	stop   func()
	log    words
}

// openHouse opens the demo clinic with some of its records in the ledger.
func openHouse(t testing.TB, records ...string) *house {
	t.Helper()
	h := newHouse(t, filepath.Join(t.TempDir(), "clinic"), dayOne)
	copyFile(t, demoFile("clinic.yaml"), filepath.Join(h.folder, "clinic.yaml"))
	h.open()
	for _, name := range records {
		h.command(surgeon, "admit", demoFile(name+".yaml"))
	}
	for _, name := range []string{surgeon, nurse, clerk} {
		h.password(name)
	}
	return h
}

// newHouse serves a folder as soon as it is opened.
func newHouse(t testing.TB, folder string, at time.Time) *house {
	t.Helper()
	if err := os.MkdirAll(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	h := &house{t: t, folder: folder, stop: func() {}}
	h.clock.Store(at.Unix())
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { h.pages.Load().ServeHTTP(w, r) }))
	h.home = server.URL
	t.Cleanup(func() {
		server.Close()
		h.stop()
		if t.Failed() {
			t.Logf("the program's log:\n%s", h.log.String())
		}
	})
	return h
}

func demoFile(name string) string { return filepath.Join(reference.Root(), "testdata", "demo", name) }

func copyFile(t testing.TB, from, to string) {
	t.Helper()
	data, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(to, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// now is the clinic's clock.
func (h *house) now() time.Time { return time.Unix(h.clock.Load(), 0).UTC() }

// later moves the clock on.
func (h *house) later(d time.Duration) { h.clock.Add(int64(d / time.Second)) }

func (h *house) clinic() string { return filepath.Join(h.folder, "clinic.yaml") }

// open starts the program on the folder; where it runs already, it is ended first, as
// when the computer is started anew.
func (h *house) open() {
	h.t.Helper()
	h.stop()
	store, err := sqlite.Open(filepath.Join(h.folder, "clinic.ledger"))
	if err != nil {
		h.t.Fatal(err)
	}
	// The library that keeps sessions counts by the machine's clock; the pages' own ends of a
	// sign-in follow the clinic's.
	pages, err := web.New(web.Options{
		Load: h.load, Stamp: h.stamp, Files: files{h.folder}, Store: desk.Keep(store), Sessions: store.Sessions(time.Now), Now: h.now,
		Log: slog.New(slog.NewTextHandler(&h.log, nil)), Local: true,
	})
	if err != nil {
		h.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	var work sync.WaitGroup
	work.Go(func() { pages.Work(ctx) })
	h.store = store
	h.pages.Store(pages)
	h.stop = func() {
		cancel()
		work.Wait()
		if err := store.Close(); err != nil {
			h.t.Error(err)
		}
	}
}

// load reads the clinic file as the command line does.
func (h *house) load() (*desk.Desk, error) {
	read := func(name string) ([]byte, error) { return os.ReadFile(filepath.Join(h.folder, name)) }
	data, err := os.ReadFile(h.clinic())
	if err != nil {
		return nil, err
	}
	clinic, faults := casefile.ReadClinic(h.clinic(), data, read)
	if len(faults) > 0 {
		return nil, faults
	}
	rules := protocol.Default()
	if clinic.Protocol != "" {
		own, err := read(clinic.Protocol)
		if err != nil {
			return nil, err
		}
		if rules, faults = rules.Adopt(clinic.Protocol, own); len(faults) > 0 {
			return nil, faults
		}
	}
	return desk.New(clinic, rules), nil
}

// stamp changes with the files of the folder but for the ledger.
func (h *house) stamp() string {
	var all bytes.Buffer
	paths, _ := filepath.Glob(filepath.Join(h.folder, "*.yaml"))
	for _, path := range paths {
		data, err := os.ReadFile(path)
		fmt.Fprintln(&all, path, err, string(data))
	}
	return all.String()
}

// keeper is the desk behind the pages.
func (h *house) keeper() *desk.Keeper {
	h.t.Helper()
	d, err := h.load()
	if err != nil {
		h.t.Fatal(err)
	}
	return desk.NewKeeper(d, desk.Keep(h.store))
}

// live is a case as the ledger has it today.
func (h *house) live(id graft.CaseID) desk.Live {
	h.t.Helper()
	live, err := h.keeper().Live(id, day.Of(h.now()))
	if err != nil {
		h.t.Fatal(err)
	}
	return live
}

// cases are all that the ledger has.
func (h *house) cases() []ledger.Kept {
	h.t.Helper()
	var all []ledger.Kept
	err := desk.Keep(h.store).View(func(l desk.Ledger) (err error) {
		all, err = l.Cases()
		return err
	})
	if err != nil {
		h.t.Fatal(err)
	}
	return all
}

func (h *house) password(name string) {
	h.t.Helper()
	at := h.now()
	if err := h.keeper().SetPassword(desk.Terminal(at, day.Of(at)), name, secret); err != nil {
		h.t.Fatal(err)
	}
}

// nobody is who runs a command that asks for no name.
const nobody = ""

// command runs the program on the command line, on the same ledger and by the same
// clock, and returns what it prints.
func (h *house) command(as string, args ...string) string {
	h.t.Helper()
	args = append(args, "--clinic", h.clinic())
	if as != nobody {
		args = append(args, "--as", as)
	}
	var out, errs bytes.Buffer
	if code := cli.MainAt(h.now, args, nil, &out, &errs); code != 0 {
		h.t.Fatalf("graftclock %v ends with %d\n%s%s", args, code, out.String(), errs.String())
	}
	return out.String()
}

// signedIn opens a tab in which a person has signed in.
func (h *house) signedIn(name string) *page {
	h.t.Helper()
	p := newPage(h.t, h.home)
	p.goTo("/sign-in")
	p.signIn(name)
	return p
}

// signIn fills in the page to sign in that the tab shows.
func (p *page) signIn(name string) {
	p.t.Helper()
	p.fill("Name, as in the clinic file", name)
	p.fill("Password", secret)
	p.follow("Sign in")
}

// files are the clinic's files for the pages that change them.
type files struct{ folder string }

// ClinicName implements desk.ClinicFiles.
func (f files) ClinicName() string { return "clinic.yaml" }

// RulesName implements desk.ClinicFiles.
func (f files) RulesName() string { return "" }

// Read implements desk.ClinicFiles.
func (f files) Read(name string) ([]byte, error) { return os.ReadFile(filepath.Join(f.folder, name)) }

// Replace implements desk.ClinicFiles, for one program at a time.
func (f files) Replace(name string, was, now []byte) error {
	path := filepath.Join(f.folder, name)
	if data, err := os.ReadFile(path); err == nil && !bytes.Equal(data, was) {
		return fmt.Errorf("%s says something else", name)
	}
	if now == nil {
		return os.Remove(path)
	}
	return os.WriteFile(path, now, 0o600)
}

// words is a text that several write.
type words struct {
	mu   sync.Mutex
	text bytes.Buffer
}

// Write implements io.Writer.
func (w *words) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.Write(b)
}

func (w *words) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.String()
}
