package paper_test

import (
	"slices"
	"strings"
	"testing"

	"graftclock/internal/paper"
)

// one makes a document of one paragraph.
func one(text string) *paper.Sheet {
	s := paper.New(plainOptions())
	s.Paragraph(paper.Plain(text))
	return s
}

// TestEveryLetterCanBeCopied in each of the fonts: those of the letter's languages, of
// others with Latin letters, Greek and Cyrillic, and the signs a letter needs.
func TestEveryLetterCanBeCopied(t *testing.T) {
	for _, line := range []string{
		"El niño comió después; ¿qué año? ¡Ánimo, pingüino!",
		"Größe, Übung, Straße, Öl, äußern, ÄÖÜẞ",
		"cœur, garçon, été, où, naïf, Noël, «être», âge, Ÿ",
		"Zażółć gęślą jaźń: ŁÓDŹ, ŻÓŁĆ, ŚĆĄĘŃ",
		"coșul și țara, İstanbul ışık ğ, čeština řů, ő ű, åæø, ðþ",
		"€ 12,50 · ½ · ≥ 35 · ✓ · 38,5 °C · → · 5–7 · “quote” · ‚so‘ · … · × · ±",
		"Ελληνικά γράμματα, Українська мова, Ђорђе",
	} {
		s := paper.New(plainOptions())
		s.Heading(1, line)
		s.Paragraph(paper.Plain(line))
		s.Paragraph(paper.Strong(line))
		if got := words(text(t, write(t, s))); !strings.HasPrefix(got, strings.Repeat(line+" ", 3)) {
			t.Errorf("%s\nbecame %s", line, got)
		}
		if odd := s.Unprintable(); len(odd) > 0 {
			t.Errorf("%s: not printed: %q", line, odd)
		}
	}
}

// TestAccentsOfTheirOwnAreComposed: they would stand beside their letter (UAX 15, NFC).
func TestAccentsOfTheirOwnAreComposed(t *testing.T) {
	s := one("Mu\u0308ller Nu\u0301n\u0303ez Z\u0307o\u0301łw")
	if got := words(text(t, write(t, s))); !strings.HasPrefix(got, "Müller Núñez Żółw") || len(s.Unprintable()) > 0 {
		t.Errorf("%s, not printed: %q", got, s.Unprintable())
	}
}

func TestWhatCannotBePrintedIsSeenAndTold(t *testing.T) {
	for _, c := range []struct {
		text, want string
		odd        []rune
	}{
		{"Ida 😀 Marlow", "Ida \ufffd Marlow", []rune{'😀'}},
		{"שלום Nora", "\ufffd\ufffd\ufffd\ufffd Nora", []rune{'ו', 'ל', 'ם', 'ש'}},
		{"نورا Fenwick", "\ufffd\ufffd\ufffd\ufffd Fenwick", []rune{'ا', 'ر', 'ن', 'و'}},
		{"李 Marlow", "\ufffd Marlow", []rune{'李'}},
		{"a\xffb", "a\ufffdb", []rune{'\ufffd'}},
		{"x\u0302y", "x\u0302y", []rune{'\u0302'}}, // no letter carries it
		{"one\u00adtwo", "onetwo", nil},            // soft hyphen
		{"a\u200bb\u2060c\ufeffd\u0007e", "abcde", nil},
		{"heart ❤\ufe0f", "heart ❤", nil},
		{"co\u2011op", "co\u2011op", nil},
		{"9:30\u00a0Uhr\u202fda", "9:30 Uhr da", nil}, // as poppler copies them
		{"tab\there\u2003wide", "tab here wide", nil},
	} {
		s := one(c.text)
		got, _, _ := strings.Cut(text(t, write(t, s)), "\n")
		if strings.TrimSpace(got) != c.want || !slices.Equal(s.Unprintable(), c.odd) {
			t.Errorf("%q became %q, told %q", c.text, got, s.Unprintable())
		}
	}
}

// TestNoBreakSpaceHolds: what it joins stands on one line, wherever the line ends.
func TestNoBreakSpaceHolds(t *testing.T) {
	for n := range 40 {
		got := text(t, write(t, one(strings.Repeat("i", 2*n+1)+strings.Repeat(" word", 14)+" Thursday\u00a011\u00a0March\u00a02027")))
		if !strings.Contains(got, "Thursday 11 March 2027") {
			t.Fatalf("after %d letters:\n%s", 2*n+1, got)
		}
	}
}

// TestLinesEndWithASpace: without it a program that copies by structure joins the last
// word of a line to the first of the next.
func TestLinesEndWithASpace(t *testing.T) {
	line := strings.TrimSpace(strings.Repeat("Straße Übergröße ", 30))
	said := read(t, write(t, one(line)), "pdfinfo", "-struct-text", "FILE")
	if !strings.Contains(said, `"`+line+` "`) && !strings.Contains(said, `"`+line+`"`) {
		t.Error(said)
	}
}

func TestLongWordIsBroken(t *testing.T) {
	long := strings.Repeat("Nebenhöhlen", 8)
	for _, columns := range [][]float64{{1}, {1, 1, 1, 1}, {1, 12}} {
		s := paper.New(plainOptions())
		row := make([]paper.Cell, len(columns))
		for i := range row {
			row[i] = paper.Text(paper.Strong(long))
		}
		s.Table(paper.Table{Shares: columns, Rows: [][]paper.Cell{row}})
		pdf := write(t, s)
		if got := strings.Join(strings.Fields(text(t, pdf)), ""); !strings.HasPrefix(got, strings.Repeat(long, len(columns))) {
			t.Errorf("%v: %s", columns, got)
		}
		insideMargins(t, pdf)
	}
	address := "https://example.org/" + strings.Repeat("folder/", 20) + "page"
	for line := range strings.Lines(text(t, write(t, one(address)))) {
		if line = strings.TrimSpace(line); strings.Contains(line, "folder") && !strings.HasSuffix(line, "/") && !strings.HasSuffix(line, "page") {
			t.Errorf("broken within a part: %s", line)
		}
	}
}

func TestLineFeedEndsALine(t *testing.T) {
	got := text(t, write(t, one("First line\nsecond line\n\nfourth")))
	if !strings.HasPrefix(got, "First line\nsecond line\n") || !strings.Contains(got, "fourth") {
		t.Errorf("%q", got)
	}
}
