package web_test

import (
	"html"
	"net/http"
	"regexp"
	"testing"
)

// TestEveryCaseNumberHasItsPage takes in odd case numbers and follows the link of the
// list to each, as a browser does; those that no address can name are refused.
func TestEveryCaseNumberHasItsPage(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-14 09:00")
	b := s.as(front)
	const title = `<h1>Teni Okafor <span class="number">`
	form := b.typing(demo(t, "okafor"))
	for _, number := range []string{"...", ".a", "%2e", "%2E%2E", "a/../b", "a/./b", "//", `\`, `..\..`, "?", "#", "a b", "é", "a;b", "a+b", "-", "~", "HR-1&x=y"} {
		b.post("/record", with(form, "act", "drop"))
		got := b.post("/record", with(form, "act", "save", "case", number))
		if got.status != http.StatusOK || !got.says(title+number) {
			t.Errorf("%q: %d at %s", number, got.status, got.path)
			continue
		}
		link := regexp.MustCompile(`<a href="(/case/[^"]*)/history">`).FindStringSubmatch(got.body)
		if again := b.get(html.UnescapeString(link[1])); again.status != http.StatusOK || !again.says(title+number) {
			t.Errorf("%q: %d at %s", number, again.status, again.path)
		}
	}
	for _, number := range []string{".", "..", "/"} {
		got := b.post("/record", with(form, "act", "save", "case", number))
		if told := got.faults()[idOf("case")]; got.status != http.StatusUnprocessableEntity || len(told) != 1 || told[0] != `"`+number+`", which no address of a page can name; allowed: any other line of text, such as HR-2041` {
			t.Errorf("%q: %d %q", number, got.status, told)
		}
	}
}
