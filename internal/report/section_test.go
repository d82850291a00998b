package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"graftclock/internal/drawing"
	"graftclock/internal/protocol"
)

// near fails unless two lengths of the site are equal but for the printed decimals.
func near(t tester, what string, got, want, perMM float64) {
	t.Helper()
	if math.Abs(got-want) > printedMM/perMM {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// TestSections draws every site once and holds the drawing's text to the record and to
// growth.
func TestSections(t *testing.T) {
	fronts, points, passed := 0, 0, 0
	everySite(t, func(t tester, name string, s protocol.Site) {
		p := readSVG(t, crossSection(s, "d"))
		frontsLieWhereBoneHasGrown(t, name, s, p)
		passed += noFrontIsMissing(t, name, s, p)
		theImplantIsThatOfTheRecord(t, name, s, p)
		wallsStandAsFarApartAsMeasured(t, name, s, p)
		graftTopWindowAndLastPointAreTold(t, name, s, p)
		theScaleIsTheOneTold(t, name, s, p)
		everyMonthIsWritten(t, name, s, p)
		p.tidy(t, name)
		for path, shape := range p.paths {
			if strings.HasPrefix(path, "front-") {
				fronts, points = fronts+1, points+len(shape.points)
			}
		}
	})
	if fronts < 200 || points < 2000 || passed < 300 {
		t.Errorf("%d fronts of %d points, passed at %d places: hardly anything was drawn", fronts, points, passed)
	}
}

// frontsLieWhereBoneHasGrown asks growth for the distance to bone of every point
// of every front. A point may be off by its printed decimals both ways and by the
// halving that found it, and the distance by no more than the point.
func frontsLieWhereBoneHasGrown(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	f := sectionFrame(s)
	slack := math.Sqrt2*printedMM/f.perX + nearMM
	for month := 1; month <= int(math.Ceil(s.Clock.ToFull)); month++ {
		for _, front := range p.pieces(fmt.Sprintf("front-%d", month)) {
			for _, at := range front.points {
				u, z := f.from(at)
				if off := s.Bone.DistanceMM(u, s.Post.AtMM, z) - s.GrownMM(float64(month)); math.Abs(off) > slack {
					t.Errorf("%s: front %d passes (%.4f, %.4f), %v mm off", name, month, u, z, off)
				}
			}
		}
	}
}

// noFrontIsMissing walks across the section at some heights and wants a front
// wherever the distance to bone passes what has grown in a month. Left out is what may
// be too small to draw: beside another such place, the implant, a wall or the top. It
// returns how many places it looked at.
func noFrontIsMissing(t tester, name string, s protocol.Site, p picture) (passed int) {
	t.Helper()
	f, top := sectionFrame(s), fieldOf(s).graft
	every := int(math.Ceil(math.Ceil(s.Clock.ToFull) / mostRows))
	for month := every; every > 0 && month <= int(math.Ceil(s.Clock.ToFull)); month += every {
		pieces := p.pieces(fmt.Sprintf("front-%d", month))
		for _, z := range []float64{top * 0.1, top * 0.35, top * 0.6, top * 0.85} {
			for _, u := range crossings(s, z, s.GrownMM(float64(month))) {
				passed++
				if z < top-crumbMM && !onPiece(f, pieces, spot{u, z}) {
					t.Errorf("%s: bone has grown to (%.3f, %.3f) after %d months, and no front is there", name, u, z, month)
				}
			}
		}
	}
	return passed
}

// crossings are the places at a height at which the distance to bone passes a value,
// away from each other, from the walls and from the implant, and not only just.
func crossings(s protocol.Site, z, grownMM float64) []float64 {
	const step = 0.02
	half := s.Bone.WidthMM(z) / 2
	all := []float64{-half}
	beyond := s.Bone.DistanceMM(-half, s.Post.AtMM, z) > grownMM
	for u := -half + step; u < half; u += step {
		if now := s.Bone.DistanceMM(u, s.Post.AtMM, z) > grownMM; now != beyond {
			all, beyond = append(all, u-step/2), now
		}
	}
	all = append(all, half)
	known := func(u float64) bool { // so far beyond that a knot of the net is, too
		return max(s.Bone.DistanceMM(u-2*netMM, s.Post.AtMM, z), s.Bone.DistanceMM(u+2*netMM, s.Post.AtMM, z)) > grownMM+netMM
	}
	var apart []float64
	for k := 1; k+1 < len(all); k++ {
		covered := math.Abs(all[k]-s.Post.OffMidlineMM) < s.Post.DiameterMM/2+crumbMM && z < s.Post.GraftedMM()+crumbMM
		if !covered && all[k]-all[k-1] > crumbMM && all[k+1]-all[k] > crumbMM && known(all[k]) {
			apart = append(apart, all[k])
		}
	}
	return apart
}

// onPiece reports whether a place is on one of some lines, but for the meshes between
// it and the knot that shows the front.
func onPiece(f frame, pieces []shape, at spot) bool {
	for _, p := range pieces {
		for k := 1; k < len(p.points); k++ {
			au, az := f.from(p.points[k-1])
			bu, bz := f.from(p.points[k])
			if offLine(at, spot{au, az}, spot{bu, bz}) < 3*netMM {
				return true
			}
		}
	}
	return false
}

func theImplantIsThatOfTheRecord(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	f, r := sectionFrame(s), p.path(t, "implant")
	if len(r.points) != 4 || !r.closed {
		t.Fatalf("%s: the implant is no rectangle: %v", name, r)
	}
	left, apex := f.from(r.points[0])
	right, crest := f.from(r.points[2])
	near(t, name+": length", apex-crest, s.Implant.LengthMM, f.perY/2)
	near(t, name+": diameter", right-left, s.Implant.DiameterMM, f.perX/2)
	near(t, name+": residual bone", -crest, s.Implant.ResidualMM, f.perY)
	near(t, name+": off the mid-line", (left+right)/2, s.Implant.OffMidlineMM, f.perX)
	if line, drawn := p.paths["mid-line"]; drawn != (s.Implant.OffMidlineMM != 0 || !s.Implant.MidlineRecorded) {
		t.Errorf("%s: mid-line drawn %v, axis %v mm off it, recorded %v", name, drawn, s.Implant.OffMidlineMM, s.Implant.MidlineRecorded)
	} else if drawn {
		u, _ := f.from(line.points[0])
		near(t, name+": mid-line", u, 0, f.perX)
	}
	if r.broken != (s.Implant.Placed == "later") {
		t.Errorf("%s: broken outline %v, placed %s", name, r.broken, s.Implant.Placed)
	}
}

// wallsStandAsFarApartAsMeasured compares the drawn walls with the width at many
// heights, and which stretches are dotted with what was measured.
func wallsStandAsFarApartAsMeasured(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	field, f := fieldOf(s), sectionFrame(s)
	levels := sortedLevels(s.Housing.Levels)
	for part := 0.5; part < 40; part++ {
		z := field.high * part / 40
		lowest, highest := levels[0].AboveFloorMM, levels[len(levels)-1].AboveFloorMM
		if math.Min(math.Abs(z-lowest), math.Abs(z-highest)) < nearMM {
			continue // either pen will do
		}
		measured := z > lowest && z < highest
		for side, wall := range map[float64]string{-1: "wall-palatal", 1: "wall-lateral"} {
			u, dotted, there := wallAt(f, p.pieces(wall), z)
			w := s.Housing.Window
			open := w != nil && side > 0 && s.Post.AtMM > w.FromMM && s.Post.AtMM < w.ToMM && z > w.LowerEdgeMM && z < w.LowerEdgeMM+w.HeightMM
			if there == open {
				t.Errorf("%s: %s at %v mm: drawn %v, window %v", name, wall, z, there, open)
			} else if there {
				// Between two printed points a slanting wall is off by its slant as well.
				near(t, fmt.Sprintf("%s: %s at %v mm", name, wall, z), u, side*s.Bone.WidthMM(z)/2, f.perX/40)
			}
			if there && dotted == measured {
				t.Errorf("%s: %s at %v mm: dotted %v, measured %v", name, wall, z, dotted, measured)
			}
		}
	}
	floor := p.path(t, "floor").points
	for k, side := range []float64{-1, 1} {
		u, z := f.from(floor[k])
		near(t, name+": end of the floor", u, side*s.Bone.WidthMM(0)/2, f.perX)
		near(t, name+": height of the floor", z, 0, f.perY)
	}
	_, crest := f.from(p.path(t, "crest").points[0])
	near(t, name+": crest", crest, -s.Implant.ResidualMM, f.perY)
}

// wallAt is where a wall is drawn at a height.
func wallAt(f frame, pieces []shape, z float64) (u float64, dotted, there bool) {
	for _, p := range pieces {
		for k := 1; k < len(p.points); k++ {
			au, az := f.from(p.points[k-1])
			bu, bz := f.from(p.points[k])
			if az <= z && z <= bz {
				return au + (bu-au)*(z-az)/(bz-az), p.broken, true
			}
		}
	}
	return 0, false, false
}

func graftTopWindowAndLastPointAreTold(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	f := sectionFrame(s)
	top := p.path(t, "graft-top")
	_, height := f.from(top.points[0])
	if recorded := s.Sinus.Graft.HeightMM; recorded > 0 {
		near(t, name+": graft top", height, recorded, f.perY)
	}
	if told := p.says != strings.ReplaceAll(p.says, "graft top not recorded", ""); told != (s.Sinus.Graft.HeightMM == 0) || told != top.broken {
		t.Errorf("%s: graft of %v mm: broken line %v; %s", name, s.Sinus.Graft.HeightMM, top.broken, p.says)
	}
	w, there := windowOf(s)
	if bracket, drawn := p.paths["window"]; drawn != there {
		t.Errorf("%s: window drawn %v, there %v", name, drawn, there)
	} else if there {
		_, low := f.from(bracket.points[0])
		_, high := f.from(bracket.points[3])
		near(t, name+": lower edge", low, w.LowerEdgeMM, f.perY)
		near(t, name+": upper edge", high, w.LowerEdgeMM+w.HeightMM, f.perY)
	}
	cross, drawn := p.paths["last"]
	if last := s.Bone.Last(); drawn != (last.DistanceMM > 0) {
		t.Errorf("%s: last point drawn %v, %v mm from bone", name, drawn, last.DistanceMM)
	} else if drawn {
		u, z := f.from(drawing.Point{X: (cross.points[0].X + cross.points[1].X) / 2, Y: (cross.points[0].Y + cross.points[1].Y) / 2})
		near(t, name+": last point across", u, last.OffMidlineMM, f.perX)
		near(t, name+": last point upwards", z, last.AboveFloorMM, f.perY)
	}
}

func theScaleIsTheOneTold(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	bar := p.path(t, "scale-bar").points
	scale := sectionFrame(s).perX
	if got := (bar[2].X - bar[1].X) / barMM; math.Abs(got-scale) > printedMM {
		t.Errorf("%s: the bar says %v to 1, the drawing is %v to 1", name, got, scale)
	}
	if !strings.HasPrefix(p.says, "Drawn "+told(scale)+" to 1 ") {
		t.Errorf("%s: drawn %v to 1, told: %s", name, scale, p.says)
	}
}

// everyMonthIsWritten wants each front that is drawn to have its month in it or
// beside it.
func everyMonthIsWritten(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	written := map[string]bool{}
	for _, l := range p.labels {
		written[strings.TrimPrefix(l.Text, "month ")] = true
	}
	for month := 1; month <= int(math.Ceil(s.Clock.ToFull)); month++ {
		if _, drawn := p.paths[fmt.Sprintf("front-%d", month)]; drawn && !written[fmt.Sprint(month)] {
			t.Errorf("%s: no label for month %d", name, month)
		}
	}
}
