package web_test

import (
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// element is what the tests want to know of one element of a page.
type element struct {
	tag  string
	attr map[string]string
	text string // all the text inside it
	own  string // the text right inside it
	in   []string
	told bool // it tells what was typed wrongly
}

// elements reads a page and fails where it is not well formed.
func elements(t testing.TB, page string) []*element {
	t.Helper()
	reader := xml.NewDecoder(strings.NewReader(page))
	reader.Strict, reader.AutoClose, reader.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	var all, open []*element
	for {
		token, err := reader.Token()
		if errors.Is(err, io.EOF) {
			if len(open) > 0 {
				t.Fatalf("<%s> is never closed", open[len(open)-1].tag)
			}
			return all
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, page)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := &element{tag: token.Name.Local, attr: map[string]string{}}
			for _, a := range token.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			e.told = e.attr["class"] == "fault" || e.attr["class"] == "problem"
			for _, o := range open {
				e.in = append(e.in, o.tag)
				e.told = e.told || o.told
			}
			all, open = append(all, e), append(open, e)
		case xml.EndElement:
			if open[len(open)-1].tag != token.Name.Local {
				t.Fatalf("</%s> closes <%s>", token.Name.Local, open[len(open)-1].tag)
			}
			open = open[:len(open)-1]
		case xml.CharData:
			for n, o := range open {
				o.text += string(token)
				if n == len(open)-1 {
					o.own += string(token)
				}
			}
		}
	}
}

// shortDay is a day without the name of its month.
var shortDay = regexp.MustCompile(`\b\d{4}-\d{2}-\d{2}\b`)

// wantGoodPage holds a page to what every page promises: well formed, nothing inline
// that the policy of the server bans, ids once, a label for every field, references
// that lead somewhere, headings in order (WCAG 2.2: 1.3.1, 2.4.6, 4.1.2), and every
// day a reader sees with the name of its month.
func wantGoodPage(t testing.TB, page string) {
	t.Helper()
	all := elements(t, page)
	ids, labels := map[string]bool{}, map[string]bool{}
	for _, e := range all {
		if id := e.attr["id"]; id != "" {
			if ids[id] {
				t.Errorf("the id %q stands twice", id)
			}
			ids[id] = true
		}
		if e.tag == "label" {
			labels[e.attr["for"]] = true
		}
		for name := range e.attr {
			if name == "style" || strings.HasPrefix(name, "on") {
				t.Errorf("<%s> has %s", e.tag, name)
			}
		}
		if e.tag == "style" || e.tag == "script" && (e.attr["src"] == "" || strings.TrimSpace(e.text) != "") {
			t.Errorf("<%s> stands in the page", e.tag)
		}
	}
	level := 0
	for _, e := range all {
		wantNamed(t, e, labels)
		for _, name := range []string{"for", "aria-describedby", "aria-labelledby", "data-reading"} {
			for _, id := range strings.Fields(e.attr[name]) {
				if !ids[id] {
					t.Errorf("%s of <%s> leads to %q, which is nowhere", name, e.tag, id)
				}
			}
		}
		if len(e.tag) == 2 && e.tag[0] == 'h' && e.tag[1] >= '1' && e.tag[1] <= '6' {
			if now := int(e.tag[1] - '0'); now > level+1 {
				t.Errorf("<%s> %q follows a heading of level %d", e.tag, e.text, level)
			} else {
				level = now
			}
		}
		if found := shortDay.FindString(e.own); found != "" && !e.told && slices.Contains(e.in, "main") {
			t.Errorf("the page says %s without weekday and month: %.80q", found, around(e.own, found))
		}
	}
}

// wantNamed wants a field and a button to have a name.
func wantNamed(t testing.TB, e *element, labels map[string]bool) {
	t.Helper()
	switch e.tag {
	case "input", "select", "textarea":
		if e.attr["type"] != "hidden" && !labels[e.attr["id"]] && !slices.Contains(e.in, "label") {
			t.Errorf("<%s name=%q> has no label", e.tag, e.attr["name"])
		}
	case "button", "a", "summary":
		if strings.TrimSpace(e.text) == "" {
			t.Errorf("a <%s> without words", e.tag)
		}
	}
}

func around(text, found string) string {
	at := strings.Index(text, found)
	return text[max(0, at-30):min(len(text), at+40)]
}
