package drawing

import (
	"strings"
	"unicode"
)

// boldMore is how much wider bold type is.
const boldMore = 1.18

// TextWidth is the width of a line of words in mm, estimated generously: by the width
// that the widest common typeface (DejaVu Sans) has for each kind of letter.
func TextWidth(text string, sizeMM float64, bold bool) float64 {
	ems := 0.0
	for _, r := range text {
		ems += emsOf(r)
	}
	if bold {
		ems *= boldMore
	}
	return ems * sizeMM
}

func emsOf(r rune) float64 {
	const thin, narrow, usual, capital, wide = 0.34, 0.42, 0.66, 0.79, 1.0
	switch {
	case strings.ContainsRune("ijl.,:;'| ", r):
		return thin
	case strings.ContainsRune("ftr()[]-/", r):
		return narrow
	case strings.ContainsRune("mwMW%@+<=>~^#&", r), r > unicode.MaxASCII:
		return wide
	case unicode.IsUpper(r):
		return capital
	}
	return usual
}
