package letter

import (
	"fmt"
	"image"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/qr"

	"graftclock/internal/drawing"
)

// quietZone is the white border around a square code, in modules (ISO/IEC 18004,
// 9.1): without it a camera does not find the code.
const quietZone = 4

// pixelsPerModule is how large a module is on a screen: what a camera can tell from the
// next one, and a whole number, so that all are of one size.
const pixelsPerModule = 3

// squareCode is a code as the page draws it.
type squareCode struct {
	Side   int    // width and height in modules, the quiet zone among them
	Pixels int    // width and height on a screen, in pixels; on paper the style says
	Path   string // the dark modules as SVG path data, one module to the unit

	dark []image.Rectangle // the same
}

// newSquareCode encodes an entry byte by byte with level M: cameras take the
// bytes for UTF-8, and a crease or a stain may cover a seventh of the code.
func newSquareCode(entry []byte) (*squareCode, error) {
	code, err := qr.Encode(string(entry), qr.M, qr.Unicode)
	if err != nil {
		return nil, fmt.Errorf("draw the square code: %w", err)
	}
	var path strings.Builder
	dark := rectangles(code)
	for i, r := range dark {
		r = r.Add(image.Pt(quietZone, quietZone))
		dark[i] = r
		fmt.Fprintf(&path, "M%d %dh%dv%dH%dz", r.Min.X, r.Min.Y, r.Dx(), r.Dy(), r.Min.X)
	}
	side := code.Bounds().Dx() + 2*quietZone
	return &squareCode{side, side * pixelsPerModule, path.String(), dark}, nil
}

// drawing is the code for paper, one module to the mm: whoever draws it makes it smaller.
func (c *squareCode) drawing(say scanWords) drawing.Drawing {
	side := float64(c.Side)
	d := drawing.Drawing{ID: "code", Title: say.Name, Says: say.Means, WidthMM: side, HeightMM: side}
	d.Add(drawing.Path{Points: drawing.Rectangle(0, 0, side, side), Closed: true, Fill: drawing.White})
	for _, r := range c.dark {
		d.Add(drawing.Path{Points: drawing.Rectangle(float64(r.Min.X), float64(r.Min.Y), float64(r.Dx()), float64(r.Dy())), Closed: true, Fill: drawing.Ink})
	}
	return d
}

// rectangles covers the dark modules, none twice: each run of a row reaches down
// as far as the rows below have the very same run.
func rectangles(code barcode.Barcode) []image.Rectangle {
	var all []image.Rectangle
	above := map[run]int{}
	for y := range code.Bounds().Dy() {
		here := map[run]int{}
		for _, r := range runs(code, y) {
			i, goesOn := above[r]
			if !goesOn {
				i = len(all)
				all = append(all, image.Rect(r.from, y, r.to, y))
			}
			all[i].Max.Y++
			here[r] = i
		}
		above = here
	}
	return all
}

// run is a row's dark modules from one to before another.
type run struct{ from, to int }

func runs(code barcode.Barcode, y int) []run {
	var row []run
	for x := range code.Bounds().Dx() {
		switch last := len(row) - 1; {
		case !isDark(code, x, y):
		case last >= 0 && row[last].to == x:
			row[last].to++
		default:
			row = append(row, run{x, x + 1})
		}
	}
	return row
}

func isDark(code barcode.Barcode, x, y int) bool {
	level, _, _, _ := code.At(x, y).RGBA()
	return level == 0
}
