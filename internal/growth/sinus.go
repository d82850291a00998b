package growth

import (
	"cmp"
	"fmt"
	"slices"
)

// Level is one measured bucco-palatal width of a sinus.
type Level struct {
	WidthMM      float64 // wall to wall, mm, above 0
	AboveFloorMM float64 // height of the measurement above the sinus floor, mm, 0 or more; 0 is the floor
}

// Window is the opening cut into the lateral wall. A window whose bony lid was
// put back is no window.
type Window struct {
	FromMM, ToMM float64 // its ends along the arch, mm; FromMM lies mesial of ToMM
	LowerEdgeMM  float64 // height of its lower edge above the floor, mm, 0 or more; 0 opens down to the floor
	HeightMM     float64 // vertical height of the opening, mm, above 0
}

// Septum is a bony partition that stands on the floor right across the sinus.
// It has no thickness: both its faces count.
type Septum struct {
	AtMM     float64 // its place along the arch, mm
	HeightMM float64 // its height above the floor, mm, above 0
}

// Sinus is the bony housing of a graft. Positions along the arch share one
// origin, chosen by the record, and grow distally. Heights start at the sinus
// floor. What lies beyond a wall counts as bone too, up to the graft's top, except
// in the opening of the window. The lifted membrane is not in here: it never
// counts as bone.
type Sinus struct {
	Levels        []Level  // at least one, in any order; one alone means parallel walls
	Window        *Window  // nil: the lateral wall is whole
	Septa         []Septum // in any order; empty: none
	FrontWallAtMM *float64 // place of the anterior wall along the arch, mm; nil: not recorded, it does not count
	GraftTopMM    float64  // height of the graft above the floor, mm; 0: not recorded, walls count without limit
}

// WidthMM is the distance from wall to wall at a height above the floor, both
// in mm: linear between two levels, and the nearest level's width below the
// lowest and above the highest. Without a level it is 0.
func (s Sinus) WidthMM(aboveFloorMM float64) float64 {
	return widthAt(sortedLevels(s.Levels), aboveFloorMM)
}

func sortedLevels(levels []Level) []Level {
	return slices.SortedFunc(slices.Values(levels), func(a, b Level) int {
		return cmp.Compare(a.AboveFloorMM, b.AboveFloorMM)
	})
}

// widthAt is WidthMM for levels sorted by height.
func widthAt(levels []Level, z float64) float64 {
	if len(levels) == 0 {
		return 0
	}
	above, measured := slices.BinarySearchFunc(levels, z, func(l Level, z float64) int {
		return cmp.Compare(l.AboveFloorMM, z)
	})
	switch {
	case measured || above == 0:
		return levels[above].WidthMM
	case above == len(levels):
		return levels[above-1].WidthMM
	}
	low, high := levels[above-1], levels[above]
	part := (z - low.AboveFloorMM) / (high.AboveFloorMM - low.AboveFloorMM)
	return low.WidthMM + part*(high.WidthMM-low.WidthMM)
}

// validate says what in the sinus cannot be measured with.
func (s Sinus) validate() error {
	if len(s.Levels) == 0 {
		return fmt.Errorf("sinus: no width was given")
	}
	for i, l := range sortedLevels(s.Levels) {
		name := fmt.Sprintf("sinus width at %v mm", l.AboveFloorMM)
		if err := firstError(above(name, l.WidthMM, 0), within(name+": height", l.AboveFloorMM, 0)); err != nil {
			return err
		}
		if i > 0 && sortedLevels(s.Levels)[i-1].AboveFloorMM == l.AboveFloorMM {
			return fmt.Errorf("%s: two widths for one height", name)
		}
	}
	for _, p := range s.Septa {
		if err := firstError(place("septum", p.AtMM), above("septum height", p.HeightMM, 0)); err != nil {
			return err
		}
	}
	if s.FrontWallAtMM != nil {
		if err := place("front wall", *s.FrontWallAtMM); err != nil {
			return err
		}
	}
	return firstError(within("graft top", s.GraftTopMM, 0), s.Window.validate())
}

func (w *Window) validate() error {
	if w == nil {
		return nil
	}
	return firstError(
		place("window from", w.FromMM),
		place("window to", w.ToMM),
		above("window to", w.ToMM, w.FromMM),
		within("window lower edge", w.LowerEdgeMM, 0),
		above("window height", w.HeightMM, 0),
	)
}
