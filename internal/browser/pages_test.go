package browser_test

import (
	"bytes"
	"html"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"graftclock/internal/demo"
)

// TestPages looks at every page of the program as the surgeon and as the desk see it: in
// two widths, printed, with large text, by axe-core and by the size of what is clicked.
// Pictures of all go to a folder of the machine's own temporary one, to be looked at.
func TestPages(t *testing.T) {
	t.Parallel()
	for role, name := range map[string]string{"surgeon": surgeon, "desk": clerk} {
		t.Run(role, func(t *testing.T) {
			t.Parallel()
			h := demoHouse(t)
			p := h.signedIn(name)
			p.seen.mayAnswer(http.StatusUnprocessableEntity, http.StatusNotFound, http.StatusUnauthorized, http.StatusConflict)
			for _, link := range h.links(name) {
				name := nameOf(pattern(link))
				t.Run(name, func(t *testing.T) {
					p.of(t).goTo(link)
					p.looks(role + "-" + name)
				})
			}
			t.Run("printed morning", func(t *testing.T) { p.of(t).printsEveryRow("/") })
			if role == "desk" { // the drawing is the same for everybody
				t.Run("axes", func(t *testing.T) { p.of(t).axesCanBeRead(h) })
			}
			for _, v := range views {
				if v.role == "" || v.role == role {
					t.Run(v.name, func(t *testing.T) {
						v.show(p.of(t), h)
						p.looks(role + "-" + v.name)
					})
				}
			}
		})
	}
}

// of lets a tab fail another test.
func (p *page) of(t testing.TB) *page {
	p.t = t
	return p
}

// demoHouse is a clinic with some eighty cases and a year behind it.
func demoHouse(t testing.TB) *house {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "clinic")
	const seed = 1
	if _, err := demo.Make(folder, dayOne, seed, secret); err != nil {
		t.Fatal(err)
	}
	h := newHouse(t, folder, dayOne)
	h.open()
	return h
}

// looks looks at the page that the tab shows, in every way; one that was looked at for
// another person is only kept as a picture.
func (p *page) looks(name string) {
	p.t.Helper()
	p.picture(name, phone)
	p.picture(name, wide)
	p.printed(name)
	if _, known := looked.LoadOrStore(on[string](p, *p.at("main"), `function() { return this.outerHTML }`), name); !known {
		p.looksEveryWay(name)
	}
	p.seen.report(p.t)
	p.seen.forgive()
}

// looked are the contents that were looked at.
var looked sync.Map

func (p *page) looksEveryWay(name string) {
	p.t.Helper()
	p.unfold()
	p.accessible(name, nil)
	p.apart(name)
	p.reachable(name)
	p.fits(name)
	p.larger(true)
	p.fits(name + ", large text")
	p.larger(false)
	p.size(narrow)
	p.accessible(name+", narrow", halfSeen)
	p.reachable(name + ", narrow")
	p.fits(name + ", narrow")
	p.size(wide)
	p.media("print")
	p.accessible(name+", printed", ofLinks)
	p.media("")
}

// known are the pages that must be found by following links.
var known = []string{"/", "/find", "/record", "/record/import", "/password", "/case/*", "/case/*/history", "/case/*/record", "/case/*/step?id", "/case/*/settle",
	"/clinic", "/clinic/hit", "/clinic/rules", "/clinic/rules/*", "/clinic/feeds", "/clinic/people", "/clinic/history", "/clinic/change/close"}

// links follows all links of the program, as somebody who clicks on everything, and
// returns of each kind of page one: the longest of those that were seen.
func (h *house) links(name string) []string {
	h.t.Helper()
	client := h.client(name)
	const most = 6 // of a kind
	seen, found, sizes := map[string]bool{"/": true}, map[string]string{}, map[string]int{}
	asked := map[string]int{}
	for queue := []string{"/"}; len(queue) > 0; queue = queue[1:] {
		link, kind := queue[0], pattern(queue[0])
		if asked[kind]++; asked[kind] > most {
			continue
		}
		body, isPage := h.get(client, link)
		if !isPage {
			continue
		}
		if len(body) > sizes[kind] {
			found[kind], sizes[kind] = link, len(body)
		}
		for _, next := range linksOf(body) {
			if !seen[next] {
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	for _, kind := range known {
		if found[kind] == "" {
			h.t.Errorf("no link leads to %s", kind)
		}
	}
	var all []string
	for _, link := range found {
		all = append(all, link)
	}
	slices.Sort(all)
	return all
}

// linked finds the links of a page that stay within the program.
var linked = regexp.MustCompile(`<a[^>]* href="(/[^"]*)"`)

func linksOf(body string) []string {
	var all []string
	for _, found := range linked.FindAllStringSubmatch(body, -1) {
		if link, _, _ := strings.Cut(html.UnescapeString(found[1]), "#"); !strings.Contains(link, "/file/") {
			all = append(all, link)
		}
	}
	return all
}

// inAddress is what differs between two pages of one kind.
var inAddress = regexp.MustCompile(`^/(case|clinic/rules)/[^/?]+`)

// pattern is the kind of page of an address: without the case, and of what is asked the
// names alone.
func pattern(link string) string {
	path, query, asked := strings.Cut(link, "?")
	path = inAddress.ReplaceAllString(path, "/$1/*")
	if !asked {
		return path
	}
	values, _ := url.ParseQuery(query)
	var names []string
	for name := range values {
		names = append(names, name)
	}
	slices.Sort(names)
	return path + "?" + strings.Join(names, "&")
}

// nameOf makes a name for tests and pictures of a kind of page.
func nameOf(kind string) string {
	if kind == "/" {
		return "morning"
	}
	return strings.NewReplacer("/*", "-one", "/", "-", "?", "-", "&", "-").Replace(kind[1:])
}

// client is signed in as a person, outside the browser.
func (h *house) client(name string) *http.Client {
	h.t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		h.t.Fatal(err)
	}
	client := &http.Client{Jar: jar}
	answer, err := client.PostForm(h.home+"/sign-in", url.Values{"name": {name}, "password": {secret}})
	if err != nil {
		h.t.Fatal(err)
	}
	answer.Body.Close()
	return client
}

// get asks for an address that a page links to; there must be something.
func (h *house) get(client *http.Client, link string) (body string, isPage bool) {
	h.t.Helper()
	answer, err := client.Get(h.home + link)
	if err != nil {
		h.t.Fatal(err)
	}
	defer answer.Body.Close()
	var text bytes.Buffer
	if _, err := io.Copy(&text, answer.Body); err != nil {
		h.t.Fatal(err)
	}
	if answer.StatusCode != http.StatusOK {
		h.t.Errorf("a link leads to %s, which is answered by %s", link, answer.Status)
	}
	return text.String(), strings.HasPrefix(answer.Header.Get("Content-Type"), "text/html")
}
