package growth_test

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"testing"

	"graftclock/internal/growth"
	"graftclock/internal/reference"
)

// The errors of the reference, in mm, from the spacings of growth_scipy.py.
const (
	// cloudHole is how far a point of a bone surface may be from the nearest
	// sample of that surface: half the diagonal of a square of 0.2 mm. A
	// distance d met at a right angle is then found as sqrt(d^2 + cloudHole^2)
	// at most; edges are sampled along themselves.
	cloudHole = 0.142
	// gridBelow and gridAbove bound a distance read from voxels of 0.1 mm: half
	// a diagonal (0.087) is lost between the point and its voxel; a septum is a
	// voxel thick (0.05 more below); and the nearest voxel that is bone may be
	// 2.4 times half a diagonal off, where three faces meet (0.21 more above).
	gridBelow, gridAbove = 0.14, 0.30
	// scipyCases and gridCases: the whole takes half a minute. A grid of 0.1 mm
	// has millions of voxels, hence few of those.
	scipyCases, gridCases = 240, 5
)

type scipyCase struct {
	Sinus   growth.Sinus
	Implant growth.Implant
	Points  [][3]float64
	Grown   []float64
	Grid    bool
}

type scipyAnswer struct {
	Last         float64
	Points, Held []float64
}

// randomCase draws a sinus, an implant, points within its reach and distances
// grown.
func randomCase(r *rand.Rand) scipyCase {
	mm := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	s := growth.Sinus{Levels: []growth.Level{{WidthMM: mm(5, 18), AboveFloorMM: mm(0, 4)}}}
	if r.IntN(3) > 0 {
		s.Levels = append(s.Levels, growth.Level{WidthMM: s.Levels[0].WidthMM + mm(-2, 6), AboveFloorMM: mm(5, 9)})
	}
	if r.IntN(3) > 0 {
		from := mm(-8, 2)
		s.Window = &growth.Window{FromMM: from, ToMM: from + mm(2, 12), LowerEdgeMM: mm(0, 5), HeightMM: mm(2, 9)}
	}
	for range r.IntN(3) {
		s.Septa = append(s.Septa, growth.Septum{AtMM: mm(-8, 8), HeightMM: mm(1, 9)})
	}
	if r.IntN(3) == 0 {
		at := mm(-7, -1)
		s.FrontWallAtMM = &at
	}
	if r.IntN(2) == 0 {
		s.GraftTopMM = mm(4, 12)
	}
	i := growth.Implant{AtMM: mm(-2, 2), OffMidlineMM: mm(-2.5, 2.5), ResidualMM: mm(0, 5), LengthMM: mm(7, 11), DiameterMM: mm(3, 5)}
	c := scipyCase{Sinus: s, Implant: i}
	for range 8 {
		angle, reach := 2*math.Pi*r.Float64(), i.DiameterMM/2*r.Float64()
		c.Points = append(c.Points, [3]float64{i.OffMidlineMM + reach*math.Cos(angle), i.AtMM + reach*math.Sin(angle), i.GraftedMM() * r.Float64()})
	}
	return c
}

func TestAgainstScipy(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	python := reference.Python(t, "scipy", "numpy")
	r := rand.New(rand.NewPCG(7, 2026))
	var cases []scipyCase
	var clocks []*growth.Clock
	grids := 0
	for len(cases) < scipyCases {
		c := randomCase(r)
		clock := newClock(t, c.Sinus, c.Implant)
		for part := range 6 {
			c.Grown = append(c.Grown, clock.Last().DistanceMM*(float64(part)+0.5)/6)
		}
		if c.Grid = grids < gridCases && c.Implant.GraftedMM() < 5 && c.Sinus.Window != nil; c.Grid {
			grids++
		}
		cases, clocks = append(cases, c), append(clocks, clock)
	}
	worst := 0.0
	for k, answer := range askScipy(t, python, cases) {
		c, clock := cases[k], clocks[k]
		lost := pieceReach(c.Implant)
		cloudAbove := func(d float64) float64 { return math.Hypot(d, cloudHole) - d }
		worst = max(worst, math.Abs(answer.Cloud.Last-clock.Last().DistanceMM))
		compare(t, "cloud", c, clock, answer.Cloud, lost, 1e-9, cloudAbove)
		if c.Grid {
			compare(t, "grid", c, clock, *answer.Grid, lost, gridBelow, func(float64) float64 { return gridAbove })
		}
	}
	t.Logf("%d geometries, %d of them on a grid; largest distances differ by %.4f mm at most", len(cases), grids, worst)
}

// pieceReach is how far the reference's pieces of an implant's surface, 96 round
// and 64 high, reach from their middles.
func pieceReach(i growth.Implant) float64 {
	return math.Hypot(math.Pi*i.DiameterMM/96, i.GraftedMM()/64) / 2
}

// compare holds an answer against the clock. The reference may find a distance
// by below too short or by above(distance) too long, and sees the surface in
// pieces that reach lost from their middles.
func compare(t *testing.T, by string, c scipyCase, clock *growth.Clock, got scipyAnswer, lost, below float64, above func(float64) float64) {
	t.Helper()
	want := clock.Last().DistanceMM
	if got.Last < want-lost-below-slackMM || got.Last > want+above(want)+slackMM {
		t.Errorf("%s: %+v\nLast %v, scipy %v", by, c, want, got.Last)
	}
	for k, p := range c.Points {
		want := clock.DistanceMM(p[0], p[1], p[2])
		if got.Points[k] < want-below || got.Points[k] > want+above(want) {
			t.Errorf("%s: %+v\nDistanceMM(%v) = %v, scipy %v", by, c, p, want, got.Points[k])
		}
	}
	for k, x := range c.Grown {
		least := x - above(max(0, x-above(0)))
		low, high := clock.Held(least-lost, 1), clock.Held(x+below+lost, 1)
		if got.Held[k] < low-shareError && least > lost || got.Held[k] > high+shareError {
			t.Errorf("%s: %+v\nheld at %v mm: scipy %v, not between %v and %v", by, c, x, got.Held[k], low, high)
		}
	}
}

type scipyAnswers []struct {
	Cloud scipyAnswer
	Grid  *scipyAnswer
}

func askScipy(t *testing.T, python string, cases []scipyCase) scipyAnswers {
	t.Helper()
	question, err := json.Marshal(map[string]any{"cases": cases})
	if err != nil {
		t.Fatal(err)
	}
	command := exec.Command(python, filepath.Join(reference.Folder(), "growth_scipy.py"))
	command.Stdin = bytes.NewReader(question)
	var complaint bytes.Buffer
	command.Stderr = &complaint
	out, err := command.Output()
	if err != nil {
		t.Fatalf("growth_scipy.py: %v\n%s", err, &complaint)
	}
	var answers scipyAnswers
	if err := json.Unmarshal(out, &answers); err != nil || len(answers) != len(cases) {
		t.Fatalf("growth_scipy.py: %d answers for %d cases, %v", len(answers), len(cases), err)
	}
	return answers
}
