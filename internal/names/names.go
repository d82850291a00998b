// Package names finds people by their names as they are typed at a desk: in any
// letter case, with or without accents, in any order of words, by the beginnings of
// words, and with slips of the finger. It decides how well a name fits what was typed
// and knows nothing of what the names belong to.
package names

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Bounds of what is read of a text: no name needs more, and a text made to take long
// must not.
const (
	mostLetters = 80 // of a text
	mostWords   = 8  // of a text
)

// folds are letters that are no letter with a mark to Unicode (UAX #15), as they are
// typed on a keyboard without them. Capital letters come in small.
var folds = map[rune]string{
	'ß': "ss", 'æ': "ae", 'œ': "oe", 'ø': "o", 'ł': "l", 'đ': "d", 'ð': "d", 'þ': "th", 'ħ': "h", 'ı': "i", 'ĸ': "k", 'ŋ': "n", 'ŧ': "t", 'ſ': "s", 'ə': "e",
}

// joins are signs that stand inside a word and are often left out or typed another way.
const joins = "'’‘`´ʼ·.\u00ad\u200b\u200c\u200d\u2060"

// Fold writes a text in small letters without accents, its words one blank apart: what
// two ways of writing a name have in common. Letters of other scripts stay. A text of
// more than 80 letters is cut short.
func Fold(text string) string {
	var b strings.Builder
	letters, gap := 0, false
	for _, c := range norm.NFKD.String(short(text)) {
		c = unicode.ToLower(c)
		switch {
		case letters == mostLetters:
			return b.String()
		case unicode.IsMark(c) || strings.ContainsRune(joins, c):
		case unicode.IsLetter(c) || unicode.IsDigit(c):
			if gap && letters > 0 {
				b.WriteByte(' ')
			}
			letters, gap = letters+1, false
			if plain, known := folds[c]; known {
				b.WriteString(plain)
			} else {
				b.WriteRune(c)
			}
		default:
			gap = true
		}
	}
	return b.String()
}

// short cuts a text before anything is done with all of it. Marks and signs that are
// folded away may make it longer than what is read of it.
func short(text string) string {
	const mostBytes = 16 * mostLetters
	if len(text) <= mostBytes {
		return text
	}
	return strings.ToValidUTF8(text[:mostBytes], "")
}
