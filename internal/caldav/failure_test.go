package caldav

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

func TestStatusIsASentence(t *testing.T) {
	for code, words := range map[int]string{
		401: "refuses user or password (GET: 401)", 403: "does not permit this (GET: 403)", 405: "does not do this there (GET: 405)", 409: "finds this at odds",
		412: "something else there than what is known here", 429: "asked too often", 503: "cannot serve now", 507: "has no room left",
		500: "has a fault of its own (GET: 500)", 502: "has a fault of its own (GET: 502)", 418: "gives an answer that does not fit (GET: 418)", 304: "does not fit (GET: 304)",
	} {
		c := fake(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(code) })
		_, err := c.Get(t.Context(), "/a.ics")
		wrong(t, err, "calendar server "+c.base.Host+" ")
		wrong(t, err, words)
		if IsConflict(err) != (code == 412) || IsMissing(err) {
			t.Errorf("%d: %v", code, err)
		}
	}
}

func TestAWayToLogInThatIsNotKnownIsSaid(t *testing.T) {
	for ways, words := range map[string]string{
		``: "refuses user or password", `Basic realm="x"`: "refuses user or password", `Digest realm="x", basic realm="y"`: "refuses user or password",
		`Digest realm="x", nonce="basic"`: "does not take a password the Basic way", `Negotiate`: "does not take a password the Basic way",
	} {
		asked := 0
		c := fake(t, func(w http.ResponseWriter, _ *http.Request) {
			if asked++; ways != "" {
				w.Header().Set("WWW-Authenticate", ways)
			}
			w.WriteHeader(http.StatusUnauthorized)
		})
		_, _, err := c.Collections(t.Context())
		if wrong(t, err, words); asked > 1 {
			t.Errorf("a password that is refused is sent %d times", asked)
		}
	}
}

func TestServerThatIsNotThereIsNamed(t *testing.T) {
	server := httptest.NewServer(nil)
	server.Close()
	for name, url := range map[string]string{"nobody listens": server.URL, "no such name": "https://cal.invalid"} {
		c, err := New(Options{URL: url, User: fakeUser, Password: fakePassword})
		if err != nil {
			t.Fatal(err)
		}
		for what, err := range everything(t, c) {
			t.Run(name+", "+what, func(t *testing.T) { wrong(t, err, "calendar server "+c.base.Host+" cannot be reached: ") })
		}
	}
}

// TestErrorKeepsTheAddressOfAFeed asks for one whose address is its key.
func TestErrorKeepsTheAddressOfAFeed(t *testing.T) {
	answers := map[string]*httptest.Server{
		"nobody listens": httptest.NewServer(nil),
		"nothing there":  httptest.NewServer(http.NotFoundHandler()),
		"another host":   httptest.NewServer(http.RedirectHandler("https://new.example/s3cret/s3cret?s3cret#s3cret", http.StatusFound)),
		"a page":         httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, r.RequestURI) })),
	}
	answers["nobody listens"].Close()
	for name, server := range answers {
		_, err := Download(t.Context(), Options{URL: server.URL + "/s3cret/feed.ics?key=s3cret"})
		if wrong(t, err, "calendar server 127.0.0.1:"); strings.Contains(err.Error(), "s3cret") {
			t.Errorf("%s: %v", name, err)
		}
		server.Close()
	}
}

func TestWordsOfAServerFitIntoAnError(t *testing.T) {
	c, err := New(Options{URL: "https://cal.example", User: "a", Password: "b c"})
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"refused": "refused", "one\r\n\x1b[2Jtwo\x00": "one [2Jtwo", "\xff": "\ufffd", "a\u202eb": "ab", "says b c, YTpiIGM=": "says ***, ***", "says b \u202ec, b\u00a0 c": "says ***, ***",
		strings.Repeat("ü", 301): strings.Repeat("ü", 300) + "...",
	} {
		if got := c.plain(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

func TestServerThatDoesNotProveWhoItIsGetsNothing(t *testing.T) {
	asked := 0
	handle := http.HandlerFunc(func(http.ResponseWriter, *http.Request) { asked++ })
	unknown, open := httptest.NewUnstartedServer(handle), httptest.NewServer(handle)
	unknown.Config.ErrorLog = log.New(io.Discard, "", 0) // it complains about the handshake
	unknown.StartTLS()
	defer unknown.Close()
	defer open.Close()
	for _, url := range []string{unknown.URL, strings.Replace(open.URL, "http:", "https:", 1)} {
		c, err := New(Options{URL: url, User: fakeUser, Password: fakePassword})
		if err != nil {
			t.Fatal(err)
		}
		_, err = c.Get(t.Context(), "/a.ics")
		wrong(t, err, "does not prove who it is")
	}
	if asked > 0 {
		t.Errorf("they were asked %d times", asked)
	}
}

func TestLongAnswerIsNotRead(t *testing.T) {
	endless := func(w http.ResponseWriter, _ *http.Request) {
		w.WriteHeader(http.StatusMultiStatus)
		for block := bytes.Repeat([]byte(" "), 1<<20); ; {
			if _, err := w.Write(block); err != nil {
				return
			}
		}
	}
	c := fake(t, endless)
	if c.limit != 64<<20 {
		t.Errorf("answers of %d bytes are read", c.limit)
	}
	c.limit = 3 << 20
	_, _, err := c.Changes(t.Context(), "/cal/", "")
	wrong(t, err, "gives an answer of more than 3145728 bytes")
	for n, fits := range map[int]bool{10: true, 11: false} {
		c := fake(t, func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, strings.Repeat("x", n)) })
		c.limit = 10
		if _, err := c.Get(t.Context(), "/a.ics"); (err == nil) != fits {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
}

func TestAnswerThatBreaksOffIsNotTaken(t *testing.T) {
	c := fake(t, func(w http.ResponseWriter, _ *http.Request) {
		raw(w, "HTTP/1.1 200 OK\r\nContent-Length: 100\r\nETag: \"1\"\r\n\r\nBEGIN:VCALENDAR\r\n")
	})
	_, err := c.Get(t.Context(), "/a.ics")
	wrong(t, err, "breaks off its answer")
}

// TestSlowServerIsLeft has the server stall before its answer and in the middle of it.
func TestSlowServerIsLeft(t *testing.T) {
	for name, begin := range map[string]string{"before the answer": "", "in its body": "BEGIN:VCALENDAR\r\n"} {
		t.Run(name, func(t *testing.T) {
			started := make(chan struct{}, 9)
			server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				if begin != "" {
					io.WriteString(w, begin)
					http.NewResponseController(w).Flush()
				}
				started <- struct{}{}
				<-r.Context().Done()
			}))
			defer server.Close()
			c, err := New(Options{URL: server.URL})
			if err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithCancel(t.Context())
			go func() {
				<-started
				cancel()
			}()
			if _, err = c.Get(ctx, "/a.ics"); !errors.Is(err, context.Canceled) {
				t.Errorf("cancelled: %v", err)
			}
			ctx, stop := context.WithTimeout(t.Context(), 50*time.Millisecond)
			defer stop()
			_, err = c.Get(ctx, "/a.ics")
			wrong(t, err, "did not answer in time")
			if !errors.Is(err, context.DeadlineExceeded) {
				t.Errorf("timed out: %v", err)
			}
			c.http.Timeout = 50 * time.Millisecond
			_, err = c.Get(t.Context(), "/a.ics")
			wrong(t, err, "did not answer in time")
		})
	}
}

func TestOwnConnectionsHaveTimeouts(t *testing.T) {
	c, err := New(Options{URL: "https://cal.example"})
	if err != nil {
		t.Fatal(err)
	}
	own := c.http.Transport.(*http.Transport)
	if c.http.Timeout <= 0 || own.ResponseHeaderTimeout <= 0 || own.TLSHandshakeTimeout <= 0 || own.DialContext == nil {
		t.Errorf("%+v", own)
	}
}

// TestNothingIsChangedUnseen looks at what every change is made under.
func TestNothingIsChangedUnseen(t *testing.T) {
	var got []string
	c := fake(t, func(w http.ResponseWriter, r *http.Request) {
		if r.Header.Get("Accept-Encoding") != "identity" {
			t.Errorf("asks for %q", r.Header.Get("Accept-Encoding"))
		}
		got = append(got, fmt.Sprintf("%s %v %v", r.Method, r.Header["If-Match"], r.Header["If-None-Match"]))
		w.Header().Set("ETag", `W/"2"`)
	})
	ctx := t.Context()
	for _, etag := range []string{"", `"1"`, `1`, `W/"1"`, `*`, `"1", "2"`, "1\r\nX: y"} {
		if next, err := c.Put(ctx, "/a.ics", etag, nil); err != nil || next != `"2"` {
			t.Errorf("%q: %q, %v", etag, next, err)
		}
		if err := c.Delete(ctx, "/a.ics", etag); (err == nil) != (etag != "") {
			t.Errorf("%q: %v", etag, err)
		}
	}
	want := []string{
		`PUT [] [*]`, `PUT ["1"] []`, `DELETE ["1"] []`, `PUT ["1"] []`, `DELETE ["1"] []`, `PUT ["1"] []`, `DELETE ["1"] []`, `PUT ["*"] []`, `DELETE ["*"] []`,
		`PUT ["no tag"] []`, `DELETE ["no tag"] []`, `PUT ["no tag"] []`, `DELETE ["no tag"] []`,
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("the server saw\n%s", strings.Join(got, "\n"))
	}
	got = nil
	for _, path := range []string{"/cal/", "/", "", "https://other.example/a.ics"} {
		if _, err := c.Put(ctx, path, "1", nil); err == nil {
			t.Errorf("put %q", path)
		}
		if err := c.Delete(ctx, path, "1"); err == nil {
			t.Errorf("delete %q", path)
		}
	}
	if len(got) > 0 {
		t.Errorf("a whole collection: %v", got)
	}
}

func TestPartOfAChangeThatFailsIsAnError(t *testing.T) {
	part := func(code string) string {
		return `<response><href>/cal/a.ics</href><status>HTTP/1.1 ` + code + `</status></response>`
	}
	for body, code := range map[string]int{
		part("204 No Content"): 0, part("423 Locked"): 423, part("200 OK") + part("500 x"): 500, `<response><href>/cal/a.ics</href><status>fine</status></response>`: 500,
		`<response><href>/cal/</href><propstat><prop/><status>HTTP/1.1 424 Failed Dependency</status></propstat></response>`: 424,
	} {
		c := says(t, body)
		_, err := c.Put(t.Context(), "/cal/a.ics", "", nil)
		for _, err := range []error{err, c.Delete(t.Context(), "/cal/a.ics", "1"), c.Make(t.Context(), "/cal/", "Visits")} {
			if status(err) != code || (err == nil) != (code == 0) {
				t.Errorf("%s: %v", body, err)
			}
		}
	}
}

func TestPageIsNoCalendar(t *testing.T) {
	for _, body := range []string{"", "<html></html>", "BEGIN:VCARD\r\nEND:VCARD\r\n", "BEGIN:VCAL"} {
		c := fake(t, func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, body) })
		_, err := Download(t.Context(), Options{URL: c.base.String()})
		wrong(t, err, "no calendar")
	}
}
