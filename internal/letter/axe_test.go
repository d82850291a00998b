package letter_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/letter"
	"graftclock/internal/reference/axe"
)

// opinionsOn are those of axe-core by the names of the views.
func opinionsOn(t *testing.T, views []axe.View) map[string]axe.Opinion {
	t.Helper()
	opinions := map[string]axe.Opinion{}
	for _, o := range axe.Look(t, views) {
		opinions[o.Name] = o
	}
	if len(opinions) != len(views) {
		t.Fatalf("%d opinions on %d views", len(opinions), len(views))
	}
	return opinions
}

// shelf keeps pages as files for a browser.
type shelf struct {
	folder string
	views  []axe.View
}

func newShelf(t *testing.T) *shelf { return &shelf{folder: t.TempDir()} }

// add puts a page on the shelf, to be seen in two widths, on a screen and in print.
func (s *shelf) add(t *testing.T, name, page string) {
	t.Helper()
	for _, width := range []int{narrow, wide} {
		for _, media := range []string{"screen", "print"} {
			s.one(t, name, page, width, media)
		}
	}
}

// one puts a page on the shelf, to be seen in one way.
func (s *shelf) one(t *testing.T, name, page string, width int, media string) {
	t.Helper()
	path := filepath.Join(s.folder, strings.NewReplacer(" ", "-", "/", "-").Replace(name)+".html")
	if err := os.WriteFile(path, []byte(page), 0o600); err != nil {
		t.Fatal(err)
	}
	s.views = append(s.views, axe.View{Name: fmt.Sprintf("%s, %s of %d pixels", name, media, width), Path: path, Width: width, Media: media})
}

const narrow, wide = axe.Narrow, axe.Wide

func referrerPage(t *testing.T, l letter.Letter) string {
	t.Helper()
	f, err := letter.BuiltIn().FillReferrer(l)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := f.WriteHTML(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// drawnWords are what axe-core says of the words in a drawing: it cannot see what is below
// them, or takes a number of one digit for no text. TestDrawingsHaveTheColoursOfThePage
// looks at their contrast.
var drawnWords = regexp.MustCompile(`^<text [^>]*>[^<]*</text>: .*(contains an image node|too short to determine)`)

func TestPagesAreAccessible(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser")
	}
	pages := newShelf(t)
	for _, tag := range languages(t) {
		draft := scanned()
		draft.Approval = letter.Approval{}
		pages.add(t, tag+" normal", htmlOf(t, inLanguage(scanned(), tag, false)))
		pages.add(t, tag+" large", htmlOf(t, inLanguage(scanned(), tag, true)))
		pages.add(t, tag+" draft", htmlOf(t, inLanguage(draft, tag, false)))
		pages.add(t, tag+" to the dentist", referrerPage(t, inLanguage(bothSides(), tag, false)))
	}
	opinions := opinionsOn(t, pages.views)
	cannotTell := map[string]int{}
	for _, v := range pages.views {
		o := opinions[v.Name]
		for _, c := range o.Violations {
			t.Errorf("%s: %s (%s)\n%s", v.Name, c.Rule, c.Impact, strings.Join(c.Says, "\n"))
		}
		for _, c := range o.Incomplete {
			for _, says := range c.Says {
				if !drawnWords.MatchString(says) {
					cannotTell[v.Name+": "+c.Rule+": "+says]++
				}
			}
		}
		if v.Width == narrow && v.Media == "screen" && o.Width > narrow {
			t.Errorf("%s: %d pixels wide", v.Name, o.Width)
		}
		if o.Checked < 10 {
			t.Errorf("%s: the contrast of %d elements was seen", v.Name, o.Checked)
		}
	}
	for says, times := range cannotTell {
		t.Errorf("axe-core cannot tell, %d times: %s", times, says)
	}
}

// TestFaultsOfAPageAreSeen plants faults into a page, so that silence means something.
func TestFaultsOfAPageAreSeen(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser")
	}
	page := htmlOf(t, simultaneous())
	faults := map[string]struct{ from, to, rule string }{
		"no language":             {`<html lang="en">`, `<html>`, "html-has-lang"},
		"pale":                    {"--ink: #1b1f1e", "--ink: #999999", "color-contrast"},
		"a little pale":           {"--ink: #1b1f1e", "--ink: #666666", "color-contrast-enhanced"},
		"two main parts":          {"<main>", "<main></main><main>", "landmark-no-duplicate-main"},
		"a heading left out":      {"<h2>", "<h4>", "heading-order"},
		"a column head of nobody": {`<th scope="col">`, `<th scope="nobody">`, "scope-attr-valid"},
	}
	pages := newShelf(t)
	for name, f := range faults {
		if !strings.Contains(page, f.from) {
			t.Fatalf("%s: the page has no %q", name, f.from)
		}
		pages.one(t, name, strings.Replace(page, f.from, f.to, 1), wide, "screen")
	}
	long := `<h1><span class="call"><strong>` + strings.Repeat("wide", 40) + `</strong></span>`
	pages.one(t, "too wide", strings.Replace(page, "<h1>", long, 1), narrow, "screen")
	opinions := opinionsOn(t, pages.views)
	for name, f := range faults {
		o := opinions[fmt.Sprintf("%s, screen of %d pixels", name, wide)]
		if !slices.ContainsFunc(o.Violations, func(c axe.Complaint) bool { return c.Rule == f.rule }) {
			t.Errorf("%s: %+v, want %s", name, o.Violations, f.rule)
		}
	}
	if o := opinions[fmt.Sprintf("too wide, screen of %d pixels", narrow)]; o.Width <= narrow {
		t.Errorf("a word of 160 letters: %d pixels wide", o.Width)
	}
}
