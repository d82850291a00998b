package sheet

import "unicode"

// width returns how many character cells of a terminal the text takes: two for
// East Asian wide and full-width characters and emoji, none for combining marks
// and invisible format characters. A terminal that joins several emoji into one
// picture shows less than that.
func width(text string) int {
	cells := 0
	for _, r := range text {
		switch {
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf), unicode.Is(joining, r):
		case unicode.Is(wide, r):
			cells += 2
		default:
			cells++
		}
	}
	return cells
}

// joining holds the Hangul vowels and final consonants that join the syllable
// before them.
var joining = &unicode.RangeTable{R16: []unicode.Range16{{Lo: 0x1160, Hi: 0x11FF, Stride: 1}, {Lo: 0xD7B0, Hi: 0xD7FB, Stride: 1}}}

// wide holds what Unicode Standard Annex 11 calls wide or full-width, in blocks
// as large as unassigned characters allow, of the signs only those that names
// and notes may hold.
var wide = &unicode.RangeTable{
	R16: []unicode.Range16{
		{Lo: 0x1100, Hi: 0x115F, Stride: 1}, // Hangul initial consonants
		{Lo: 0x231A, Hi: 0x231B, Stride: 1}, // watch, hourglass
		{Lo: 0x2329, Hi: 0x232A, Stride: 1}, // angle brackets
		{Lo: 0x23E9, Hi: 0x23EC, Stride: 1}, // arrows as emoji
		{Lo: 0x2705, Hi: 0x2705, Stride: 1}, // check mark as emoji
		{Lo: 0x274C, Hi: 0x274C, Stride: 1}, // cross mark as emoji
		{Lo: 0x2B50, Hi: 0x2B50, Stride: 1}, // star as emoji
		{Lo: 0x2E80, Hi: 0x303E, Stride: 1}, // radicals, punctuation
		{Lo: 0x3041, Hi: 0x3247, Stride: 1}, // kana, Bopomofo, Hangul letters
		{Lo: 0x3250, Hi: 0x4DBF, Stride: 1},
		{Lo: 0x4E00, Hi: 0xA4CF, Stride: 1}, // Han, Yi
		{Lo: 0xA960, Hi: 0xA97F, Stride: 1},
		{Lo: 0xAC00, Hi: 0xD7A3, Stride: 1}, // Hangul syllables
		{Lo: 0xF900, Hi: 0xFAFF, Stride: 1}, // Han
		{Lo: 0xFE10, Hi: 0xFE19, Stride: 1},
		{Lo: 0xFE30, Hi: 0xFE6F, Stride: 1}, // small and vertical forms
		{Lo: 0xFF01, Hi: 0xFF60, Stride: 1}, // full-width forms
		{Lo: 0xFFE0, Hi: 0xFFE6, Stride: 1},
	},
	R32: []unicode.Range32{
		{Lo: 0x16FE0, Hi: 0x1B2FF, Stride: 1}, // Tangut, Khitan, Nushu, kana
		{Lo: 0x1F300, Hi: 0x1F320, Stride: 1}, // emoji
		{Lo: 0x1F400, Hi: 0x1F43E, Stride: 1},
		{Lo: 0x1F442, Hi: 0x1F4FC, Stride: 1},
		{Lo: 0x1F5FB, Hi: 0x1F64F, Stride: 1},
		{Lo: 0x1F680, Hi: 0x1F6C5, Stride: 1},
		{Lo: 0x1F90C, Hi: 0x1F93A, Stride: 1},
		{Lo: 0x1F947, Hi: 0x1F9FF, Stride: 1},
		{Lo: 0x20000, Hi: 0x3FFFD, Stride: 1}, // Han
	},
}
