package reading

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"go.yaml.in/yaml/v3"

	"graftclock/internal/reference"
)

// vocabularies are the words of the letter, by the base language of their folder; each
// word once, in small letters, hyphenated words in their parts.
func vocabularies(t *testing.T) map[string][]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(reference.Root(), "templates", "letter", "*", "words.yaml"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no words: %v", err)
	}
	all := map[string][]string{}
	for _, file := range files {
		base, known := Language(filepath.Base(filepath.Dir(file)))
		if !known {
			t.Errorf("%s: reading cannot measure this language", file)
			continue
		}
		all[base] = wordsOf(t, base, file)
	}
	return all
}

var braces = regexp.MustCompile(`\{[^}]*\}`)

func wordsOf(t *testing.T, base, file string) []string {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var tree any
	if err := yaml.Unmarshal(data, &tree); err != nil {
		t.Fatal(err)
	}
	var words []string
	for _, text := range textsIn(tree) {
		for _, sentence := range languages[base].sentences(braces.ReplaceAllString(text, " ")) {
			for _, w := range sentence {
				words = append(words, strings.Split(w.text, "-")...)
			}
		}
	}
	words = slices.DeleteFunc(words, func(w string) bool {
		return w == "" || strings.ContainsFunc(w, func(r rune) bool { return !unicode.IsLetter(r) && r != '\'' })
	})
	slices.Sort(words)
	return slices.Compact(words)
}

// textsIn are the values of a tree, not its keys, and not the names of presets.
func textsIn(node any) []string {
	var all []string
	switch node := node.(type) {
	case string:
		all = append(all, node)
	case []any:
		for _, item := range node {
			all = append(all, textsIn(item)...)
		}
	case map[string]any:
		for key, item := range node {
			if key != "preset" && key != "id" && key != "language" {
				all = append(all, textsIn(item)...)
			}
		}
	}
	return all
}
