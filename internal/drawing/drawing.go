// Package drawing describes a picture made of lines and words, so that a page
// and a printed sheet show the very same one: as SVG, and as vectors in a PDF. It
// knows lengths, tones and labels; what they mean is the business of whoever draws.
//
// Lengths are in mm on the sheet at full size. A point is (x, y): x to the right and
// y down from the top left corner.
package drawing

// Drawing is one picture.
type Drawing struct {
	ID                string // unlike that of any other drawing of the page; a letter first, then letters, digits and hyphens
	Title             string // its name for who cannot see it
	Says              string // what it shows, in a sentence or two
	WidthMM, HeightMM float64
	Shapes            []Shape // in order: a later one covers an earlier one
}

// Shape is a Path or a Label.
type Shape interface{ shape() }

// Point is a place in a drawing, in mm.
type Point struct{ X, Y float64 }

// Tone is a colour of the house that can be told from the others in grey print.
type Tone int

// The tones, from none to dark.
const (
	None   Tone = iota // nothing is drawn
	White              // covers what lies below
	Wash               // a tint, barely there
	Hair               // hairlines and fills
	Accent             // lines and words
	Ink                // lines and words
)

// Hex is the tone as an RGB colour such as "#1b1f1e"; "none" for None.
func (t Tone) Hex() string {
	return [...]string{"none", "#ffffff", "#f0f6f3", "#9db5ac", "#0a4d3c", "#1b1f1e"}[t]
}

// RGB is the tone's red, green and blue, from 0 to 255; 0 for None.
func (t Tone) RGB() (r, g, b int) {
	rgb := [...]int{0, 0xffffff, 0xf0f6f3, 0x9db5ac, 0x0a4d3c, 0x1b1f1e}[t]
	const eightBits, mask = 8, 0xff
	return rgb >> (2 * eightBits), rgb >> eightBits & mask, rgb & mask
}

// Line is how a path is drawn.
type Line struct {
	Tone    Tone
	WidthMM float64
	Dash    []float64 // lengths of dash and gap in turn, mm; empty: unbroken
}

// Path is a line through points, or an area.
type Path struct {
	Name   string // for the reader of the drawing's text, such as a test; empty: no name
	Points []Point
	Closed bool
	Line   Line // the zero Line: none
	Fill   Tone
}

// Anchor says which part of a label stands at its point.
type Anchor int

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Label is a line of words. Its point is on the baseline.
type Label struct {
	Name   string
	At     Point
	Text   string
	SizeMM float64 // of the type: 1 pt is 0.3528 mm
	Anchor Anchor
	Bold   bool
	Tone   Tone // None: Ink
}

func (Path) shape()  {}
func (Label) shape() {}

// Add puts shapes on top of the others.
func (d *Drawing) Add(shapes ...Shape) { d.Shapes = append(d.Shapes, shapes...) }

// Rectangle is a closed path.
func Rectangle(x, y, widthMM, heightMM float64) []Point {
	return []Point{{x, y}, {x + widthMM, y}, {x + widthMM, y + heightMM}, {x, y + heightMM}}
}

// Straight is a line between two points.
func Straight(x1, y1, x2, y2 float64) []Point { return []Point{{x1, y1}, {x2, y2}} }

// MMPerPoint is the length of a typographic point, 1/72 of an inch.
const MMPerPoint = 25.4 / 72
