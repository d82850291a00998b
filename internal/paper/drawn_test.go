package paper_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"graftclock/internal/drawing"
	"graftclock/internal/paper"
	"graftclock/internal/reference"
)

// painted is a page as poppler paints it.
type painted struct {
	image.Image
	dotsPerMM float64
}

// picture paints the first page.
func picture(t testing.TB, pdf []byte, dotsPerMM float64) painted {
	t.Helper()
	folder := t.TempDir()
	name := filepath.Join(folder, "trial.pdf")
	if err := os.WriteFile(name, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(reference.Program(t, "pdftoppm"), "-r", fmt.Sprint(dotsPerMM*25.4), "-png", "-singlefile", name, filepath.Join(folder, "page")).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	data, err := os.ReadFile(filepath.Join(folder, "page.png"))
	if err != nil {
		t.Fatal(err)
	}
	page, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return painted{page, dotsPerMM}
}

// at is the colour at a place in mm from the top left corner of the page.
func (p painted) at(x, y float64) string {
	c := color.NRGBAModel.Convert(p.At(int(x*p.dotsPerMM), int(y*p.dotsPerMM))).(color.NRGBA)
	return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)
}

// near reports whether two colours are alike but for rounding.
func near(a, b string) bool {
	var one, other [3]int
	fmt.Sscanf(a, "#%02x%02x%02x", &one[0], &one[1], &one[2])
	fmt.Sscanf(b, "#%02x%02x%02x", &other[0], &other[1], &other[2])
	for i := range one {
		if d := one[i] - other[i]; d < -2 || d > 2 {
			return false
		}
	}
	return true
}

// TestDrawingKeepsItsLengths: a length of 1 mm in a drawing is 1 mm on paper, a line has
// its width, its tone and its gaps, and what lies on top covers what is below.
func TestDrawingKeepsItsLengths(t *testing.T) {
	s := paper.New(plainOptions()) // margins of 14 mm
	d := drawing.Drawing{ID: "d", Title: "Trial", Says: "Shapes.", WidthMM: 100, HeightMM: 60}
	d.Add(
		drawing.Path{Points: drawing.Rectangle(0, 0, 50, 20), Closed: true, Fill: drawing.Hair},
		drawing.Path{Points: drawing.Rectangle(10, 5, 10, 10), Closed: true, Fill: drawing.White, Line: drawing.Line{Tone: drawing.Ink, WidthMM: 1}},
		drawing.Path{Points: drawing.Straight(0, 30, 100, 30), Line: drawing.Line{Tone: drawing.Accent, WidthMM: 2}},
		drawing.Path{Points: drawing.Straight(0, 40, 100, 40), Line: drawing.Line{Tone: drawing.Ink, WidthMM: 1, Dash: []float64{10, 5}}},
		drawing.Path{Points: []drawing.Point{{X: 60, Y: 0}, {X: 80, Y: 0}, {X: 60, Y: 20}}, Closed: true, Fill: drawing.Wash},
	)
	s.Draw(d, 0)
	page := picture(t, write(t, s), 10)
	for _, c := range []struct {
		x, y float64
		tone drawing.Tone
	}{
		{0.3, 0.3, drawing.Hair}, {49.7, 19.7, drawing.Hair}, {50.3, 10, drawing.White}, {10, 20.3, drawing.White},
		{15, 10, drawing.White}, {10, 10, drawing.Ink}, {9.7, 10, drawing.Ink}, {10.3, 10, drawing.Ink}, {9.3, 10, drawing.Hair}, {10.7, 10, drawing.White},
		{50, 29.2, drawing.Accent}, {50, 30.8, drawing.Accent}, {50, 28.7, drawing.White}, {99.7, 30, drawing.Accent}, {100.3, 30, drawing.White},
		{5, 40, drawing.Ink}, {12.5, 40, drawing.White}, {20, 40, drawing.Ink}, {27.5, 40, drawing.White}, {95, 40, drawing.Ink}, {87.5, 40, drawing.White},
		{62, 2, drawing.Wash}, {77, 17, drawing.White}, {68, 9, drawing.Wash},
	} {
		if got := page.at(14+c.x, 14+c.y); !near(got, c.tone.Hex()) {
			t.Errorf("at %v, %v: %s, and not %s", c.x, c.y, got, c.tone.Hex())
		}
	}
}

// TestDrawingIsMadeSmallerAsAWhole to the width that it may take.
func TestDrawingIsMadeSmallerAsAWhole(t *testing.T) {
	for _, c := range []struct{ width, height, most, want float64 }{
		{100, 20, 50, 50}, {100, 20, 0, 100}, {400, 20, 0, 182}, {100, 20, 300, 100}, {100, 500, 0, 51.9},
	} {
		s := paper.New(plainOptions())
		d := drawing.Drawing{ID: "d", Title: "Trial", WidthMM: c.width, HeightMM: c.height}
		d.Add(drawing.Path{Points: drawing.Rectangle(0, 0, c.width, c.height), Closed: true, Fill: drawing.Ink})
		s.Draw(d, c.most)
		page := picture(t, write(t, s), 4)
		wide, high := 0.0, 0.0
		for page.at(14.2+wide, 14.2) == drawing.Ink.Hex() {
			wide += 0.1
		}
		for page.at(14.2, 14.2+high) == drawing.Ink.Hex() {
			high += 0.1
		}
		wide, high = wide+0.2, high+0.2
		ratio := wide / high * c.height / c.width
		if wide < c.want-0.5 || wide > c.want+0.5 || ratio < 0.97 || ratio > 1.03 {
			t.Errorf("%v: %.1f mm x %.1f mm", c, wide, high)
		}
	}
}

// TestLabelsStandAtTheirAnchor.
func TestLabelsStandAtTheirAnchor(t *testing.T) {
	s := paper.New(plainOptions())
	d := drawing.Drawing{ID: "d", Title: "Trial", WidthMM: 100, HeightMM: 40}
	for i, word := range []string{"start", "middle", "end"} {
		d.Add(drawing.Label{At: drawing.Point{X: 50, Y: 10 * float64(i+1)}, Text: word, SizeMM: 5, Anchor: drawing.Anchor(i), Bold: i == 1})
	}
	s.Draw(d, 0)
	pages := places(t, write(t, s))
	const point, rounding = (14 + 50) / drawing.MMPerPoint, 0.1
	_, start := pageOf(t, pages, "start")
	_, middle := pageOf(t, pages, "middle")
	_, end := pageOf(t, pages, "end")
	for _, off := range []float64{start.XMin - point, (middle.XMin+middle.XMax)/2 - point, end.XMax - point} {
		if off < -rounding || off > rounding {
			t.Errorf("%.2f pt off: %v %v %v", off, start, middle, end)
		}
	}
	if step := (middle.YMax - start.YMax) * drawing.MMPerPoint; step < 9.9 || step > 10.1 {
		t.Errorf("baselines %.2f mm apart", step)
	}
}

// TestWatermarkLiesBehind the text and over the fill of a box, in light grey.
func TestWatermarkLiesBehind(t *testing.T) {
	o := plainOptions()
	o.Watermark = "DRAFT"
	s := paper.New(o)
	s.Boxed(paper.Box{Fill: drawing.Wash}, func() {
		for range 40 {
			s.Paragraph(paper.Plain("mmmmmmmmmm mmmmmmmmmm mmmmmmmmmm mmmmmmmmmm mmmmmmmmmm"))
		}
	})
	page := picture(t, write(t, s), 4)
	count := map[string]int{}
	for x := 14.0; x < 196; x += 0.3 {
		for y := 14.0; y < 280; y += 0.3 {
			count[page.at(x, y)]++
		}
	}
	grey := count["#e3e3e3"]
	if grey < 5_000 || count[drawing.Wash.Hex()] < 10_000 || count[drawing.Ink.Hex()] < 100 {
		t.Errorf("grey %d, wash %d, ink %d", grey, count[drawing.Wash.Hex()], count[drawing.Ink.Hex()])
	}
}

// TestBoxThatGoesOnKeepsItsDistance from the foot, and has an edge only where it ends.
func TestBoxThatGoesOnKeepsItsDistance(t *testing.T) {
	s := paper.New(plainOptions())
	s.Boxed(paper.Box{Fill: drawing.Wash, Line: drawing.Ink, LineMM: 1}, func() {
		for range 100 {
			s.Paragraph(paper.Plain("x"))
		}
	})
	page := picture(t, write(t, s), 10)
	const across = 100
	if got := page.at(across, 14.5); got != drawing.Ink.Hex() {
		t.Errorf("the upper edge is %s", got)
	}
	rule := 290.0
	for page.at(across, rule) != drawing.Accent.Hex() {
		rule -= 0.1
	}
	edge := rule - 0.8
	for page.at(across, edge) == drawing.White.Hex() {
		edge -= 0.1
	}
	if got := page.at(across, edge-0.2); got != drawing.Wash.Hex() || rule-edge < 1.2 || rule-edge > 8 {
		t.Errorf("%s, %.1f mm above the foot", got, rule-edge)
	}
	if left, right := page.at(14.5, edge-1), page.at(195.5, edge-1); left != drawing.Ink.Hex() || right != left {
		t.Errorf("the sides are %s and %s", left, right)
	}
}
