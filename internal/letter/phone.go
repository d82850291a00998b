package letter

import (
	"strings"

	"graftclock/internal/graft"
)

// number is a phone number as printed, and as a phone dials it.
type number struct{ Shown, Dial string }

// newNumber reads a phone number. A number that does not dial as it stands, such
// as one with an extension or a bracketed zero, has no Dial.
func newNumber(text string) number {
	shown := graft.OneLine(text)
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
