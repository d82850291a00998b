package reading

import (
	"regexp"
	"strings"
)

func in(r rune, letters string) bool { return strings.ContainsRune(letters, r) }

// anyOf is one pattern that matches where any of them does.
func anyOf(patterns ...string) *regexp.Regexp {
	return regexp.MustCompile(strings.Join(patterns, "|"))
}

// groups is how often the pattern occurs, without overlaps.
func groups(pattern *regexp.Regexp, word string) int {
	return len(pattern.FindAllStringIndex(word, -1))
}
