package paper

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// oddities are the runes that could not be printed as they were written.
type oddities map[rune]bool

func (o oddities) sorted() []rune {
	var runes []rune
	for r := range o {
		runes = append(runes, r)
	}
	slices.Sort(runes)
	return runes
}

// shaped are the scripts whose letters change with their neighbours, stand around each
// other or run from right to left: one glyph after the other is not what a reader of
// them can read.
var shaped = []*unicode.RangeTable{
	unicode.Hebrew, unicode.Arabic, unicode.Syriac, unicode.Thaana, unicode.Nko, unicode.Samaritan, unicode.Mandaic,
	unicode.Devanagari, unicode.Bengali, unicode.Gurmukhi, unicode.Gujarati, unicode.Oriya, unicode.Tamil, unicode.Telugu,
	unicode.Kannada, unicode.Malayalam, unicode.Sinhala, unicode.Thai, unicode.Lao, unicode.Tibetan, unicode.Myanmar,
	unicode.Khmer, unicode.Mongolian, unicode.Javanese, unicode.Balinese,
}

// clean makes text that the fonts can print: composed (Unicode Standard Annex 15, NFC),
// as an accent of its own would stand beside its letter; without marks that only steer
// a program; with a visible sign for what has no glyph, which it notes.
func (o oddities) clean(text string) string {
	ascii := true
	for i := range len(text) {
		ascii = ascii && text[i] >= space && text[i] < unicode.MaxASCII
	}
	if ascii {
		return text
	}
	var out strings.Builder
	for _, r := range norm.NFC.String(text) {
		switch {
		case r == '\n':
			out.WriteRune(r)
		case unicode.IsSpace(r) && !isNoBreak(r):
			out.WriteRune(space)
		case steers(r):
		default:
			out.WriteRune(o.printable(r))
		}
	}
	return out.String()
}

// printable is the rune itself, or the sign that stands for it.
func (o oddities) printable(r rune) rune {
	if r == replacement || !fonts()[regular].has(r) || !fonts()[bold].has(r) || unicode.In(r, shaped...) {
		o[r] = true
		return replacement
	}
	if unicode.In(r, unicode.Mn, unicode.Me) {
		o[r] = true
	}
	return r
}

// isNoBreak reports whether a rune is white space at which no line may be broken.
func isNoBreak(r rune) bool {
	const noBreak, figure, narrowNoBreak = '\u00a0', '\u2007', '\u202f'
	return r == noBreak || r == figure || r == narrowNoBreak
}

// steers reports whether a rune has no shape of its own: control and format characters,
// such as a soft hyphen (no word is divided here) or a joiner, and variation selectors.
func steers(r rune) bool {
	return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Variation_Selector)
}
