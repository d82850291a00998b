package paper

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"io"
	"regexp"
	"strconv"
	"testing"
	"unicode"

	"github.com/go-fonts/dejavu/dejavusanscondensed"

	"graftclock/internal/day"
)

// outline is what a font holds of a glyph (OpenType, "loca" and "glyf").
func outline(ttf []byte, glyph uint16) []byte {
	const longOffsets = 50 // in "head"
	table := tables(ttf)
	at := func(i int) int {
		if binary.BigEndian.Uint16(table["head"][longOffsets:]) == 0 {
			return 2 * int(binary.BigEndian.Uint16(table["loca"][2*i:]))
		}
		return int(binary.BigEndian.Uint32(table["loca"][4*i:]))
	}
	return table["glyf"][at(int(glyph)):at(int(glyph)+1)]
}

// TestEachNumberShowsItsRune: the file leads from the number of a rune to the very
// outline that the whole font has for it. Text that is copied would not tell.
func TestEachNumberShowsItsRune(t *testing.T) {
	const text = "El niño Größe cœur Zażółć gęślą jaźń ŁÓDŹ € ½ ≥ ✓ ° 0123456789 Ω Ж ‑ \ufffd"
	for _, source := range []string{text, "Only usual: " + text[:40]} {
		var f file
		var u used
		for _, r := range source {
			u.of(r)
		}
		f.embed(f.reserve(1), regular, &u)
		cut, numbers := embedded(t, &f)
		whole := dejavusanscondensed.TTF
		glyphs := glyphsOf(whole)
		for i, r := range u.runes {
			want, got := outline(whole, glyphs[r]), outline(cut, binary.BigEndian.Uint16(numbers[2*i+2:]))
			composed := len(want) > 1 && want[0] >= 0x80 // of other glyphs, whose numbers change
			if glyphs[r] == 0 || !bytes.Equal(got[:min(len(got), len(want))], want) && !composed || (len(got) == 0) != (r == space) {
				t.Errorf("%q shows another glyph: %d bytes, and not %d", r, len(got), len(want))
			}
		}
	}
}

// embedded are the font in a file and its map from numbers to glyphs: the streams with
// and just before the font's.
func embedded(t *testing.T, f *file) (cut, numbers []byte) {
	t.Helper()
	for i, object := range f.objects {
		if bytes.Contains(object, []byte("/Length1")) {
			return unpacked(t, object), unpacked(t, f.objects[i-1])
		}
	}
	t.Fatal("no font")
	return nil, nil
}

// TestWidthsAreThoseOfTheGlyphs in the file: a reading program places the letters of a
// word by them.
func TestWidthsAreThoseOfTheGlyphs(t *testing.T) {
	var f file
	var u used
	for r := rune(' '); r < 0x17f; r++ {
		if fonts()[regular].has(r) {
			u.of(r)
		}
	}
	f.embed(f.reserve(1), regular, &u)
	cut, numbers := embedded(t, &f)
	advances := advancesOf(cut)
	for _, object := range f.objects {
		_, widths, found := bytes.Cut(object, []byte("/W [1 ["))
		if !found {
			continue
		}
		all := regexp.MustCompile(`\d+`).FindAll(widths, -1)
		if len(all) != len(u.runes) {
			t.Fatalf("%d widths of %d runes", len(all), len(u.runes))
		}
		for i, width := range all {
			if got, _ := strconv.Atoi(string(width)); got != int(advances[binary.BigEndian.Uint16(numbers[2*i+2:])]) {
				t.Errorf("%q is %d wide", u.runes[i], got)
			}
		}
		return
	}
	t.Fatal("no widths")
}

// TestFontsHoldWhatLettersNeed: every Latin letter and sign of the Latin blocks of the
// Basic Multilingual Plane up to U+024F, in all three fonts.
func TestFontsHoldWhatLettersNeed(t *testing.T) {
	for f := range faces {
		for r := rune(' '); r <= 0x24f; r++ {
			if unicode.IsGraphic(r) && !fonts()[f].has(r) {
				t.Errorf("%s has no %q", f.name(), r)
			}
		}
	}
}

// TestNoStringEndsEarly: text of any kind in the dictionaries is written in hexadecimal.
func TestNoStringEndsEarly(t *testing.T) {
	s := New(Options{Title: "a) /X (b\\", Language: "en) /Y", Created: day.New(2027, 3, 1)})
	s.Paragraph(Run{Text: "link", Link: "tel:1) /Z"})
	var out bytes.Buffer
	if err := s.Write(&out); err != nil || bytes.Contains(out.Bytes(), []byte("/X")) || bytes.Contains(out.Bytes(), []byte("/Y")) || bytes.Contains(out.Bytes(), []byte("/Z")) {
		t.Errorf("%v: %s", err, out.Bytes())
	}
}

// unpacked is what a stream holds.
func unpacked(t *testing.T, object []byte) []byte {
	t.Helper()
	_, data, found := bytes.Cut(object, []byte("\nstream\n"))
	if !found {
		t.Fatal("no stream")
	}
	reader, err := zlib.NewReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	all, err := io.ReadAll(reader)
	if err != nil {
		t.Fatal(err)
	}
	return all
}
