package paper_test

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/drawing"
	"graftclock/internal/paper"
)

// box is a word with its place, in pt from the top left corner.
type box struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

type sheetOfWords struct {
	Width  float64 `xml:"width,attr"`
	Height float64 `xml:"height,attr"`
	Words  []box   `xml:"word"`
}

// places are the words of each page.
func places(t testing.TB, pdf []byte) []sheetOfWords {
	t.Helper()
	var document struct {
		Pages []sheetOfWords `xml:"body>doc>page"`
	}
	if err := xml.Unmarshal([]byte(read(t, pdf, "pdftotext", "-bbox", "FILE", "-")), &document); err != nil {
		t.Fatal(err)
	}
	return document.Pages
}

// insideMargins fails where a word reaches out of the margins of 12 mm.
func insideMargins(t testing.TB, pdf []byte) {
	t.Helper()
	const margin, rounding = 12 / drawing.MMPerPoint, 0.1
	for i, page := range places(t, pdf) {
		for _, w := range page.Words {
			if w.XMin < margin-rounding || w.XMax > page.Width-margin+rounding || w.YMin < margin-rounding || w.YMax > page.Height-margin+rounding {
				t.Errorf("page %d: %q at %.1f..%.1f, %.1f..%.1f", i+1, w.Text, w.XMin, w.XMax, w.YMin, w.YMax)
			}
		}
	}
}

// pageOf is the page and the place of a word that stands in the document once.
func pageOf(t testing.TB, pages []sheetOfWords, word string) (page int, at box) {
	t.Helper()
	for i, each := range pages {
		for _, w := range each.Words {
			if w.Text == word {
				return i, w
			}
		}
	}
	t.Fatalf("no word %q", word)
	return 0, box{}
}

func TestLetterFillsTwoPagesInsideTheMargins(t *testing.T) {
	for _, points := range []float64{11, 18} {
		o := letterOptions()
		o.BodyPT = points
		s := letter(o)
		pdf := write(t, s)
		insideMargins(t, pdf)
		if got := len(places(t, pdf)); got != s.Pages() || points == 11 && got != 2 {
			t.Errorf("%v pt: %d pages, and not %d", points, got, s.Pages())
		}
	}
}

// TestHeadAndFootStandStill: on each page at the same place.
func TestHeadAndFootStandStill(t *testing.T) {
	s := letter(letterOptions())
	pages := places(t, write(t, s))
	const top, bottom = 0.1, 0.93 // of the height
	var first []box
	for i, page := range pages {
		var head []box
		var foot []string
		for _, w := range page.Words {
			if w.YMax < page.Height*top {
				head = append(head, w)
			} else if w.YMin > page.Height*bottom {
				foot = append(foot, w.Text)
			}
		}
		slices.SortFunc(head, func(a, b box) int { return cmp.Or(cmp.Compare(a.YMin, b.YMin), cmp.Compare(a.XMin, b.XMin)) })
		if i == 0 {
			first = head
		}
		if len(head) < 15 || !slices.Equal(head, first) {
			t.Errorf("head of page %d: %v, and not %v", i+1, head, first)
		}
		want := fmt.Sprintf("Harbour Row Rules of 1 March 2027 %d / %d", i+1, len(pages))
		if got := strings.Join(foot, " "); got != want {
			t.Errorf("%q, and not %q", got, want)
		}
	}
}

func TestColumnsStandSideBySide(t *testing.T) {
	s := paper.New(plainOptions())
	s.Beside([]float64{2, 1}, func() { s.Paragraph(paper.Plain("left")) }, func() { s.Paragraph(paper.Plain("right")) })
	s.List(paper.Items("a1", "a2", "a3", "a4", "a5"), 2)
	pages := places(t, write(t, s))
	_, left := pageOf(t, pages, "left")
	_, right := pageOf(t, pages, "right")
	_, first := pageOf(t, pages, "a1")
	_, fourth := pageOf(t, pages, "a4")
	if left.YMin != right.YMin || right.XMin-left.XMin < 300 || first.YMin != fourth.YMin || fourth.XMin <= first.XMin {
		t.Error(left, right, first, fourth)
	}
	o := plainOptions()
	o.BodyPT = 18
	s = paper.New(o)
	s.List(paper.Items("a1", "a2", "a3", "a4", "a5"), 2)
	pages = places(t, write(t, s))
	_, first = pageOf(t, pages, "a1")
	_, fourth = pageOf(t, pages, "a4")
	if first.XMin != fourth.XMin {
		t.Error("two columns in large print")
	}
}

// TestLargeTypeIsBalanced: its lines are about as wide as each other, and no more than
// they have to be.
func TestLargeTypeIsBalanced(t *testing.T) {
	s := paper.New(plainOptions())
	s.Heading(1, "one"+strings.Repeat(" word", 11)+" two")
	got := text(t, write(t, s))
	lines := strings.Split(strings.TrimSpace(got), "\n")
	if len(lines) != 3 || len(lines[1]) < len(lines[0])/2 {
		t.Errorf("%q", lines)
	}
}

func TestNewPageAndGap(t *testing.T) {
	s := paper.New(plainOptions())
	s.Paragraph(paper.Plain("one"))
	s.NewPage()
	s.Gap(50)
	s.Paragraph(paper.Plain("two"))
	s.Gap(50)
	s.Paragraph(paper.Plain("three"))
	pages := places(t, write(t, s))
	_, one := pageOf(t, pages, "one")
	page, two := pageOf(t, pages, "two")
	_, three := pageOf(t, pages, "three")
	if page != 1 || two.YMin != one.YMin || (three.YMin-two.YMax)*drawing.MMPerPoint < 50 {
		t.Error(page, one, two, three)
	}
}
