package graft

import (
	"strings"
	"unicode"
)

// OneLine makes one line of text that came from outside: white space and control
// characters become single spaces, characters that turn the direction of the
// text around them are dropped, and bytes that are no UTF-8 become U+FFFD. It
// escapes nothing.
func OneLine(text string) string {
	flat := strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r), unicode.IsControl(r):
			return ' '
		case unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
	return strings.Join(strings.Fields(flat), " ")
}
