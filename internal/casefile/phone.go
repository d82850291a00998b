package casefile

import (
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"graftclock/internal/table"
)

// Bounds of what can be a telephone number: from a short one inside a house to one
// written out with its country's prefix, blanks and brackets.
const (
	leastDigits = 5
	mostPhone   = 30
)

const (
	phoneExample = "+353 1 555 0100"
	phonePattern = `([+()/-][ +()/-]*)?[0-9]([ +()/-]*[0-9]){4,}([ +()/-]*[+()/-])?`
)

// phoneGrammar is how a telephone number must read: as it is dialled and nothing
// beside it, so that a page can offer it to be dialled.
var phoneGrammar = &table.Grammar{Name: "a telephone number such as " + phoneExample, Pattern: phonePattern, Most: mostPhone, Check: phone}

var phoneForm = regexp.MustCompile("^(?:" + phonePattern + ")$")

// phone tells what of a text is not dialled.
func phone(text string) error {
	notDialled := strings.IndexFunc(text, func(c rune) bool { return !strings.ContainsRune("0123456789 +-()/", c) })
	digits := len(text) - len(strings.Map(func(c rune) rune {
		if c >= '0' && c <= '9' {
			return -1
		}
		return c
	}, text))
	switch {
	case notDialled >= 0:
		c, _ := utf8.DecodeRuneInString(text[notDialled:])
		return fmt.Errorf("%q is no telephone number: it has %q; want digits, blanks and + - ( ) / alone", text, c)
	case digits < leastDigits:
		return fmt.Errorf("%q is no telephone number: want at least %d digits", text, leastDigits)
	case !phoneForm.MatchString(text):
		return fmt.Errorf("%q is no telephone number: want no blank before or after it", text)
	}
	return nil
}
