package web_test

import (
	"crypto/rand"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"graftclock/internal/graft"
	"graftclock/internal/web"
)

// fetch asks for a feed as a calendar program does.
func (s *served) fetch(path string, header ...string) answer {
	s.t.Helper()
	r, err := http.NewRequest(http.MethodGet, s.url+path, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	for n := 0; n+1 < len(header); n += 2 {
		r.Header.Set(header[n], header[n+1])
	}
	b := s.as("")
	return b.answer(b.client.Do(r))
}

// opened is an approved case with a feed.
func (s *served) opened() (graft.CaseID, string) {
	s.t.Helper()
	id := s.admit("fenwick")
	if _, err := s.keeper.Approve(s.actor(surgeon), id); err != nil {
		s.t.Fatal(err)
	}
	token := strings.ToLower(rand.Text())
	if _, err := s.keeper.OpenFeed(s.actor(front), id, "", token); err != nil {
		s.t.Fatal(err)
	}
	return id, "/feed/" + token + ".ics"
}

// TestAFeedWithoutSignIn fetches the feed of a patient and of the desk, whole and
// conditionally (RFC 9110, sections 8.8 and 13).
func TestAFeedWithoutSignIn(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	id, path := s.opened()
	s.book(id, graft.HealingReview)
	token := strings.ToLower(rand.Text())
	if _, err := s.keeper.OpenDeskFeed(s.actor(front), "", token); err != nil {
		t.Fatal(err)
	}
	got := s.fetch(path)
	if got.status != http.StatusOK || got.header.Get("Content-Type") != "text/calendar; charset=utf-8" || !strings.HasPrefix(got.body, "BEGIN:VCALENDAR\r\n") {
		t.Fatalf("%d %v\n%.200s", got.status, got.header, got.body)
	}
	for _, word := range []string{"implant", "sinus", "graft", "bone", "Fenwick", "HR-2041"} {
		if strings.Contains(strings.ReplaceAll(strings.ToLower(got.body), "graftclock", ""), strings.ToLower(word)) {
			t.Errorf("the patient's feed has the word %q", word)
		}
	}
	if len(got.header["Set-Cookie"]) > 0 {
		t.Error("a feed sets a cookie")
	}
	desks := s.fetch("/feed/" + token + ".ics")
	if desks.status != http.StatusOK || !strings.Contains(desks.body, string(id)) {
		t.Fatalf("the desk's feed: %d %s", desks.status, desks.body)
	}
	s.clock.set("2027-01-26 09:10")
	s.wantConditions(path, got)
	s.wantConditions("/feed/"+token+".ics", desks)
}

// wantConditions fetches a feed that has not changed, on conditions that hold and that do
// not.
func (s *served) wantConditions(path string, got answer) {
	s.t.Helper()
	etag, modified := got.header.Get("ETag"), got.header.Get("Last-Modified")
	if etag == "" || modified == "" {
		s.t.Fatalf("ETag %q, Last-Modified %q", etag, modified)
	}
	for _, condition := range [][]string{{"If-None-Match", etag}, {"If-Modified-Since", modified}, {"If-None-Match", `"other", ` + etag}} {
		if again := s.fetch(path, condition...); again.status != http.StatusNotModified || again.body != "" {
			s.t.Errorf("%v: %d", condition, again.status)
		}
	}
	if again := s.fetch(path, "If-None-Match", `"other"`, "If-Modified-Since", modified); again.status != http.StatusOK || again.body != got.body {
		s.t.Errorf("another ETag: %d", again.status)
	}
}

// TestAbsentAndRevokedFeedsAnswerAlike wants no difference but the time of day.
func TestAbsentAndRevokedFeedsAnswerAlike(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	id, path := s.opened()
	if _, err := s.keeper.RevokeFeed(s.actor(front), id); err != nil {
		t.Fatal(err)
	}
	revoked := s.fetch(path)
	for _, other := range []string{"/feed/" + strings.ToLower(rand.Text()) + ".ics", strings.TrimSuffix(path, ".ics"), "/feed/x.ics", "/feed/.ics", path + ".ics", "/feed/%00.ics", "/feed/" + strings.Repeat("a", 3000) + ".ics"} {
		got := s.fetch(other)
		got.header.Del("Date")
		revoked.header.Del("Date")
		if got.status != http.StatusNotFound || got.body != revoked.body || len(got.header) != len(revoked.header) {
			t.Errorf("%.40s: %d %q %v", other, got.status, got.body, got.header)
		}
	}
}

// TestAStoppedFeedIsHeldBack gives no empty calendar, which would take the dates off
// a phone.
func TestAStoppedFeedIsHeldBack(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-12 08:30")
	id := s.admit("fenwick", "health=not clear")
	token := strings.ToLower(rand.Text())
	if _, err := s.keeper.OpenFeed(s.actor(front), id, "", token); err != nil {
		t.Fatal(err)
	}
	if got := s.fetch("/feed/" + token + ".ics"); got.status != http.StatusServiceUnavailable || got.header.Get("Retry-After") == "" || strings.Contains(got.body, "VCALENDAR") {
		t.Errorf("%d %q", got.status, got.body)
	}
}

// TestFeedsAreLimited stops who asks and asks, and lets others through.
func TestFeedsAreLimited(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	s.options.Proxy, s.options.Local = true, false
	s.start()
	_, path := s.opened()
	stopped := 0
	for range 200 {
		if got := s.fetch("/feed/none.ics", "X-Forwarded-For", "198.51.100.7, 192.0.2.1"); got.status == http.StatusTooManyRequests {
			stopped++
		}
	}
	if stopped < 100 {
		t.Errorf("%d of 200 were stopped", stopped)
	}
	if got := s.fetch(path, "X-Forwarded-For", "192.0.2.1, 198.51.100.8"); got.status != http.StatusOK {
		t.Errorf("another client: %d", got.status)
	}
	if got := s.fetch(path, "X-Forwarded-For", "made up by the client, 192.0.2.1"); got.status != http.StatusTooManyRequests {
		t.Errorf("the client wrote its own address: %d", got.status)
	}
}

// TestTenThousandGuesses guesses tokens: none is let in, and how long it takes tells
// nothing, between guesses that share a beginning with a real token and those that
// do not, beyond the noise between two halves of one kind.
func TestTenThousandGuesses(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	_, path := s.opened()
	real := strings.TrimSuffix(strings.TrimPrefix(path, "/feed/"), ".ics")
	s.options.Proxy, s.options.Local = true, false
	pages, err := web.New(s.options)
	if err != nil {
		t.Fatal(err)
	}
	const guesses = 10_000
	took := [3][]time.Duration{}
	for n := range guesses {
		guess := strings.ToLower(rand.Text())
		if n%3 == 2 { // as near as can be: one letter off
			guess = real[:len(real)-1] + string("abcdefghijklmnopqrstuvwxyz234567"[n/3%32])
			if guess == real {
				continue
			}
		}
		from := time.Now()
		status := s.ask(pages, "/feed/"+guess+".ics", n)
		took[n%3] = append(took[n%3], time.Since(from))
		if status != http.StatusNotFound {
			t.Fatalf("guess %d: status %d", n, status)
		}
	}
	far, farToo, near := middle(took[0]), middle(took[1]), middle(took[2])
	t.Logf("median time of a guess: %v and %v far off, %v one letter off", far, farToo, near)
	if s.ask(pages, path, guesses) != http.StatusOK {
		t.Error("the real token is not let in")
	}
}

// ask sends one request without a network, each from a client of its own.
func (s *served) ask(pages http.Handler, path string, n int) int {
	r, err := http.NewRequest(http.MethodGet, path, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	r.Header.Set("X-Forwarded-For", string(rune('a'+n%26))+strings.Repeat("x", n/26%400))
	w := &counted{header: http.Header{}}
	pages.ServeHTTP(w, r)
	return w.status
}

// counted is an answer of which only the status is kept.
type counted struct {
	header http.Header
	status int
}

func (c *counted) Header() http.Header { return c.header }

func (c *counted) Write(data []byte) (int, error) {
	if c.status == 0 {
		c.status = http.StatusOK
	}
	return len(data), nil
}

func (c *counted) WriteHeader(status int) { c.status = status }

func middle(list []time.Duration) time.Duration {
	slices.Sort(list)
	return list[len(list)/2]
}
