package caldav

import (
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

func TestRedirectOnTheServerKeepsTheRequest(t *testing.T) {
	for _, code := range []int{301, 302, 307, 308} {
		t.Run(fmt.Sprint(code), func(t *testing.T) {
			var seen []string
			c := fake(t, func(w http.ResponseWriter, r *http.Request) {
				if !strings.HasPrefix(r.URL.Path, "/new") {
					http.Redirect(w, r, "/new"+r.URL.Path, code)
					return
				}
				body, _ := io.ReadAll(r.Body)
				user, password, _ := r.BasicAuth()
				if user != fakeUser || password != fakePassword {
					t.Errorf("%s comes from %q", r.Method, user)
				}
				seen = append(seen, fmt.Sprintf("%s %s %t %s%s", r.Method, r.URL.Path, len(body) > 0, r.Header.Get("If-Match"), r.Header.Get("Depth")))
				w.Header().Set("ETag", "2")
				if r.Method == "REPORT" {
					multi(w, token)
				}
			})
			etag, err := c.Put(t.Context(), "/cal/a.ics", "1", []byte("12345"))
			_, _, err2 := c.Changes(t.Context(), "/cal/", "")
			err3 := c.Delete(t.Context(), "/cal/a.ics", "1")
			o, err4 := c.Get(t.Context(), "/cal/a.ics")
			if err != nil || err2 != nil || err3 != nil || err4 != nil || etag != `"2"` || o.Path != "/cal/a.ics" {
				t.Errorf("%v, %v, %v, %v, %q, %+v", err, err2, err3, err4, etag, o)
			}
			want := `PUT /new/cal/a.ics true "1"; REPORT /new/cal/ true 0; DELETE /new/cal/a.ics false "1"; GET /new/cal/a.ics false `
			if got := strings.Join(seen, "; "); got != want {
				t.Errorf("the server saw\n%s, want\n%s", got, want)
			}
		})
	}
}

func TestSeeOtherIsForGetOnly(t *testing.T) {
	c := fake(t, func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/new" {
			w.Header().Set("ETag", "1")
			return
		}
		http.Redirect(w, r, "/new", http.StatusSeeOther)
	})
	if o, err := c.Get(t.Context(), "/a.ics"); err != nil || o.ETag != `"1"` {
		t.Errorf("GET: %+v, %v", o, err)
	}
	if _, err := c.Put(t.Context(), "/a.ics", "", nil); status(err) != http.StatusSeeOther {
		t.Errorf("PUT: %v", err)
	}
}

// TestRedirectElsewhereIsNotFollowed counts what arrives at the other server.
func TestRedirectElsewhereIsNotFollowed(t *testing.T) {
	var arrived []string
	other := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		arrived = append(arrived, r.Method+r.Header.Get("Authorization"))
	}))
	defer other.Close()
	mine := httptest.NewUnstartedServer(nil)
	mine.StartTLS()
	defer mine.Close()
	at, _ := url.Parse(mine.URL)
	for _, target := range []string{
		other.URL + "/a", strings.Replace(other.URL, "127.0.0.1", "localhost", 1), "http://" + at.Host + "/a", "https://localhost:" + at.Port() + "/a",
		"https://u:p@" + at.Host + "/a", "//" + strings.TrimPrefix(other.URL, "http://"), "ftp://" + at.Host, "https://%zz/", "mailto:a@cal.example",
	} {
		for _, code := range []int{301, 302, 303, 307, 308} {
			mine.Config.Handler = http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
				w.Header().Set("Location", target)
				w.WriteHeader(code)
			})
			c, err := New(Options{URL: mine.URL, User: fakeUser, Password: fakePassword, HTTP: mine.Client()})
			if err != nil {
				t.Fatal(err)
			}
			for what, err := range everything(t, c) {
				if fit(t, err); err == nil {
					t.Errorf("%s to %s by %d", what, target, code)
				}
			}
		}
	}
	if len(arrived) > 0 {
		t.Errorf("the other server got %q", arrived)
	}
}

func TestRedirectElsewhereNamesThePlace(t *testing.T) {
	c := fake(t, func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "https://new.example:8443/secret/path?key=1", http.StatusMovedPermanently)
	})
	_, err := c.Get(t.Context(), "/a.ics")
	wrong(t, err, "is asked for an address on another server, where user and password do not go: https://new.example:8443")
	if strings.Contains(err.Error(), "secret") {
		t.Errorf("%v tells the path", err)
	}
}

func TestRedirectsWithoutEndEnd(t *testing.T) {
	asked := 0
	c := fake(t, func(w http.ResponseWriter, r *http.Request) {
		asked++
		w.Header().Set("Location", map[bool]string{true: "", false: "/b.ics"}[asked%2 == 0])
		w.WriteHeader(http.StatusFound)
	})
	_, err := c.Get(t.Context(), "/a.ics")
	wrong(t, err, "without end")
	if asked > 10 {
		t.Errorf("asked %d times", asked)
	}
}

func TestNoCookieIsSentBack(t *testing.T) {
	jar, _ := cookiejar.New(nil)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if len(r.Cookies()) > 0 || r.Referer() != "" {
			t.Errorf("got %v", r.Header)
		}
		http.SetCookie(w, &http.Cookie{Name: "session", Value: "1", Path: "/"})
		if r.URL.Path == "/old.ics" {
			http.Redirect(w, r, "/a.ics", http.StatusFound)
		}
	}))
	defer server.Close()
	given := &http.Client{Jar: jar}
	for _, h := range []*http.Client{nil, given} {
		c, err := New(Options{URL: server.URL, HTTP: h})
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			if _, err := c.Get(t.Context(), "/old.ics"); err != nil {
				t.Error(err)
			}
		}
	}
	if given.Jar == nil || given.CheckRedirect != nil {
		t.Error("the client that was given is changed")
	}
}
