package letter_test

import (
	"encoding/xml"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// picture is the drawing of the path as a browser gets it, in mm.
type picture struct {
	Box   string        `xml:"viewBox,attr"`
	Paths []pictureLine `xml:"path"`
	Words []pictureWord `xml:"text"`
}

type pictureLine struct {
	ID     string `xml:"id,attr"`
	D      string `xml:"d,attr"`
	Fill   string `xml:"fill,attr"`
	Stroke string `xml:"stroke,attr"`
}

type pictureWord struct {
	X      float64 `xml:"x,attr"`
	Y      float64 `xml:"y,attr"`
	Size   float64 `xml:"font-size,attr"`
	Anchor string  `xml:"text-anchor,attr"`
	Weight string  `xml:"font-weight,attr"`
	Text   string  `xml:",chardata"`
}

var (
	pathSVG = regexp.MustCompile(`(?s)<svg role="img" class="drawing".*?</svg>`)
	pointOf = regexp.MustCompile(`(-?[\d.]+) (-?[\d.]+)`)
)

// pictureOf is the drawing of a page; nil if there is none.
func pictureOf(t rapid.TB, page string) *picture {
	found := pathSVG.FindString(page)
	if found == "" {
		return nil
	}
	var p picture
	if err := xml.Unmarshal([]byte(found), &p); err != nil {
		t.Fatal(err)
	}
	return &p
}

// points are the corners of a line.
func (l pictureLine) points(t rapid.TB) (xs, ys []float64) {
	for _, p := range pointOf.FindAllStringSubmatch(l.D, -1) {
		x, err := strconv.ParseFloat(p[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		y, err := strconv.ParseFloat(p[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		xs, ys = append(xs, x), append(ys, y)
	}
	return xs, ys
}

// area is what a word may cover.
type area struct {
	left, right, top, bottom float64
	text                     string
}

// area allows for a wide font: an em has 1.6 letters or, if they are bold, 1.4.
func (w pictureWord) area() area {
	perEm := map[string]float64{"": 1.6, "700": 1.4}[w.Weight]
	width := float64(utf8.RuneCountInString(w.Text)) * w.Size / perEm
	left := w.X - map[string]float64{"middle": 0.5, "end": 1}[w.Anchor]*width
	return area{left, left + width, w.Y - 0.76*w.Size, w.Y + 0.22*w.Size, w.Text}
}

func (a area) meets(b area) bool {
	return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

// wantRoom wants each word inside the drawing, apart from the others and from the marks.
func (p *picture) wantRoom(t rapid.TB, name string) {
	var width, height float64
	if n, err := fmt.Sscanf(p.Box, "0 0 %g %g", &width, &height); n != 2 || err != nil {
		t.Fatalf("%s: the box %q: %v", name, p.Box, err)
	}
	var areas []area
	for _, w := range p.Words {
		a := w.area()
		if a.left < 0 || a.right > width || a.top < 0 || a.bottom > height {
			t.Errorf("%s: %q leaves the drawing: %+v of %g x %g", name, w.Text, a, width, height)
		}
		for _, b := range areas {
			if a.meets(b) {
				t.Errorf("%s: %q and %q meet: %+v, %+v", name, a.text, b.text, a, b)
			}
		}
		areas = append(areas, a)
	}
	for i, line := range p.Paths {
		over := line.area(t)
		for _, a := range areas {
			switch {
			case line.isPatch() || !over.meets(a):
			case over.left == over.right && p.hidden(t, i, over, a):
			default:
				t.Errorf("%s: the line %q meets %q: %+v, %+v", name, line.ID, a.text, over, a)
			}
		}
		if over.left < 0 || over.right > width || over.top < 0 || over.bottom > height {
			t.Errorf("%s: the line %q leaves the drawing: %+v of %g x %g", name, line.ID, over, width, height)
		}
	}
}

// area is what a line is in.
func (l pictureLine) area(t rapid.TB) area {
	xs, ys := l.points(t)
	return area{slices.Min(xs), slices.Max(xs), slices.Min(ys), slices.Max(ys), l.ID}
}

// isPatch reports whether a shape is but a white ground for a number.
func (l pictureLine) isPatch() bool { return l.Fill == "#ffffff" && l.Stroke == "" }

// hidden reports whether a later white ground hides an upright line behind a word.
func (p *picture) hidden(t rapid.TB, line int, over, word area) bool {
	return slices.ContainsFunc(p.Paths[line+1:], func(later pictureLine) bool {
		ground := later.area(t)
		return later.isPatch() && ground.left < over.left && over.right < ground.right && ground.top <= max(word.top, over.top) && min(word.bottom, over.bottom) <= ground.bottom+pathDescent*(word.bottom-word.top)
	})
}

// pathDescent is the part of a line of words that is below the baseline, where a digit has
// nothing.
const pathDescent = 0.25
