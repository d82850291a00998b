package paper_test

import (
	"fmt"
	"strings"
	"testing"

	"graftclock/internal/drawing"
	"graftclock/internal/paper"
)

// rows are rows that wrap, each with a word that tells first and last line apart.
func rows(count, lines int) (rows [][]paper.Cell) {
	for i := range count {
		filler := strings.Repeat(" word", 4*lines)
		rows = append(rows, []paper.Cell{
			paper.Text(paper.Strong(fmt.Sprintf("row%d", i))),
			paper.Text(paper.Plain(fmt.Sprintf("first%d%s last%d", i, filler, i))),
			paper.Text(paper.Plain("")),
		})
	}
	return rows
}

// TestRowsAreNotDivided, the head is printed on each page, and no row stands alone.
func TestRowsAreNotDivided(t *testing.T) {
	for lead := range 12 {
		count := 34 + lead // so that the last page holds now many rows, now few
		for _, stacked := range []bool{false, true} {
			s := paper.New(plainOptions())
			s.Heading(1, "Title")
			s.Gap(float64(lead) * 20)
			s.Table(paper.Table{Head: []string{"Name", "Said", "Empty"}, Rows: rows(count, 5), RowHeads: true, Stacked: stacked})
			pages := places(t, write(t, s))
			held := make([]int, len(pages))
			for i := range count {
				a, _ := pageOf(t, pages, fmt.Sprintf("row%d", i))
				b, _ := pageOf(t, pages, fmt.Sprintf("first%d", i))
				c, _ := pageOf(t, pages, fmt.Sprintf("last%d", i))
				if a != b || b != c {
					t.Errorf("row %d on pages %d, %d, %d", i, a, b, c)
				}
				held[a]++
			}
			for i, page := range pages {
				heads := 0
				for _, w := range page.Words {
					if w.Text == "Said" {
						heads++
					}
				}
				if title := i == 0 && held[i] < 2; !title && (held[i] < 2 || heads != 1 && !stacked) {
					t.Errorf("page %d of %d: %d rows, %d heads", i+1, len(pages), held[i], heads)
				}
			}
		}
	}
}

// TestRowHigherThanAPage is divided, for want of anything better, and loses nothing.
func TestRowHigherThanAPage(t *testing.T) {
	for _, stacked := range []bool{false, true} {
		s := paper.New(plainOptions())
		long := strings.Repeat("word ", 900)
		s.Table(paper.Table{Head: []string{"a", "b"}, Rows: [][]paper.Cell{{paper.Text(paper.Plain(long)), paper.Text(paper.Plain("short"))}}, Stacked: stacked})
		pdf := write(t, s)
		if got := strings.Count(text(t, pdf), "word"); got != 900 {
			t.Errorf("%d words", got)
		}
		insideMargins(t, pdf)
	}
}

// TestHeadingStaysWithWhatFollows, and a paragraph leaves no line alone, at whatever
// height of the page they begin.
func TestHeadingStaysWithWhatFollows(t *testing.T) {
	for mm := 200.0; mm < 270; mm += 1.5 {
		s := paper.New(plainOptions())
		s.Heading(1, "Title")
		s.Paragraph(paper.Plain("Title"))
		s.Gap(mm - 10)
		s.Heading(2, "Here")
		s.Paragraph(paper.Plain("one" + strings.Repeat(" word", 17) + " two\u00a0three" + strings.Repeat(" word", 17) + " four five" + strings.Repeat(" word", 17) + " six"))
		pages := places(t, write(t, s))
		heading, _ := pageOf(t, pages, "Here")
		first, _ := pageOf(t, pages, "one")
		if heading != first {
			t.Errorf("after %v mm: heading on page %d, paragraph on %d", mm, heading+1, first+1)
		}
		for i, page := range pages {
			lines := map[float64]bool{}
			for _, w := range page.Words {
				if w.YMin < page.Height*0.93 && w.Text != "Title" && w.Text != "Here" {
					lines[w.YMin] = true
				}
			}
			if len(lines) == 1 {
				t.Errorf("after %v mm: one line alone on page %d", mm, i+1)
			}
		}
	}
}

func TestBoxesAndWhatIsKeptStayOnOnePage(t *testing.T) {
	for name, hold := range map[string]func(s *paper.Sheet, within func()){
		"box":  func(s *paper.Sheet, within func()) { s.Boxed(paper.Box{Line: drawing.Ink, LineMM: 1}, within) },
		"keep": func(s *paper.Sheet, within func()) { s.Keep(within) },
		"beside": func(s *paper.Sheet, within func()) {
			s.Beside([]float64{1, 2}, func() { s.Paragraph(paper.Plain("left")) }, within)
		},
		"columns": func(s *paper.Sheet, _ func()) {
			s.List(paper.Items("from", "b", "c", "d", "e", "f", "g", "h", "i", "to"), 2)
		},
	} {
		for mm := 180.0; mm < 270; mm += 9 {
			s := paper.New(plainOptions())
			s.Paragraph(paper.Plain("top"))
			s.Gap(mm)
			hold(s, func() {
				for range 6 {
					s.Paragraph(paper.Plain("x"))
				}
				s.Paragraph(paper.Plain("from"))
				s.List(paper.Items("one", "two", "three"), 1)
				s.Paragraph(paper.Plain("to"))
			})
			pages := places(t, write(t, s))
			from, _ := pageOf(t, pages, "from")
			to, _ := pageOf(t, pages, "to")
			if from != to {
				t.Errorf("%s after %v mm: from page %d to %d", name, mm, from+1, to+1)
			}
		}
	}
}

// TestWhatIsHigherThanAPageIsDivided and loses no word.
func TestWhatIsHigherThanAPageIsDivided(t *testing.T) {
	s := paper.New(plainOptions())
	many := func(name string) func() {
		return func() {
			for i := range 100 {
				s.Paragraph(paper.Plain(fmt.Sprintf("%s%d", name, i)))
			}
		}
	}
	s.Boxed(paper.Box{Line: drawing.Ink, LineMM: 1, Fill: drawing.Wash, BarMM: 2}, many("box"))
	s.Keep(many("keep"))
	s.Beside([]float64{1, 1}, many("left"), many("right"))
	var list []string
	for i := range 200 {
		list = append(list, fmt.Sprintf("item%d", i))
	}
	s.List(paper.Items(list...), 2)
	pdf := write(t, s)
	insideMargins(t, pdf)
	got := words(text(t, pdf))
	for _, name := range []string{"box", "keep", "left", "right", "item"} {
		for i := range 100 {
			if !strings.Contains(got, fmt.Sprintf("%s%d ", name, i)) {
				t.Fatalf("%s%d is lost", name, i)
			}
		}
	}
}
