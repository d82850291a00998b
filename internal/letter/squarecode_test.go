package letter

import (
	"fmt"
	"image/color"
	"regexp"
	"strings"
	"testing"

	"github.com/boombuler/barcode/qr"
	"github.com/google/go-cmp/cmp"
)

var rectangleOfPath = regexp.MustCompile(`^M(\d+) (\d+)h(\d+)v(\d+)H(\d+)z`)

// modulesOf paints the rectangles of a path and returns how often each module
// was painted, a digit for each.
func modulesOf(t *testing.T, code *squareCode) []string {
	t.Helper()
	painted := make([][]byte, code.Side)
	for y := range painted {
		painted[y] = []byte(strings.Repeat("0", code.Side))
	}
	for path := code.Path; path != ""; {
		drawn := rectangleOfPath.FindString(path)
		var x, y, width, height, back int
		if n, err := fmt.Sscanf(drawn, "M%d %dh%dv%dH%dz", &x, &y, &width, &height, &back); n != 5 || err != nil || back != x {
			t.Fatalf("no rectangle at %.40q", path)
		}
		for row := y; row < y+height; row++ {
			for column := x; column < x+width; column++ {
				painted[row][column]++
			}
		}
		path = path[len(drawn):]
	}
	var rows []string
	for _, row := range painted {
		rows = append(rows, string(row))
	}
	return rows
}

func TestPathPaintsEachDarkModuleOnceInsideTheQuietZone(t *testing.T) {
	for _, entry := range []string{"x", "BEGIN:VEVENT\r\nSUMMARY:Ärztin Ωμέγα 歯科 🦷\r\nEND:VEVENT\r\n", strings.Repeat("Š", 100), strings.Repeat("visit ", 50)} {
		code, err := newSquareCode([]byte(entry))
		if err != nil {
			t.Fatal(err)
		}
		modules, err := qr.Encode(entry, qr.M, qr.Unicode)
		if err != nil {
			t.Fatal(err)
		}
		side := modules.Bounds().Dx()
		var want []string
		for y := -4; y < side+4; y++ {
			row := ""
			for x := -4; x < side+4; x++ {
				dark := x >= 0 && x < side && y >= 0 && y < side && modules.At(x, y) == color.Black
				row += map[bool]string{true: "1", false: "0"}[dark]
			}
			want = append(want, row)
		}
		if diff := cmp.Diff(want, modulesOf(t, code)); diff != "" {
			t.Errorf("%d bytes (-modules +path):\n%s", len(entry), diff)
		}
	}
}

// A finder is the square in three of the corners that a camera looks for first.
func TestFindersStandInThreeCorners(t *testing.T) {
	code, err := newSquareCode([]byte("a visit"))
	if err != nil {
		t.Fatal(err)
	}
	rows := modulesOf(t, code)
	finder := []string{"1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"}
	far := code.Side - 4 - len(finder)
	for _, corner := range [][2]int{{4, 4}, {far, 4}, {4, far}} {
		var got []string
		for y := range finder {
			got = append(got, rows[corner[1]+y][corner[0]:corner[0]+len(finder)])
		}
		if diff := cmp.Diff(finder, got); diff != "" {
			t.Errorf("corner %v:\n%s", corner, diff)
		}
	}
}

func BenchmarkSquareCode(b *testing.B) {
	entry := []byte(strings.Repeat("x", entryBytes))
	for b.Loop() {
		if _, err := newSquareCode(entry); err != nil {
			b.Fatal(err)
		}
	}
}
