package paper

import (
	"bytes"
	"encoding/binary"
	"math"
	"strings"
	"sync"
	"unicode/utf8"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
	"github.com/go-fonts/dejavu/dejavuserifcondensedbold"
)

// face is one of the fonts. The condensed cuts are about as wide as the types that
// pages on a screen use.
type face int

const (
	regular face = iota
	bold
	serif // bold, for headings
	faces
)

// name is the font's name in the file.
func (f face) name() string {
	return [...]string{"DejaVuSansCondensed", "DejaVuSansCondensed-Bold", "DejaVuSerifCondensed-Bold"}[f]
}

// font is what is known of a font: how wide its glyphs are, and its bytes with fewer
// glyphs, as reading a whole font takes longer than writing a letter with it.
type font struct {
	advance [maxRune + 1]uint16 // of each rune, in thousandths of the size; noGlyph: it has none
	usual   []byte              // with the usual runes
	whole   func() []byte       // with all of them
}

const (
	maxRune     = 0xffff // the library that cuts fonts knows no rune above
	noGlyph     = math.MaxUint16
	replacement = utf8.RuneError // U+FFFD, stands for what cannot be printed
	space       = ' '

	// The fonts are alike in what they need above and below the baseline (hhea), as
	// multiples of the size; small capitals and accents stay within.
	ascent, descent = 0.928, 0.236
)

// fonts reads the fonts once, when the first document is made.
var fonts = sync.OnceValue(func() *[faces]font {
	var all [faces]font
	for f, ttf := range [faces][]byte{dejavusanscondensed.TTF, dejavusanscondensedbold.TTF, dejavuserifcondensedbold.TTF} {
		all[f].read(ttf)
	}
	return &all
})

// read takes the widths and cuts the font twice. The library may write into a font
// whose last glyphs share one width, so it gets a copy, and the cut, in which each glyph
// has its own width, can be shared by all documents.
func (f *font) read(ttf []byte) {
	var usual, whole []rune
	glyphs, advances := glyphsOf(ttf), advancesOf(ttf)
	for r := range f.advance {
		f.advance[r] = noGlyph
		if glyph := glyphs[r]; glyph != 0 {
			f.advance[r] = advances[min(int(glyph), len(advances)-1)]
			whole = append(whole, rune(r))
			if isUsual(rune(r)) {
				usual = append(usual, rune(r))
			}
		}
	}
	f.usual = fpdf.UTF8CutFont(bytes.Clone(ttf), string(usual))
	f.whole = sync.OnceValue(func() []byte { return fpdf.UTF8CutFont(bytes.Clone(ttf), string(whole)) })
}

// isUsual reports whether a rune is likely in a document of a language written in
// Latin letters. Any other makes the cut of the document's own font a few milliseconds
// longer.
func isUsual(r rune) bool {
	const latin, punctuation, forms, signs = '\u024f', '\u2000', '\u206f', "•₂€№™←↑→↓↔−≈≠≤≥□✓✔✗\ufffd"
	return r <= latin || r >= punctuation && r <= forms || strings.ContainsRune(signs, r)
}

func isUnusual(r rune) bool { return !isUsual(r) }

// has reports whether the font has a glyph for a rune.
func (f *font) has(r rune) bool { return r >= 0 && r <= maxRune && f.advance[r] != noGlyph }

// tables finds the tables of a TrueType font by their names (OpenType, "Table
// directory").
func tables(ttf []byte) map[string][]byte {
	const header, record = 12, 16
	found := map[string][]byte{}
	for i := range int(binary.BigEndian.Uint16(ttf[4:])) {
		entry := ttf[header+i*record:][:record]
		from, length := binary.BigEndian.Uint32(entry[8:]), binary.BigEndian.Uint32(entry[12:])
		found[string(entry[:4])] = ttf[from : from+length]
	}
	return found
}

// advancesOf are the widths of the glyphs in thousandths of the size, rounded
// (OpenType, "hhea" and "hmtx"). Glyphs after the last are as
// wide as the last.
func advancesOf(ttf []byte) []uint16 {
	const unitsPerEm, numberOfHMetrics, metric, thousandths = 18, 34, 4, 1000
	table := tables(ttf)
	scale := thousandths / float64(binary.BigEndian.Uint16(table["head"][unitsPerEm:]))
	advances := make([]uint16, binary.BigEndian.Uint16(table["hhea"][numberOfHMetrics:]))
	for i := range advances {
		advances[i] = uint16(math.Round(scale * float64(binary.BigEndian.Uint16(table["hmtx"][i*metric:]))))
	}
	return advances
}

// glyphsOf are the glyphs of the runes up to U+FFFF; 0: none (OpenType, "cmap",
// format 4, platform 3, encoding 1).
func glyphsOf(ttf []byte) *[maxRune + 1]uint16 {
	glyphs := new([maxRune + 1]uint16)
	const header, record, windowsBMP = 4, 8, 3<<16 | 1
	cmap := tables(ttf)["cmap"]
	for i := range int(binary.BigEndian.Uint16(cmap[2:])) {
		entry := cmap[header+i*record:]
		if binary.BigEndian.Uint32(entry) == windowsBMP {
			segments(cmap[binary.BigEndian.Uint32(entry[4:]):], glyphs)
		}
	}
	return glyphs
}

// segments reads a subtable of format 4.
func segments(sub []byte, glyphs *[maxRune + 1]uint16) {
	const ends, pad = 14, 2
	double := int(binary.BigEndian.Uint16(sub[6:])) // twice the number of segments
	at := func(offset int) int { return int(binary.BigEndian.Uint16(sub[offset:])) }
	for i := 0; i < double; i += 2 {
		last := at(ends + i)
		first := at(ends + pad + double + i)
		delta := at(ends + pad + 2*double + i)
		rangePlace := ends + pad + 3*double + i
		offset := at(rangePlace)
		for r := first; r <= last && r < maxRune; r++ {
			glyph := r
			if offset != 0 {
				if glyph = at(rangePlace + offset + 2*(r-first)); glyph == 0 {
					continue
				}
			}
			glyphs[r] = uint16(glyph + delta)
		}
	}
}
