package paper_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/drawing"
	"graftclock/internal/paper"
)

// trial is a document made at random, with the words that it says in the order of the
// calls.
type trial struct {
	sheet *paper.Sheet
	said  []string
	level int
}

// alphabet holds no hyphen and no quotation mark, which the programs that read the
// document back treat in ways of their own.
var alphabet = rapid.StringOfN(rapid.RuneFrom([]rune("aeiounrtslmABZñüßœçłżźąęśćńóéÉŁ€½≥✓°0123456789.,:()")), 1, 14, -1)

// words makes text, and notes it.
func (d *trial) words(t *rapid.T, most int) string {
	words := make([]string, rapid.IntRange(1, most).Draw(t, "words"))
	for i := range words {
		words[i] = alphabet.Draw(t, "word")
		if rapid.IntRange(0, 60).Draw(t, "long") == 0 {
			words[i] = strings.Repeat(words[i], 30)
		}
	}
	d.said = append(d.said, words...)
	return strings.Join(words, rapid.SampledFrom([]string{" ", "  ", "\n"}).Draw(t, "between"))
}

func (d *trial) runs(t *rapid.T) (runs []paper.Run) {
	for range rapid.IntRange(1, 3).Draw(t, "runs") {
		runs = append(runs, paper.Run{
			Text: d.words(t, 25) + " ",
			Bold: rapid.Bool().Draw(t, "bold"),
			Size: rapid.SampledFrom([]float64{0, 0.8, 1.5}).Draw(t, "size"),
			Link: rapid.SampledFrom([]string{"", "", "tel:999"}).Draw(t, "link"),
		})
	}
	return runs
}

const dot = "•"

func (d *trial) items(t *rapid.T, depth int) []paper.Item {
	items := make([]paper.Item, rapid.IntRange(1, 6).Draw(t, "items"))
	for i := range items {
		d.said = append(d.said, dot)
		items[i].Runs = d.runs(t)
		if depth > 0 && rapid.IntRange(0, 3).Draw(t, "inside") == 0 {
			items[i].Inside = d.items(t, depth-1)
		}
	}
	return items
}

func (d *trial) table(t *rapid.T) {
	table := paper.Table{RowHeads: rapid.Bool().Draw(t, "heads"), Stacked: rapid.Bool().Draw(t, "stacked")}
	columns := rapid.IntRange(1, 4).Draw(t, "columns")
	for range columns {
		if !table.Stacked {
			table.Head = append(table.Head, d.words(t, 2))
		}
		table.Shares = append(table.Shares, float64(rapid.IntRange(2, 4).Draw(t, "share")))
	}
	for range rapid.IntRange(1, 12).Draw(t, "rows") {
		var row []paper.Cell
		for left := columns; left > 0; {
			cell := paper.Cell{Span: rapid.IntRange(0, left).Draw(t, "span")}
			left -= max(1, cell.Span)
			if rapid.IntRange(0, 5).Draw(t, "empty") > 0 {
				cell.Runs = []paper.Run{paper.Plain(d.words(t, 12))}
			}
			row = append(row, cell)
		}
		table.Rows = append(table.Rows, row)
	}
	d.sheet.Table(table)
}

func (d *trial) drawing(t *rapid.T) {
	picture := drawing.Drawing{ID: "d", Title: "Drawing", WidthMM: 100, HeightMM: float64(rapid.IntRange(1, 400).Draw(t, "height"))}
	picture.Add(drawing.Label{At: drawing.Point{X: 50, Y: 1}, Text: d.words(t, 1), SizeMM: 1, Anchor: drawing.Middle})
	d.sheet.Draw(picture, 0)
}

// block adds one block, which may hold others.
func (d *trial) block(t *rapid.T, depth int) {
	within := func() {
		for range rapid.IntRange(0, 3).Draw(t, "blocks") {
			d.block(t, depth-1)
		}
	}
	switch rapid.IntRange(0, 10).Draw(t, "block") {
	case 0:
		d.level = min(3, rapid.IntRange(1, d.level+1).Draw(t, "level"))
		d.sheet.Heading(d.level, d.words(t, 8))
	case 1, 2:
		d.sheet.Paragraph(d.runs(t)...)
	case 3:
		d.sheet.Large(d.words(t, 4))
	case 4:
		d.sheet.List(d.items(t, 2), rapid.IntRange(1, 3).Draw(t, "columns"))
	case 5:
		d.table(t)
	case 6:
		d.sheet.Gap(float64(rapid.IntRange(0, 300).Draw(t, "gap")))
	case 7:
		d.drawing(t)
	default:
		if depth > 0 {
			d.holder(t, within)
		}
	}
}

func (d *trial) holder(t *rapid.T, within func()) {
	switch rapid.IntRange(0, 3).Draw(t, "holder") {
	case 0:
		d.sheet.Boxed(paper.Box{Line: drawing.Ink, LineMM: 1, Fill: drawing.Wash, BarMM: 2, Dashed: rapid.Bool().Draw(t, "dashed")}, within)
	case 1:
		d.sheet.Keep(within)
	case 2:
		d.sheet.Beside([]float64{1, 1}, within, within)
	case 3:
		d.sheet.NewPage()
		within()
	}
}

var trials = rapid.Custom(func(t *rapid.T) *trial {
	o := plainOptions()
	o.BodyPT = rapid.SampledFrom([]float64{0, 9, 12, 18}).Draw(t, "points")
	o.Size = rapid.SampledFrom([]paper.Size{paper.A4, paper.USLetter}).Draw(t, "size")
	o.MarginMM = 12
	d := &trial{sheet: paper.New(o)}
	for range rapid.IntRange(0, 12).Draw(t, "blocks") {
		d.block(t, 3)
	}
	return d
})

// TestAnyDocumentIsWritten without a panic or an error, and twice the same.
func TestAnyDocumentIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := trials.Draw(t, "document")
		var one, two bytes.Buffer
		if err := d.sheet.Write(&one); err != nil {
			t.Fatal(err)
		}
		if d.sheet.Write(&two); !bytes.Equal(one.Bytes(), two.Bytes()) {
			t.Fatal("another file")
		}
	})
}

// TestAnyTextIsWritten: whatever bytes it is made of.
func TestAnyTextIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := plainOptions()
		o.Title, o.Watermark = rapid.String().Draw(t, "title"), rapid.String().Draw(t, "watermark")
		s := paper.New(o)
		s.Heading(1, rapid.String().Draw(t, "heading"))
		s.Paragraph(paper.Plain(string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes"))), paper.Run{Text: rapid.String().Draw(t, "text"), Link: rapid.String().Draw(t, "link")})
		var out bytes.Buffer
		if err := s.Write(&out); err != nil {
			t.Fatal(err)
		}
	})
}

// counts says how often each rune stands in a text.
func counts(text string) map[rune]int {
	count := map[rune]int{}
	for _, r := range text {
		count[r]++
	}
	return count
}

// TestNoWordOfAnyDocumentIsLost: read by its tags, a document says all words in the order
// of the calls and nothing else; its pages show all of it, within the margins; and qpdf
// finds it sound.
func TestNoWordOfAnyDocumentIsLost(t *testing.T) {
	for seed := range 24 {
		d := trials.Example(seed)
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			pdf := write(t, d.sheet)
			var tagged strings.Builder
			for line := range strings.Lines(structure(t, pdf)) {
				if quoted := strings.TrimSpace(line); strings.HasPrefix(quoted, `"`) {
					tagged.WriteString(strings.Trim(quoted, `"`))
				}
			}
			want := strings.Join(d.said, "")
			if got := strings.Join(strings.Fields(tagged.String()), ""); got != want {
				t.Errorf("by its tags it says\n%s\nand not\n%s", got, want)
			}
			printed := counts(text(t, pdf))
			for r, want := range counts(want) {
				if printed[r] < want {
					t.Errorf("%q is on the pages %d times, and not %d", r, printed[r], want)
				}
			}
			insideMargins(t, pdf)
			if said := read(t, pdf, "qpdf", "--check", "FILE"); strings.Contains(said, "WARNING") {
				t.Error(said)
			}
		})
	}
}
