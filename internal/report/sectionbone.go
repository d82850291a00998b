package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"graftclock/internal/drawing"
	"graftclock/internal/growth"
	"graftclock/internal/protocol"
)

const (
	hatchMM = 1.9 // between the lines that mark bone, on the sheet
	tickMM  = 1.4 // on the sheet: where a width was measured
)

func sortedLevels(levels []growth.Level) []growth.Level {
	return slices.SortedFunc(slices.Values(levels), func(a, b growth.Level) int {
		return cmp.Compare(a.AboveFloorMM, b.AboveFloorMM)
	})
}

// wallAt is a point of the lateral wall with side 1, of the palatal with side -1.
func (d *section) wallAt(side, z float64) drawing.Point {
	return d.at(side*d.site.Bone.WidthMM(z)/2, z)
}

// wallLine is a wall between two heights, which bends at the measured levels.
func (d *section) wallLine(side, from, to float64) []drawing.Point {
	points := []drawing.Point{d.wallAt(side, from)}
	for _, l := range sortedLevels(d.site.Housing.Levels) {
		if l.AboveFloorMM > from && l.AboveFloorMM < to {
			points = append(points, d.wallAt(side, l.AboveFloorMM))
		}
	}
	return append(points, d.wallAt(side, to))
}

// gap is the part of the lateral wall that is open in this section: empty where the
// window does not reach it.
func (d *section) gap() (from, to float64) {
	w := d.site.Housing.Window
	if y := d.site.Post.AtMM; w == nil || y <= w.FromMM || y >= w.ToMM {
		return d.field.high, d.field.high
	}
	return w.LowerEdgeMM, w.LowerEdgeMM + w.HeightMM
}

// bone tints and hatches the bone of the section: the crest, and what lies beyond
// the walls.
func (d *section) bone() {
	f, palatal := d.field, d.wallLine(-1, 0, d.field.high)
	slices.Reverse(palatal)
	from, to := d.gap()
	crest := append([]drawing.Point{d.at(-f.half, f.high)}, palatal...)
	crest = append(crest, d.wallLine(1, 0, from)...)
	d.hatched(append(crest, d.at(f.half, from), d.at(f.half, f.low), d.at(-f.half, f.low)))
	if to < f.high {
		d.hatched(append(d.wallLine(1, to, f.high), d.at(f.half, f.high), d.at(f.half, to)))
	}
	low, high := d.at(-f.half, f.low), d.at(f.half, f.low)
	d.Add(drawing.Path{Name: "crest", Points: []drawing.Point{low, high}, Line: firmPen})
}

// hatched fills an outline with a tint and slanting lines.
func (d *section) hatched(outline []drawing.Point) {
	d.Add(drawing.Path{Points: outline, Closed: true, Fill: drawing.Wash})
	least, most := math.Inf(1), math.Inf(-1)
	for _, p := range outline {
		least, most = min(least, p.X+p.Y), max(most, p.X+p.Y)
	}
	for sum := (math.Floor(least/hatchMM) + 1) * hatchMM; sum < most; sum += hatchMM {
		var xs []float64
		for k, a := range outline {
			b := outline[(k+1)%len(outline)]
			if from, to := a.X+a.Y-sum, b.X+b.Y-sum; from < 0 != (to < 0) {
				xs = append(xs, a.X+(b.X-a.X)*from/(from-to))
			}
		}
		slices.Sort(xs)
		for k := 0; k+1 < len(xs); k += 2 {
			d.Add(drawing.Path{Points: drawing.Straight(xs[k], sum-xs[k], xs[k+1], sum-xs[k+1]), Line: softPen})
		}
	}
}

// walls draws floor and walls: firm where they were measured, dotted below and above.
func (d *section) walls() {
	levels := sortedLevels(d.site.Housing.Levels)
	lowest, highest := levels[0].AboveFloorMM, levels[len(levels)-1].AboveFloorMM
	openFrom, openTo := d.gap()
	for _, w := range []struct {
		side             float64
		name             string
		openFrom, openTo float64
	}{{-1, "wall-palatal", d.field.high, d.field.high}, {1, "wall-lateral", openFrom, openTo}} {
		number := 0
		cuts := []float64{0, lowest, highest, w.openFrom, w.openTo, d.field.high}
		slices.Sort(cuts)
		for k, to := range cuts[1:] {
			from := cuts[k]
			if from == to || from >= w.openFrom && to <= w.openTo {
				continue
			}
			number++
			pen := dottedPen
			if from >= lowest && to <= highest {
				pen = heavyPen
			}
			d.Add(drawing.Path{Name: piece(w.name, number), Points: d.wallLine(w.side, from, to), Line: pen})
		}
	}
	d.Add(drawing.Path{Name: "floor", Points: []drawing.Point{d.wallAt(-1, 0), d.wallAt(1, 0)}, Line: heavyPen})
	for _, l := range levels {
		d.level(l)
	}
	d.note(right, d.wallAt(1, 0), "sinus floor")
	d.note(right, d.at(d.field.half, d.field.low), "crest, residual", "bone "+told(d.site.Post.ResidualMM)+" mm")
}

// level marks where a width was measured.
func (d *section) level(l growth.Level) {
	for _, side := range []float64{-1, 1} {
		if from, to := d.gap(); side > 0 && l.AboveFloorMM > from && l.AboveFloorMM < to {
			continue // there is no wall to mark
		}
		p := d.wallAt(side, l.AboveFloorMM)
		d.Add(drawing.Path{Points: drawing.Straight(p.X, p.Y, p.X-side*tickMM, p.Y), Line: firmPen})
	}
	d.note(left, d.wallAt(-1, l.AboveFloorMM), told(l.WidthMM)+" mm wide", told(l.AboveFloorMM)+" mm above floor")
}

// piece is the name of the n-th piece of a line, from 1.
func piece(name string, n int) string {
	if n == 1 {
		return name
	}
	return fmt.Sprintf("%s-%d", name, n)
}

// windowOf is the window of a site, also one whose lid was put back.
func windowOf(s protocol.Site) (growth.Window, bool) {
	switch w := s.Sinus.Window; {
	case s.Housing.Window != nil:
		return *s.Housing.Window, true
	case w != nil && w.LidIsRepositioned:
		return growth.Window{FromMM: w.FromMM, ToMM: w.ToMM, LowerEdgeMM: w.LowerEdgeMM, HeightMM: w.HeightMM}, true
	}
	return growth.Window{}, false
}
