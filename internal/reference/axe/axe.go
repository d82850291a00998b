// Package axe asks axe-core, in a browser, what is wrong with pages.
package axe

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// View is one look at a page, as testdata/reference/axe.mjs wants it.
type View struct {
	Name  string `json:"name"`
	Path  string `json:"path"`
	Width int    `json:"width"` // of the window, CSS pixels
	Media string `json:"media"` // screen or print
}

// Opinion is what axe-core has to say of a view.
type Opinion struct {
	Name       string
	Width      int // of what can be scrolled to
	Violations []Complaint
	Incomplete []Complaint // it cannot tell
	Checked    int         // elements whose contrast is enough
}

// Complaint is a rule that does not hold.
type Complaint struct {
	Rule, Impact string
	Says         []string // one for each element
}

// Widths at which pages are looked at, in CSS pixels: WCAG 2.2, 1.4.10 has nothing
// scrolled sideways at the first.
const (
	Narrow = 320
	Wide   = 1280
	paper  = 800
)

// Look has one browser show all views and asks axe-core of each, in their order.
func Look(t testing.TB, views []View) []Opinion {
	t.Helper()
	node, chromium := reference.Node(t, "axe-core", "puppeteer-core"), reference.Program(t, "chromium")
	asked, err := json.Marshal(views)
	if err != nil {
		t.Fatal(err)
	}
	command := exec.CommandContext(t.Context(), node, filepath.Join(reference.Folder(), "axe.mjs"), chromium, filepath.Join(t.TempDir(), "user"))
	command.Stdin, command.Dir = bytes.NewReader(asked), reference.Folder()
	var complaints bytes.Buffer
	command.Stderr = &complaints
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, complaints.Bytes())
	}
	var opinions []Opinion
	for line := range strings.Lines(string(out)) {
		var o Opinion
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatal(err)
		}
		opinions = append(opinions, o)
	}
	if len(opinions) != len(views) {
		t.Fatalf("%d opinions on %d views", len(opinions), len(views))
	}
	return opinions
}

// FindsNothing looks at pages, by name, at their widest, narrow, and as printed. Nothing
// may be wrong with them, nor may anything need to be moved sideways.
func FindsNothing(t testing.TB, pages map[string]string) {
	t.Helper()
	folder := t.TempDir()
	var views []View
	for name, page := range pages {
		path := filepath.Join(folder, name+".html")
		if err := os.WriteFile(path, []byte(page), 0o600); err != nil {
			t.Fatal(err)
		}
		views = append(views, View{name, path, Wide, "screen"}, View{name, path, Narrow, "screen"}, View{name, path, paper, "print"})
	}
	for n, o := range Look(t, views) {
		if v := views[n]; o.Name != v.Name || len(o.Violations) > 0 || o.Checked == 0 || o.Width > v.Width {
			t.Errorf("%s, %s, %d wide: scrolls to %d, %d checked, %+v", v.Name, v.Media, v.Width, o.Width, o.Checked, o.Violations)
		}
	}
}
