package letter

import (
	"strings"
	"unicode"
)

// clean makes one line of text that came from outside: white space and control
// characters become single spaces, and characters that turn the direction of
// the text around them are dropped. Escaping is the template's work.
func clean(text string) string {
	oneLine := strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r), unicode.IsControl(r):
			return ' '
		case unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
	return strings.Join(strings.Fields(oneLine), " ")
}

// number is a phone number as printed, and as a phone dials it.
type number struct{ Shown, Dial string }

// newNumber reads a phone number. A number that does not dial as it stands, such
// as one with an extension or a bracketed zero, has no Dial.
func newNumber(text string) number {
	shown := clean(text)
	if strings.Contains(shown, "(0)") || strings.LastIndex(shown, "+") > 0 {
		return number{Shown: shown}
	}
	var dial strings.Builder
	for _, r := range shown {
		switch {
		case r >= '0' && r <= '9', r == '+':
			dial.WriteRune(r)
		case !strings.ContainsRune(" -.()", r):
			return number{Shown: shown}
		}
	}
	return number{shown, dial.String()}
}
