package web_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	invented "graftclock/internal/demo"
	"graftclock/internal/desk"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/sqlite"
	"graftclock/internal/web"
)

// The load: so many clients, each of whom looks at a page, reads it for a while and
// looks at the next.
const (
	loadClients = 100
	loadReading = 2 * time.Second // on average; times vary as they do with people
	loadSeed    = 2041
)

// Environment of the load: how many cases and for how long, where they lie so that
// they need not be made again, and what a child process is to serve.
const (
	envLoadCases   = "GRAFTCLOCK_LOAD_CASES"
	envLoadSeconds = "GRAFTCLOCK_LOAD_SECONDS"
	envLoadFolder  = "GRAFTCLOCK_LOAD_FOLDER"
	envLoadServe   = "GRAFTCLOCK_LOAD_SERVE"
	envLoadStatic  = "GRAFTCLOCK_LOAD_STATIC"
)

// TestMain is also the servers of the load, each a process of its own, so that what it
// takes of memory can be told.
func TestMain(m *testing.M) {
	switch folder, static := os.Getenv(envLoadServe), os.Getenv(envLoadStatic); {
	case folder != "":
		serveLoad(folder)
	case static != "":
		listen(http.FileServer(http.Dir(static)))
	default:
		os.Exit(m.Run())
	}
}

// listen answers on a free port of loopback until it is killed, and says where.
func listen(h http.Handler) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		panic(err)
	}
	fmt.Println("http://" + l.Addr().String())
	panic(http.Serve(l, h))
}

func serveLoad(folder string) {
	store, err := sqlite.Open(filepath.Join(folder, "clinic.ledger"))
	if err != nil {
		panic(err)
	}
	pages, err := web.New(web.Options{
		Load: func() (*desk.Desk, error) { return houseIn(folder) }, Stamp: func() string { return "" },
		Store: desk.Keep(store), Sessions: store.Sessions(time.Now), Now: time.Now, Log: slog.New(slog.DiscardHandler), Local: true,
	})
	if err != nil {
		panic(err)
	}
	go pages.Work(context.Background())
	listen(pages)
}

func houseIn(folder string) (*desk.Desk, error) {
	path := filepath.Join(folder, "clinic.yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	c, faults := casefile.ReadClinic(path, data, os.ReadFile)
	if len(faults) > 0 {
		return nil, faults
	}
	return desk.New(c, protocol.Default()), nil
}

// BenchmarkHundredClients lets a hundred clients look at Morning, cases and slots at
// once, and notes calls between. Beside it a server of plain files hands out the same
// pages to the same clients. It prints what 50 and 99 of a hundred answers took at
// most, and the most memory that the server took.
func BenchmarkHundredClients(b *testing.B) {
	folder := loadFolder(b)
	open := openCases(b, folder)
	pages := child(b, envLoadServe, folder)
	cookies := signedIn(b, pages.url, folder)
	waitUntilReady(b, pages.url, cookies[0])
	static := child(b, envLoadStatic, savedPages(b, pages.url, cookies[0], open[0]))
	for b.Loop() {
		ours := run(b, pages.url, cookies, func(r *rand.Rand) visit { return visitOf(r, open) })
		plain := run(b, static.url, cookies, func(r *rand.Rand) visit { return visit{path: "/" + kinds[r.IntN(len(kinds))] + ".html", kind: "plain"} })
		var all []time.Duration
		for kind, list := range ours {
			report(b, list, kind)
			all = append(all, list...)
		}
		report(b, all, "all")
		report(b, plain["plain"], "plain-file")
	}
	b.ReportMetric(pages.megabytes(b), "MB")
	b.ReportMetric(0, "ns/op")
}

var kinds = []string{"morning", "case", "slots"}

// visit is one look at a page, or a call that is noted.
type visit struct {
	path, kind string
	form       url.Values
}

// visitOf draws what a client does next.
func visitOf(r *rand.Rand, open []ledger.Visit) visit {
	v := open[r.IntN(len(open))]
	of := "/case/" + url.PathEscape(string(v.Case))
	switch n := r.IntN(100); {
	case n < 30:
		return visit{path: "/", kind: "morning"}
	case n < 65:
		return visit{path: of, kind: "case"}
	case n < 95:
		return visit{path: of + "/step?id=" + url.QueryEscape(string(v.Milestone)), kind: "slots"}
	}
	// a note of a call needs no number of what its page showed: it overwrites nothing
	return visit{path: of + "/contact", kind: "note", form: url.Values{"id": {string(v.Milestone)}, "outcome": {string(ledger.NoAnswer)}, "back": {"/static-none"}}}
}

// run lets the clients work for the time of the load and returns how long each kind of
// answer took.
func run(b *testing.B, base string, cookies []*cookiejar.Jar, next func(*rand.Rand) visit) map[string][]time.Duration {
	b.Helper()
	end := time.Now().Add(time.Duration(number(envLoadSeconds, 5)) * time.Second)
	took := map[string][]time.Duration{}
	var mu sync.Mutex
	var clients sync.WaitGroup
	for n := range loadClients {
		clients.Go(func() {
			r := rand.New(rand.NewPCG(loadSeed, uint64(n)))
			client := &http.Client{Jar: cookies[n%len(cookies)], Transport: &http.Transport{}, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
			for {
				time.Sleep(time.Duration(r.ExpFloat64() * float64(loadReading)))
				if time.Now().After(end) {
					return
				}
				v := next(r)
				from := time.Now()
				if err := look(client, base, v); err != nil {
					b.Error(err)
					return
				}
				mu.Lock()
				took[v.kind] = append(took[v.kind], time.Since(from))
				mu.Unlock()
			}
		})
	}
	clients.Wait()
	return took
}

// look asks for one page and reads it to its end.
func look(client *http.Client, base string, v visit) error {
	var r *http.Response
	var err error
	want := http.StatusOK
	if v.form != nil {
		want = http.StatusSeeOther
		r, err = client.PostForm(base+v.path, v.form)
	} else {
		r, err = client.Get(base + v.path)
	}
	if err != nil {
		return err
	}
	defer r.Body.Close()
	if _, err := io.Copy(io.Discard, r.Body); err != nil {
		return err
	}
	if r.StatusCode != want {
		return fmt.Errorf("%s: status %d", v.kind, r.StatusCode)
	}
	return nil
}

// report prints the middle and the 99th of a hundred.
func report(b *testing.B, list []time.Duration, kind string) {
	if len(list) == 0 {
		return
	}
	slices.Sort(list)
	ms := func(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
	b.ReportMetric(ms(list[len(list)/2]), kind+"-p50-ms")
	b.ReportMetric(ms(list[len(list)*99/100]), kind+"-p99-ms")
}

func number(variable string, usual int) int {
	if n, err := strconv.Atoi(os.Getenv(variable)); err == nil {
		return n
	}
	return usual
}

// loadFolder is a clinic with the cases of the load.
func loadFolder(b *testing.B) string {
	b.Helper()
	folder := os.Getenv(envLoadFolder)
	if folder == "" {
		folder = b.TempDir()
	}
	if _, err := os.Stat(filepath.Join(folder, "clinic.yaml")); err == nil {
		return folder
	}
	if _, err := invented.MakeMany(folder, time.Now(), loadSeed, password, number(envLoadCases, 300), nil); err != nil {
		b.Fatal(err)
	}
	return folder
}

// openCases are the booked visits of the clinic.
func openCases(b *testing.B, folder string) []ledger.Visit {
	b.Helper()
	store, err := sqlite.Open(filepath.Join(folder, "clinic.ledger"))
	if err != nil {
		b.Fatal(err)
	}
	defer store.Close()
	var open []ledger.Visit
	today := day.Of(time.Now())
	err = desk.Keep(store).View(func(l desk.Ledger) error {
		taken, err := l.TakenOn(day.Span{From: today, To: today.AddMonths(24)})
		for _, v := range taken {
			if v.State == ledger.Booked {
				open = append(open, v)
			}
		}
		return err
	})
	if err != nil || len(open) == 0 {
		b.Fatalf("%d open bookings, %v", len(open), err)
	}
	b.ReportMetric(float64(len(open)), "bookings")
	return open
}

// process is a server of the load.
type process struct {
	url string
	cmd *exec.Cmd
}

// child starts this test program as a server.
func child(b *testing.B, variable, value string) process {
	b.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), variable+"="+value)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		b.Fatal(err)
	}
	return process{strings.TrimSpace(line), cmd}
}

// megabytes is the most memory that a process has taken, where the system tells.
func (p process) megabytes(b *testing.B) float64 {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	peak := regexp.MustCompile(`VmHWM:\s+(\d+) kB`).FindSubmatch(status)
	if err != nil || peak == nil {
		return 0
	}
	kB, err := strconv.Atoi(string(peak[1]))
	if err != nil {
		b.Fatal(err)
	}
	const perMB = 1024
	return float64(kB) / perMB
}

// signedIn signs some people of the clinic in.
func signedIn(b *testing.B, base, folder string) []*cookiejar.Jar {
	b.Helper()
	house, err := houseIn(folder)
	if err != nil {
		b.Fatal(err)
	}
	var jars []*cookiejar.Jar
	for _, p := range house.Clinic.People[:5] {
		jar, err := cookiejar.New(nil)
		if err != nil {
			b.Fatal(err)
		}
		client := &http.Client{Jar: jar}
		r, err := client.PostForm(base+"/sign-in", url.Values{"name": {p.Name}, "password": {password}, "to": {"/find"}})
		if err != nil {
			b.Fatal(err)
		}
		r.Body.Close()
		if r.StatusCode != http.StatusOK || r.Request.URL.Path != "/find" {
			b.Fatalf("%s is not signed in: %d", p.Name, r.StatusCode)
		}
		jars = append(jars, jar)
	}
	return jars
}

// waitUntilReady waits until the lists of the desk are whole.
func waitUntilReady(b *testing.B, base string, jar *cookiejar.Jar) {
	b.Helper()
	for {
		if !bytes.Contains(page(b, base+"/find", jar), []byte("still being looked through")) {
			return
		}
		time.Sleep(time.Second)
	}
}

func page(b *testing.B, address string, jar *cookiejar.Jar) []byte {
	b.Helper()
	r, err := (&http.Client{Jar: jar}).Get(address)
	if err != nil {
		b.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil {
		b.Fatal(err)
	}
	return body
}

// savedPages are one page of each kind as plain files.
func savedPages(b *testing.B, base string, jar *cookiejar.Jar, v ledger.Visit) string {
	b.Helper()
	folder := b.TempDir()
	of := "/case/" + url.PathEscape(string(v.Case))
	for kind, path := range map[string]string{"morning": "/", "case": of, "slots": of + "/step?id=" + url.QueryEscape(string(v.Milestone))} {
		if err := os.WriteFile(filepath.Join(folder, kind+".html"), page(b, base+path, jar), 0o600); err != nil {
			b.Fatal(err)
		}
	}
	return folder
}
