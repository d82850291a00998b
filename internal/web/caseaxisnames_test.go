package web

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/drawing"
)

// TestNamesStandApart: whatever belongs where, no name touches another or leaves the
// drawing, and one that is alone stands where it belongs.
func TestNamesStandApart(t *testing.T) {
	const top = 4.0
	rapid.Check(t, func(t *rapid.T) {
		names := make([]axisName, rapid.IntRange(1, 30).Draw(t, "names"))
		total := 0.0
		for n := range names {
			names[n] = axisName{at: rapid.Float64Range(top, 200).Draw(t, "at"), rows: make([]string, rapid.IntRange(1, 4).Draw(t, "rows"))}
			total += names[n].height()
		}
		bottom := max(204+rapid.Float64Range(0, 20).Draw(t, "room"), top+total)
		spread(names, top, bottom)
		const rounding = 1e-6
		for n := range names {
			if names[n].y < top-rounding || names[n].y+names[n].height() > bottom+rounding {
				t.Fatalf("name %d leaves the drawing: %v", n, names)
			}
			if n > 0 && (names[n].at < names[n-1].at || names[n].y < names[n-1].y+names[n-1].height()-rounding) {
				t.Fatalf("names %d and %d touch: %v", n-1, n, names)
			}
		}
		free := func(n int) bool {
			return (n == 0 || names[n-1].y+names[n-1].height() < names[n].y-rounding) && (n+1 == len(names) || names[n].y+names[n].height() < names[n+1].y-rounding)
		}
		for n := range names {
			if moved := names[n].y - names[n].at; free(n) && (moved > rounding || moved < -rounding) && names[n].at+names[n].height() <= bottom {
				t.Fatalf("name %d is alone and was moved by %v: %v", n, moved, names)
			}
		}
	})
}

func TestTwoNamesOfOneDayShareTheWay(t *testing.T) {
	names := []axisName{{at: 50, rows: []string{"a"}}, {at: 50, rows: []string{"b"}}}
	spread(names, 4, 100)
	up, down := 50-names[0].y, names[1].y-50
	if math.Abs(up-down) > 1e-6 || math.Abs(up+down-names[0].height()) > 1e-6 {
		t.Errorf("%v", names)
	}
}

// TestRowsHoldEveryWord whatever is typed, and none is wider than its column.
func TestRowsHoldEveryWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, width, bold := rapid.String().Draw(t, "text"), rapid.Float64Range(5, 40).Draw(t, "width"), rapid.Bool().Draw(t, "bold")
		rows := rowsOf(text, width, bold)
		if got, want := strings.ReplaceAll(strings.Join(rows, ""), " ", ""), strings.Join(strings.Fields(text), ""); got != want {
			t.Fatalf("%q became %q", text, rows)
		}
		if n := slices.IndexFunc(rows, func(row string) bool { return drawing.TextWidth(row, axisWord, bold) > width }); n >= 0 {
			t.Fatalf("row %d of %q is wider than %v", n, rows, width)
		}
		if even := evenRows(text, width, bold); len(even) != len(rows) || strings.Join(even, "") != strings.Join(rows, "") && !strings.Contains(strings.Join(even, " "), " ") {
			t.Fatalf("%q became %q", rows, even)
		}
	})
}
