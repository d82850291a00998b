package letter_test

import (
	"encoding/xml"
	"errors"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// spelledDay finds a day with its weekday and month name, and its year if any.
var spelledDay = regexp.MustCompile(`(?:Mon|Tues|Wednes|Thurs|Fri|Satur|Sun)day \d+ [A-Z][a-z]+(?: \d{4})?`)

func daysIn(text string) []string {
	days := map[string]bool{}
	for _, d := range spelledDay.FindAllString(strings.Join(strings.Fields(text), " "), -1) {
		days[d] = true
	}
	return slices.Sorted(maps.Keys(days))
}

func TestEveryDayOfThePageIsInTheText(t *testing.T) {
	for name, sample := range samples {
		if diff := cmp.Diff(daysIn(htmlOf(t, sample())), daysIn(textOf(t, sample()))); diff != "" {
			t.Errorf("%s (-html +text):\n%s", name, diff)
		}
	}
}

// element is what the tests want to know of one element of the page; text is
// all the text inside it.
type element struct {
	tag, id string
	text    string
}

// parse reads the page and fails when an element is not closed or carries a style or a script of its own.
func parse(t *testing.T, page string) []element {
	t.Helper()
	reader := xml.NewDecoder(strings.NewReader(page))
	reader.Strict, reader.AutoClose, reader.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	var all []element
	var open []int
	for {
		token, err := reader.Token()
		if errors.Is(err, io.EOF) {
			if len(open) > 0 {
				t.Fatalf("<%s> is never closed", all[open[0]].tag)
			}
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := element{tag: token.Name.Local}
			for _, a := range token.Attr {
				if a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on") {
					t.Errorf("<%s %s=%q>", e.tag, a.Name.Local, a.Value)
				}
				if a.Name.Local == "id" {
					e.id = a.Value
				}
			}
			all, open = append(all, e), append(open, len(all))
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			for _, i := range open {
				all[i].text += string(token)
			}
		}
	}
}

func count(all []element, tag string) int {
	n := 0
	for _, e := range all {
		if e.tag == tag {
			n++
		}
	}
	return n
}

func TestThePageIsWellFormedAndNeedsNothing(t *testing.T) {
	for name, sample := range samples {
		page := htmlOf(t, sample())
		all := parse(t, page)
		if count(all, "h1") != 1 || count(all, "title") != 1+count(all, "svg") || count(all, "script")+count(all, "img")+count(all, "link") > 0 {
			t.Errorf("%s: want one h1, one title and one for each drawing, no script, image or link", name)
		}
		if strings.Contains(page, "ZgotmplZ") || strings.Contains(page, "<no value>") {
			t.Errorf("%s: something was filled in where it may not stand", name)
		}
		for _, outside := range []string{"http:", "https:", "src=", "url(", "@import", "//"} {
			if strings.Contains(strings.ReplaceAll(page, "</", ""), outside) {
				t.Errorf("%s refers to %q", name, outside)
			}
		}
		if strings.ContainsAny(page, "{}") && strings.Contains(page[strings.Index(page, "</style>"):], "{") {
			t.Errorf("%s: a name in braces was not filled", name)
		}
	}
}

func TestRedFlagsAreTheSameInPageAndText(t *testing.T) {
	for name, sample := range samples {
		text := textOf(t, sample())
		for _, list := range []struct{ id, from, to string }{
			{"same-day", "\nCall us the same day if\n", "\nEmergency now if\n"},
			{"emergency", "\nEmergency now if\n", "\nCall us\n"},
		} {
			_, part, _ := strings.Cut(text, list.from)
			part, _, _ = strings.Cut(part, list.to)
			inText := strings.Count(part, "\n- ")
			inPage := 0
			for _, e := range parse(t, htmlOf(t, sample())) {
				if e.tag == "ul" && e.id == list.id {
					inPage = strings.Count(strings.TrimSpace(e.text), "\n") + 1
				}
			}
			if inText == 0 || inText != inPage {
				t.Errorf("%s, %s: %d in the text, %d on the page", name, list.id, inText, inPage)
			}
		}
	}
}
