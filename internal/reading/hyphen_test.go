package reading

import (
	"bytes"
	"errors"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// TestAgainstHyphenation: a word may be divided only between syllables, so it has at
// least as many as the hyphenation patterns of its language make parts. They leave
// parts of one letter whole, so the equal ones are only counted.
func TestAgainstHyphenation(t *testing.T) {
	python := reference.Python(t, "pyphen")
	letters := vocabularies(t)
	for _, base := range []string{"de", "es", "fr", "pl"} {
		t.Run(base, func(t *testing.T) {
			words := letters[base]
			for _, entry := range strings.Fields(divided[base]) {
				word, _ := parts(entry)
				words = append(words, strings.ToLower(word))
			}
			slices.Sort(words)
			words = slices.Compact(words)
			equal := 0
			for i, hyphened := range hyphenate(t, python, base, words) {
				got, least := languages[base].partSyllables(words[i], ""), heardParts(base, hyphened)
				if got < least {
					t.Errorf("%s: %d syllables, but %s", words[i], got, hyphened)
				}
				equal += one(got == least)
			}
			t.Logf("%d words (%d of the letter), %d with as many syllables as parts", len(words), len(letters[base]), equal)
		})
	}
}

var (
	anyVowel   = regexp.MustCompile(`[aeiouyąęóäöüáéíúàâèêëîïôùûœæ]`)
	mutePartFR = regexp.MustCompile(`=[^aeiouyéèêàâîôûùœ=]+(e|es|ent)$`)
)

// heardParts counts the parts of a divided word: not those without a vowel (the Polish
// patterns have "wsz=cze"), nor a French one whose only vowel is mute, nor the second
// half of the English "mail", which the Polish patterns take for a Polish word, nor of
// the French "lieu", which the German ones take for a German word.
func heardParts(base, hyphened string) int {
	switch base {
	case "pl":
		hyphened = strings.ReplaceAll(hyphened, "ma=il", "mail")
	case "de":
		hyphened = strings.ReplaceAll(hyphened, "li=eu", "lieu")
	}
	n := 0
	for _, part := range strings.Split(hyphened, "=") {
		n += one(anyVowel.MatchString(part))
	}
	return n - one(base == "fr" && mutePartFR.MatchString(hyphened))
}

func hyphenate(t *testing.T, python, base string, words []string) []string {
	t.Helper()
	command := exec.Command(python, filepath.Join(reference.Folder(), "hyphenate.py"), base)
	command.Stdin = strings.NewReader(strings.Join(words, "\n") + "\n")
	var complaint bytes.Buffer
	command.Stderr = &complaint
	out, err := command.Output()
	var failed *exec.ExitError
	if errors.As(err, &failed) && failed.ExitCode() == 3 {
		reference.Missing(t, "hyphenation patterns of hyphen-"+base, err)
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, &complaint)
	}
	divided := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(divided) != len(words) {
		t.Fatalf("%d answers for %d words", len(divided), len(words))
	}
	return divided
}
