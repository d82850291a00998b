package caldav

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// What the client of a fake server calls itself.
const (
	fakeUser     = "wyn.tate"
	fakePassword = "tr&ubl<d w4ters"
)

// fake is a client of a server that answers as handle does.
func fake(t *testing.T, handle http.HandlerFunc) *Client {
	t.Helper()
	server := httptest.NewServer(handle)
	t.Cleanup(server.Close)
	c, err := New(Options{URL: server.URL, User: fakeUser, Password: fakePassword})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// says is a server whose answer to everything is one multistatus with these parts.
func says(t *testing.T, parts string) *Client {
	t.Helper()
	return fake(t, func(w http.ResponseWriter, _ *http.Request) { multi(w, parts) })
}

// multi answers with a multistatus that has these parts.
func multi(w http.ResponseWriter, parts string) {
	w.WriteHeader(http.StatusMultiStatus)
	io.WriteString(w, `<?xml version="1.0"?><multistatus xmlns="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav">`+parts+`</multistatus>`)
}

// found is the part about an object that is there.
func found(href, etag string) string {
	return `<response><href>` + href + `</href><propstat><prop><getetag>` + etag + `</getetag></prop><status>HTTP/1.1 200 OK</status></propstat></response>`
}

const token = `<sync-token>t</sync-token>`

// fit fails the test if an error could not be shown to anybody.
func fit(t *testing.T, err error) {
	t.Helper()
	for ; err != nil; err = errors.Unwrap(err) {
		text := err.Error()
		for _, secret := range []string{fakePassword, "d3luLnRhdGU6", fakeUser} { // the second begins the Basic header
			if strings.Contains(text, secret) {
				t.Errorf("%q tells %q", text, secret)
			}
		}
		if len(text) > 600 || strings.ContainsAny(text, "\r\n\x00\x1b") {
			t.Errorf("%q is no sentence", text)
		}
	}
}

// wrong fails the test if there is no error, or one without some words, or one that
// could not be shown.
func wrong(t *testing.T, err error, words string) {
	t.Helper()
	if err == nil || !strings.Contains(err.Error(), words) {
		t.Errorf("got %v, want an error that says %q", err, words)
	}
	fit(t, err)
}

// everything calls every method and returns the errors.
func everything(t *testing.T, c *Client) map[string]error {
	t.Helper()
	all := map[string]error{}
	ctx := t.Context()
	_, _, all["collections"] = c.Collections(ctx)
	all["make"] = c.Make(ctx, "/cal/", "Visits")
	_, all["put"] = c.Put(ctx, "/cal/a.ics", "", event("a", morning))
	all["delete"] = c.Delete(ctx, "/cal/a.ics", `"1"`)
	_, all["get"] = c.Get(ctx, "/cal/a.ics")
	_, _, all["changes"] = c.Changes(ctx, "/cal/", "")
	_, all["fetch"] = c.Fetch(ctx, "/cal/", []string{"/cal/a.ics"})
	_, all["download"] = Download(ctx, Options{URL: c.base.String(), User: c.user, Password: c.password, HTTP: c.http})
	return all
}

// TestNoErrorHoldsAPassword has servers repeat all that they were told, everywhere
// they can.
func TestNoErrorHoldsAPassword(t *testing.T) {
	echoes := map[string]http.HandlerFunc{
		"in an error": func(w http.ResponseWriter, r *http.Request) {
			w.WriteHeader(http.StatusForbidden)
			fmt.Fprintf(w, `<error xmlns="DAV:"><%s/></error>`, strings.Fields(r.Header.Get("Authorization"))[1])
		},
		"in a page": func(w http.ResponseWriter, r *http.Request) {
			fmt.Fprint(w, fakePassword, r.Header)
		},
		"in broken XML": func(w http.ResponseWriter, _ *http.Request) {
			multi(w, "<"+fakePassword+">")
		},
		"in a wrong end": func(w http.ResponseWriter, r *http.Request) {
			multi(w, "<"+r.Header.Get("Authorization")[6:10]+"></x>")
		},
		"in an href": func(w http.ResponseWriter, _ *http.Request) {
			multi(w, token+found("https://"+strings.ReplaceAll(fakePassword, " ", "")+"/"+escaped(fakePassword), "1"))
		},
		"in a long href": func(w http.ResponseWriter, _ *http.Request) {
			multi(w, token+found("https://"+strings.Repeat("long", 1000)+"/", "1"))
		},
		"in an href of paths": func(w http.ResponseWriter, _ *http.Request) {
			multi(w, found("/"+escaped(fakePassword)+"?"+fakeUser, "1"))
		},
		"in a redirect": func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Location", "https://"+r.Header.Get("Authorization")[6:]+"/"+fakePassword)
			w.WriteHeader(http.StatusFound)
		},
		"in a redirect to nowhere": func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Location", "https://%zz"+fakePassword+"@")
			w.WriteHeader(http.StatusFound)
		},
		"in a login": func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("WWW-Authenticate", `Digest realm="`+r.Header.Get("Authorization")+`"`)
			w.WriteHeader(http.StatusUnauthorized)
		},
		"in no HTTP": func(w http.ResponseWriter, r *http.Request) {
			raw(w, fakePassword+" "+r.Header.Get("Authorization")+strings.Repeat(" long", 1000)+"\r\n\r\n")
		},
		"in a status": func(w http.ResponseWriter, r *http.Request) {
			raw(w, "HTTP/1.1 4o4 "+fakePassword+"\r\n\r\n")
		},
		"in a length": func(w http.ResponseWriter, r *http.Request) {
			raw(w, "HTTP/1.1 200 OK\r\nContent-Length: "+fakePassword+"\r\n\r\n")
		},
		"in a header": func(w http.ResponseWriter, r *http.Request) {
			raw(w, "HTTP/1.1 200 OK\r\n"+fakePassword+"\r\n\r\n")
		},
	}
	for name, handle := range echoes {
		t.Run(name, func(t *testing.T) {
			for what, err := range everything(t, fake(t, handle)) {
				if err == nil && what != "put" && what != "delete" && what != "make" && what != "get" {
					t.Errorf("%s: no error", what)
				}
				fit(t, err)
			}
		})
	}
}

// raw answers with bytes that need not be HTTP.
func raw(w http.ResponseWriter, text string) {
	connection, _, err := w.(http.Hijacker).Hijack()
	if err != nil {
		panic(err)
	}
	defer connection.Close()
	connection.SetDeadline(time.Time{})
	io.WriteString(connection, text)
}
