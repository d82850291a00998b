package report

import (
	"slices"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"

	"graftclock/internal/drawing"
)

// TestTextIsNoWiderThanEstimated measures what the drawings say, and every printable
// letter, in the widest common typeface.
func TestTextIsNoWiderThanEstimated(t *testing.T) {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.AddUTF8FontFromBytes("sans", "", dejavusans.TTF)
	pdf.AddUTF8FontFromBytes("sans", "B", dejavusansbold.TTF)
	width := func(text string, sizeMM float64, bold bool) float64 {
		pdf.SetFont("sans", map[bool]string{true: "B"}[bold], sizeMM/drawing.MMPerPoint)
		return pdf.GetStringWidth(text)
	}
	if got := width("m", 10, false); got < 9.7 || got > 9.8 { // the font's own table: 0.974
		t.Fatalf("the reference measures an m of 10 mm as %v mm wide", got)
	}
	var texts []string
	for r := rune(' '); r < 0x7f; r++ {
		texts = append(texts, string(r))
	}
	for _, s := range samples(t) {
		for _, d := range drawingsOf(s) {
			for _, shape := range d.Shapes {
				if l, ok := shape.(drawing.Label); ok {
					texts = append(texts, l.Text)
				}
			}
		}
	}
	slices.Sort(texts)
	for _, text := range slices.Compact(texts) {
		for _, bold := range []bool{false, true} {
			if got, want := drawing.TextWidth(text, 10, bold), width(text, 10, bold); got < want {
				t.Errorf("%q, bold %v: estimated %.2f mm, is %.2f mm", text, bold, got, want)
			}
		}
	}
}

func TestAFrameComesBack(t *testing.T) {
	f := frame{left: 12, bottom: 70, perX: 3, perY: 2}
	if at := f.at(2, 5); at != (drawing.Point{X: 18, Y: 60}) {
		t.Errorf("at(2, 5) is %v", at)
	}
	if x, y := f.from(drawing.Point{X: 18, Y: 60}); x != 2 || y != 5 {
		t.Errorf("and comes back as (%v, %v)", x, y)
	}
}

func TestWordsAreBrokenToTheColumn(t *testing.T) {
	got := fitted([]string{"crest", "4.5 mm above the sinus floor"}, 22)
	if want := []string{"crest", "4.5 mm above", "the sinus floor"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}
