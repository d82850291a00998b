package growth

import (
	"cmp"
	"math"
	"slices"
)

// stretch is a part of a wall between two heights in which it is straight, with
// its distance from the mid-line at both.
type stretch struct{ bottom, top, nearBottom, nearTop float64 }

// bodies takes a valid sinus, its levels in order of height, apart into convex
// pieces of bone: in the order of their names and from below upwards.
func bodies(s Sinus) []body {
	top := s.GraftTopMM
	if top == 0 {
		top = math.Inf(1)
	}
	all := []body{partition(Floor, math.Inf(-1), 0, math.Inf(-1), math.Inf(1))}
	for _, part := range stretches(s.Levels, top) {
		all = append(all, wall(PalatalWall, -1, part))
	}
	all = append(all, lateral(s, top)...)
	if s.FrontWallAtMM != nil {
		all = append(all, partition(FrontWall, math.Inf(-1), top, math.Inf(-1), *s.FrontWallAtMM))
	}
	for _, p := range sortedSepta(s.Septa) {
		all = append(all, partition(SeptumWall, math.Inf(-1), min(top, p.HeightMM), p.AtMM, p.AtMM))
	}
	return all
}

// lateral is the lateral wall without its window: whole below and above the
// opening, in two parts beside it.
func lateral(s Sinus, top float64) []body {
	w := s.Window
	if w == nil {
		w = &Window{}
	}
	lower, upper := w.LowerEdgeMM, w.LowerEdgeMM+w.HeightMM
	var all []body
	for _, part := range stretches(s.Levels, top, lower, upper) {
		whole := wall(LateralWall, 1, part)
		if part.bottom < lower || part.bottom >= upper {
			all = append(all, whole)
			continue
		}
		mesial, distal := whole, whole
		mesial.to, distal.from = w.FromMM, w.ToMM
		all = append(all, mesial, distal)
	}
	return all
}

// stretches cuts a wall at its levels, where it may bend, and at the heights
// given besides. It ends at top, but not at the floor: below the floor all is
// bone, so what stands there changes nothing.
func stretches(levels []Level, top float64, cuts ...float64) []stretch {
	for _, l := range levels {
		cuts = append(cuts, l.AboveFloorMM)
	}
	cuts = slices.DeleteFunc(append(cuts, math.Inf(-1), top), func(z float64) bool { return z > top })
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	parts := make([]stretch, 0, len(cuts))
	for i, bottom := range cuts[:len(cuts)-1] {
		part := stretch{bottom, cuts[i+1], widthAt(levels, bottom) / 2, widthAt(levels, cuts[i+1]) / 2}
		parts = append(parts, part)
	}
	return parts
}

func sortedSepta(septa []Septum) []Septum {
	return slices.SortedFunc(slices.Values(septa), func(a, b Septum) int {
		return cmp.Or(cmp.Compare(a.AtMM, b.AtMM), cmp.Compare(a.HeightMM, b.HeightMM))
	})
}
