package sheet

import (
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// TestLettersAreAsWideAsUnicodeSays compares every letter, digit and punctuation
// mark of Unicode with its East Asian width.
func TestLettersAreAsWideAsUnicodeSays(t *testing.T) {
	python := reference.Python(t, "unicodedata")
	out, err := exec.Command(python, "-c", `import unicodedata as u
for c in range(0x110000):
    if u.category(chr(c))[0] in "LNP" and not (0x1160 <= c <= 0x11FF or 0xD7B0 <= c <= 0xD7FB):
        print(c, 2 if u.east_asian_width(chr(c)) in "WF" else 1)`).Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	const fewest = 100_000
	if len(lines) < fewest {
		t.Fatalf("%d characters only", len(lines))
	}
	for _, line := range lines {
		code, want, _ := strings.Cut(line, " ")
		r, _ := strconv.Atoi(code)
		if got := width(string(rune(r))); strconv.Itoa(got) != want {
			t.Errorf("U+%04X takes %d cells, want %s", r, got, want)
		}
	}
}
