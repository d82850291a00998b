package letter_test

import (
	"os/exec"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// TestEachPrintedPageSaysWhomToCall has a browser print the letter: both numbers of the
// clinic stand on every page, last of all (WCAG 2.2, 3.2.6).
func TestEachPrintedPageSaysWhomToCall(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a browser")
	}
	printed := press(t, htmlOf(t, scanned()))
	text := string(run(t, exec.CommandContext(t.Context(), reference.Program(t, "pdftotext"), "-layout", printed, "-")))
	pages := strings.Split(strings.TrimSuffix(text, "\f"), "\f")
	if len(pages) < 2 {
		t.Fatalf("%d pages", len(pages))
	}
	for n, page := range pages {
		lines := strings.Split(strings.TrimSpace(page), "\n")
		if last := oneLine(lines[len(lines)-1]); !strings.HasPrefix(last, "When we are open: +353 1 555 0100. When we are closed: +353 1 555 0199") {
			t.Errorf("page %d ends with %q", n+1, last)
		}
	}
}
