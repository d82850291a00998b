package desk_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"graftclock/internal/reference"
)

// view is one look at a page, as testdata/reference/axe.mjs wants it, and what came of it.
type view struct {
	Name  string `json:"name"`
	Path  string `json:"path"`
	Width int    `json:"width"`
	Media string `json:"media"`
}

type seenByAxe struct {
	Name       string
	Width      int
	Violations []struct{ Rule, Impact string }
	Checked    int
}

// TestAxeFindsNothingOnTheSurgeonsPage looks at three pages at their widest and at 320
// pixels (WCAG 2.2, 1.4.10), and as printed, with the contrast of level AAA (1.4.6). At
// 320 pixels only drawings and nothing of the text may need to be moved sideways.
func TestAxeFindsNothingOnTheSurgeonsPage(t *testing.T) {
	t.Parallel()
	node, chromium := reference.Node(t, "axe-core", "puppeteer-core"), reference.Program(t, "chromium")
	folder := t.TempDir()
	var views []view
	for _, name := range []string{"petrov", "doyle", "approved"} {
		path := filepath.Join(folder, name+".html")
		if err := os.WriteFile(path, []byte(pages(t)[name].page), 0o600); err != nil {
			t.Fatal(err)
		}
		views = append(views, view{name, path, 1280, "screen"}, view{name, path, 320, "screen"}, view{name, path, 800, "print"})
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
	lines := slices.DeleteFunc(bytes.Split(out, []byte("\n")), func(line []byte) bool { return len(line) == 0 })
	if len(lines) != len(views) {
		t.Fatalf("%d answers to %d views", len(lines), len(views))
	}
	for n, line := range lines {
		var seen seenByAxe
		if err := json.Unmarshal(line, &seen); err != nil {
			t.Fatal(err)
		}
		if len(seen.Violations) > 0 || seen.Checked == 0 || seen.Width > views[n].Width {
			t.Errorf("%s, %s, %d wide: scrolls to %d, %d checked, %+v", seen.Name, views[n].Media, views[n].Width, seen.Width, seen.Checked, seen.Violations)
		}
	}
}
