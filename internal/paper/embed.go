package paper

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"

	"codeberg.org/go-pdf/fpdf"
)

// used are the runes of a font that a document prints. Each has a number of its own,
// from 1 on in the order in which they appear; text in the file is made of them.
type used struct {
	number map[rune]int
	runes  []rune
}

// of is the number of a rune.
func (u *used) of(r rune) int {
	number, known := u.number[r]
	if !known {
		if u.number == nil {
			u.number = map[rune]int{}
		}
		u.runes = append(u.runes, r)
		number = len(u.runes)
		u.number[r] = number
	}
	return number
}

// embed adds a font with the glyphs of the runes in use, and how to get from glyphs back
// to text (ISO 32000-1, 9.7 and 9.10.3).
func (f *file) embed(number int, face face, u *used) {
	known := &fonts()[face]
	source := known.usual
	if slices.ContainsFunc(u.runes, isUnusual) {
		source = known.whole()
	}
	cut := fpdf.UTF8CutFont(source, string(u.runes))
	glyphs := glyphsOf(cut)
	toGlyph := make([]byte, 2, 2*len(u.runes)+2)
	var widths strings.Builder
	for _, r := range u.runes {
		toGlyph = binary.BigEndian.AppendUint16(toGlyph, glyphs[r])
		fmt.Fprintf(&widths, "%d ", known.advance[r])
	}
	// Six letters before the name say that the font is not whole (9.6.4).
	name := "GRAFT" + string(rune('A'+face)) + "+" + face.name()
	toUnicode := f.stream(unicodes(u.runes), "")
	glyphMap := f.stream(toGlyph, "")
	program := f.stream(cut, fmt.Sprintf(" /Length1 %d", len(cut)))
	descriptor := f.add("<</Type /FontDescriptor /FontName /%s /Flags 4 /FontBBox [%s] /ItalicAngle 0 /Ascent %.0f /Descent %.0f /CapHeight 729 /StemV %d /FontFile2 %d 0 R>>",
		name, boundsOf(cut), 1000*ascent, -1000*descent, face.stem(), program)
	descendant := f.add("<</Type /Font /Subtype /CIDFontType2 /BaseFont /%s /CIDSystemInfo <</Registry (Adobe) /Ordering (Identity) /Supplement 0>> /FontDescriptor %d 0 R /CIDToGIDMap %d 0 R /W [1 [%s]]>>",
		name, descriptor, glyphMap, widths.String())
	f.set(number, "<</Type /Font /Subtype /Type0 /BaseFont /%s /Encoding /Identity-H /DescendantFonts [%d 0 R] /ToUnicode %d 0 R>>", name, descendant, toUnicode)
}

// stem is about the width of the upright strokes, in thousandths of the size.
func (f face) stem() int {
	const thin, thick = 80, 160
	if f == regular {
		return thin
	}
	return thick
}

// boundsOf is the box around all glyphs in thousandths of the size (OpenType, "head").
func boundsOf(ttf []byte) string {
	const unitsPerEm, xMin, values, thousandths = 18, 36, 4, 1000
	head := tables(ttf)["head"]
	var bounds strings.Builder
	for i := range values {
		value := int(int16(binary.BigEndian.Uint16(head[xMin+2*i:])))
		fmt.Fprintf(&bounds, "%d ", value*thousandths/int(binary.BigEndian.Uint16(head[unitsPerEm:])))
	}
	return bounds.String()
}

// unicodes maps the numbers of runes to the runes (Adobe Technical Note 5411).
func unicodes(runes []rune) []byte {
	var out bytes.Buffer
	out.WriteString("/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n" +
		"/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n")
	const most = 100 // entries in one block
	number := 1
	for block := range slices.Chunk(runes, most) {
		fmt.Fprintf(&out, "%d beginbfchar\n", len(block))
		for _, r := range block {
			fmt.Fprintf(&out, "<%04X> <%04X>\n", number, r)
			number++
		}
		out.WriteString("endbfchar\n")
	}
	out.WriteString("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n")
	return out.Bytes()
}
