package sheet

import (
	"bytes"
	"encoding/csv"
	"io"
	"strings"
	"unicode"
)

// WriteCSV writes the list as comma-separated values of RFC 4180: CRLF at line
// ends, a header of keys, the section in the first column, UTF-8 without byte
// order mark. A cell that a spreadsheet could take for a formula has an
// apostrophe before it, which makes it text; so has a telephone number with a
// plus and a number below zero.
func (s Sheet) WriteCSV(w io.Writer) error {
	if err := s.check(); err != nil {
		return err
	}
	records := [][]string{{sectionKey}}
	for _, c := range s.Columns {
		records[0] = append(records[0], c.Key)
	}
	for _, section := range s.Sections {
		for _, row := range section.Rows {
			record := []string{guard(section.Name)}
			for _, cell := range row {
				record = append(record, guard(cell))
			}
			records = append(records, record)
		}
	}
	var b bytes.Buffer
	writer := csv.NewWriter(&b)
	writer.UseCRLF = true
	if err := writer.WriteAll(records); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// formulaStarts are the characters at which a spreadsheet begins to read a
// formula: = + - @, and those that Unicode holds for the same in another form
// (compatibility decomposition): full-width, small, raised, lowered, the minus
// sign and others.
const formulaStarts = "=+-@" + "＝＋－＠" + "﹦﹢﹣﹫" + "⁼⁺⁻" + "₌₊₋" + "−" + "⩵⩶" + "﬩"

// cellBreaks begin a new cell, or a new line, for a reader who separates by
// something other than commas and so does not see the quotes of RFC 4180.
const cellBreaks = "\n\t;"

var oneBreak = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\x00", "\uFFFD")

// guard makes a cell safe against formula injection. It follows the page "CSV
// Injection" of the OWASP community: no cell begins with = + - @, tab, carriage
// return or line feed, also none that a reader with another separator would see
// inside this one, and the cure is an apostrophe. What a spreadsheet may skip on
// its way to the sign does not hide it. Line breaks become LF here; the writer
// makes them CRLF. A guarded cell is not changed when guarded again.
func guard(cell string) string {
	rest := strings.ToValidUTF8(cell, "\uFFFD")
	var b strings.Builder
	if beginsWithControl(rest) || beginsFormula(rest) {
		b.WriteByte('\'')
	}
	rest = oneBreak.Replace(rest)
	for {
		i := strings.IndexAny(rest, cellBreaks)
		b.WriteString(rest[:i+1])
		if i < 0 {
			b.WriteString(rest)
			return b.String()
		}
		if rest = rest[i+1:]; beginsFormula(rest) {
			b.WriteByte('\'')
		}
	}
}

// beginsFormula reports whether the first character that counts begins a
// formula; spaces, quotes and what cannot be seen do not count.
func beginsFormula(text string) bool {
	seen := strings.TrimLeftFunc(text, func(r rune) bool {
		return (r == '"' || unicode.IsSpace(r) || unseen(r)) && !strings.ContainsRune(cellBreaks, r)
	})
	return seen != "" && strings.ContainsRune(formulaStarts, []rune(seen)[0])
}

// beginsWithControl reports whether there is a tab, a line break or another
// control character before anything else but spaces and what cannot be seen.
func beginsWithControl(text string) bool {
	for _, r := range text {
		if unicode.IsControl(r) {
			return true
		}
		if !unicode.IsSpace(r) && !unseen(r) {
			return false
		}
	}
	return false
}

// unseen reports whether a character takes no room of its own: control and format
// characters, byte order mark, zero-width space, fillers.
func unseen(r rune) bool {
	return unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Variation_Selector, unicode.Other_Default_Ignorable_Code_Point)
}
