package web_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// axeView is one look at a page, as testdata/reference/axe.mjs wants it.
type axeView struct {
	Name  string `json:"name"`
	Path  string `json:"path"`
	Width int    `json:"width"`
	Media string `json:"media"`
}

var (
	sheetLink  = regexp.MustCompile(`<link rel="stylesheet" href="([^"]*)">`)
	scriptLink = regexp.MustCompile(`<script src="[^"]*" defer></script>`)
)

// TestAxeFindsNothingOnTheRecordPages looks at the form and the import in every state
// at their widest, at 320 pixels (WCAG 2.2, 1.4.10) and as printed, with the contrast
// of level AAA (1.4.6).
func TestAxeFindsNothingOnTheRecordPages(t *testing.T) {
	t.Parallel()
	node, chromium := reference.Node(t, "axe-core", "puppeteer-core"), reference.Program(t, "chromium")
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	form := quill.typing(demo(t, "fenwick"))
	pages := map[string]answer{
		"filled":  quill.post("/record", with(form, "act", "show", "what_if", "yes")),
		"faulty":  quill.post("/record", with(form, "act", "save", "surgery.day", "2027-02-30", "sinuses[0].widths[0].mm", "12,5", "patient.flags", "smokr", "patient.unavailable[0]", "2027-09-01")),
		"import":  quill.send("/record/import", "arrivals.csv", bytes.Replace(arrivals(t), []byte("2027-03-16"), []byte("16.3.2027"), 1), nil),
		"kept":    quill.get("/case/" + string(s.admit("petrov")) + "/record"),
		"refused": quill.post("/record", with(form, "act", "save", "case", "HR-2058")),
	}
	folder := t.TempDir()
	var views []axeView
	for name, page := range pages {
		sheet := quill.get(sheetLink.FindStringSubmatch(page.body)[1]).body
		body := scriptLink.ReplaceAllString(strings.Replace(page.body, sheetLink.FindString(page.body), "<style>"+sheet+"</style>", 1), "")
		path := filepath.Join(folder, name+".html")
		if err := os.WriteFile(path, []byte(body), 0o600); err != nil {
			t.Fatal(err)
		}
		views = append(views, axeView{name, path, 1280, "screen"}, axeView{name, path, 320, "screen"}, axeView{name, path, 800, "print"})
	}
	input, err := json.Marshal(views)
	if err != nil {
		t.Fatal(err)
	}
	command := exec.CommandContext(t.Context(), node, filepath.Join(reference.Folder(), "axe.mjs"), chromium, filepath.Join(folder, "user"))
	command.Stdin, command.Dir = bytes.NewReader(input), reference.Folder()
	var complaints bytes.Buffer
	command.Stderr = &complaints
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, complaints.Bytes())
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != len(views) {
		t.Fatalf("%d answers to %d views", len(lines), len(views))
	}
	for n, line := range lines {
		var seen struct {
			Name       string
			Width      int
			Violations []struct{ Rule, Impact string }
			Checked    int
		}
		if err := json.Unmarshal([]byte(line), &seen); err != nil {
			t.Fatal(err)
		}
		if len(seen.Violations) > 0 || seen.Checked == 0 || seen.Width > views[n].Width {
			t.Errorf("%s, %s, %d wide: scrolls to %d, %d checked, %+v", seen.Name, views[n].Media, views[n].Width, seen.Width, seen.Checked, seen.Violations)
		}
	}
}
