package growth_test

import (
	"math"
	"sort"
	"testing"

	"graftclock/internal/growth"
)

// shareError is what Held and Graft keep to, but for the cases named in
// TestHeldAtItsWorst, which keep to worstShareError.
const (
	shareError      = 1e-3
	worstShareError = 2e-3
)

// samples is how many points of a surface or a volume the slow evaluation takes.
// Laid out on a golden-section lattice, they miss a share by 1e-4 or less.
const samples = 300_000

// lattice gives the k-th of n points that fill a square evenly.
func lattice(k, n int) (a, b float64) {
	_, b = math.Modf(float64(k) * (math.Sqrt(5) - 1) / 2)
	return (float64(k) + 0.5) / float64(n), b
}

// surfaceDistances is the distances to bone of points spread evenly over an
// implant's grafted surface, in order.
func surfaceDistances(c *growth.Clock, i growth.Implant, n int) []float64 {
	distances := make([]float64, n)
	for k := range distances {
		turn, height := lattice(k, n)
		sin, cos := math.Sincos(2 * math.Pi * turn)
		distances[k] = c.DistanceMM(i.OffMidlineMM+i.DiameterMM/2*cos, i.AtMM+i.DiameterMM/2*sin, height*i.GraftedMM())
	}
	sort.Float64s(distances)
	return distances
}

// sampledShare is the share of an implant in bone, from surfaceDistances.
func sampledShare(distances []float64, i growth.Implant, mm float64) float64 {
	reached := sort.Search(len(distances), func(k int) bool { return distances[k] > mm })
	return 1 - i.GraftedMM()/i.LengthMM*(1-float64(reached)/float64(len(distances)))
}

func at(mm float64) *float64 { return &mm }

// cases are sinuses that bring every kind of bone into play.
var cases = []struct {
	name    string
	sinus   growth.Sinus
	implant growth.Implant
}{
	{"everything", everything, implantInEverything},
	{"parallel walls", parallel(9), growth.Implant{ResidualMM: 3, LengthMM: 12, DiameterMM: 4.1}},
	{"off the mid-line", parallel(9), growth.Implant{AtMM: 0.4, OffMidlineMM: 0.7, ResidualMM: 3, LengthMM: 12, DiameterMM: 4.1}},
	{"implant through sloping walls", growth.Sinus{
		Levels:     []growth.Level{{WidthMM: 3, AboveFloorMM: 1}, {WidthMM: 4.1, AboveFloorMM: 5}, {WidthMM: 6, AboveFloorMM: 9}},
		GraftTopMM: 8,
	}, growth.Implant{AtMM: 0.4, OffMidlineMM: 0.7, ResidualMM: 3, LengthMM: 12, DiameterMM: 4.1}},
	{"window", growth.Sinus{
		Levels: parallel(13).Levels, Window: &growth.Window{FromMM: -2, ToMM: 2, LowerEdgeMM: 1, HeightMM: 6}, GraftTopMM: 10,
	}, growth.Implant{AtMM: 0.4, OffMidlineMM: 0.7, ResidualMM: 3, LengthMM: 12, DiameterMM: 4.1}},
	{"implant through septum and front wall", growth.Sinus{
		Levels: parallel(13).Levels, FrontWallAtMM: at(-1), Septa: []growth.Septum{{AtMM: 4, HeightMM: 5}, {AtMM: 2.2, HeightMM: 9}}, GraftTopMM: 10,
	}, growth.Implant{AtMM: 0.4, OffMidlineMM: 0.7, ResidualMM: 3, LengthMM: 12, DiameterMM: 4.1}},
	{"implant out through the window", growth.Sinus{
		Levels: []growth.Level{{WidthMM: 8, AboveFloorMM: 1}, {WidthMM: 12, AboveFloorMM: 5}},
		Window: &growth.Window{FromMM: -3, ToMM: 3, LowerEdgeMM: 1, HeightMM: 7},
	}, growth.Implant{AtMM: 0.4, OffMidlineMM: 5, ResidualMM: 3, LengthMM: 12, DiameterMM: 4.1}},
}

var (
	everything = growth.Sinus{
		Levels:     []growth.Level{{WidthMM: 8, AboveFloorMM: 1}, {WidthMM: 12, AboveFloorMM: 5}, {WidthMM: 15, AboveFloorMM: 9}},
		Window:     &growth.Window{FromMM: -5, ToMM: 6, LowerEdgeMM: 3, HeightMM: 8},
		Septa:      []growth.Septum{{AtMM: -6.3, HeightMM: 5}},
		GraftTopMM: 13,
	}
	implantInEverything = growth.Implant{AtMM: 0.4, OffMidlineMM: 0.7, ResidualMM: 3, LengthMM: 12, DiameterMM: 4.1}
)

// TestHeldAtItsWorst holds the one geometry known, of some 700 random ones, in
// which Held misses a share by more than a thousandth. When it does no more, the
// case moves to the others and the comment on Held becomes simpler.
func TestHeldAtItsWorst(t *testing.T) {
	sinus := growth.Sinus{
		Levels: []growth.Level{{WidthMM: 5.077, AboveFloorMM: 2.177}, {WidthMM: 7.047, AboveFloorMM: 7.945}},
		Septa:  []growth.Septum{{AtMM: 0.039, HeightMM: 5.69}, {AtMM: 3.27, HeightMM: 3.77}},
		Window: &growth.Window{FromMM: -5.51, ToMM: -3.06, LowerEdgeMM: 2.77, HeightMM: 8.47},
	}
	implant := growth.Implant{AtMM: 0.649, OffMidlineMM: -1.963, ResidualMM: 4.866, LengthMM: 8.388, DiameterMM: 4.049}
	clock := newClock(t, sinus, implant)
	distances := surfaceDistances(clock, implant, samples)
	full, worst, steps := clock.Last().DistanceMM, 0.0, 2000
	for k := range steps {
		mm := full * float64(k) / float64(steps)
		worst = max(worst, math.Abs(clock.Held(mm, 1)-sampledShare(distances, implant, mm)))
	}
	t.Logf("misses a share by %.5f at most", worst)
	if worst > worstShareError || worst <= shareError {
		t.Errorf("misses a share by %v, want between %v and %v", worst, shareError, worstShareError)
	}
}

func TestHeldIsWhatSamplesSay(t *testing.T) {
	n := samples
	if testing.Short() {
		n /= 5
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			clock := newClock(t, c.sinus, c.implant)
			distances := surfaceDistances(clock, c.implant, n)
			full := clock.Last().DistanceMM
			if most := distances[n-1]; most > full+searched || most < full-0.05 {
				t.Errorf("Last %v mm, farthest sample %v mm", full, most)
			}
			for k := range 500 {
				mm := full * float64(k) / 500
				got, want := clock.Held(mm, 1), sampledShare(distances, c.implant, mm)
				if math.Abs(got-want) > shareError {
					t.Errorf("%v held at %v mm, want %v", got, mm, want)
				}
			}
		})
	}
}

func TestHeldInParallelWallsHasAClosedForm(t *testing.T) {
	// A wide sinus: the floor alone counts, so the share rises evenly.
	floor := newClock(t, parallel(40), growth.Implant{ResidualMM: 2, LengthMM: 10, DiameterMM: 4})
	// A narrow one: at x mm the walls have reached all points with |u| > W/2 - x,
	// and the floor the lowest x mm of the others.
	walls := newClock(t, parallel(9), growth.Implant{ResidualMM: 2, LengthMM: 10, DiameterMM: 4})
	for x := 0.0; x <= 4.5; x += 0.05 {
		if got, want := floor.Held(x, 1), 0.2+x/10; math.Abs(got-want) > 1e-9 {
			t.Errorf("floor alone: %v held at %v mm, want %v", got, x, want)
		}
		unreached := 1 - 2/math.Pi*math.Acos(min(1, (4.5-x)/2))
		if got, want := walls.Held(x, 1), 1-0.8*unreached*(8-x)/8; x < 4.499 && math.Abs(got-want) > 5e-4 {
			t.Errorf("parallel walls: %v held at %v mm, want %v", got, x, want)
		}
	}
	if got := floor.MonthsTo(0.8, 0.5); math.Abs(got-12) > 1e-9 {
		t.Errorf("floor alone: 0.8 held after %v months at 0.5 mm, want 12", got)
	}
	for _, share := range []float64{-1, 0, 0.1, 0.2} {
		if got := floor.MonthsTo(share, 1); got != 0 {
			t.Errorf("share %v held after %v months, want 0", share, got)
		}
	}
	for _, share := range []float64{1, 1.5} {
		if got := floor.MonthsTo(share, 1); got != floor.Last().DistanceMM {
			t.Errorf("share %v held after %v months, want Last's %v", share, got, floor.Last().DistanceMM)
		}
	}
}

func TestHeldBeginsWithResidualBoneAndWalls(t *testing.T) {
	for _, c := range []struct {
		name    string
		width   float64
		implant growth.Implant
		want    float64
	}{
		{"residual bone alone", 12, growth.Implant{ResidualMM: 3, LengthMM: 12, DiameterMM: 4}, 0.25},
		{"none", 12, growth.Implant{LengthMM: 12, DiameterMM: 4}, 0},
		{"all residual bone", 12, growth.Implant{ResidualMM: 12, LengthMM: 12, DiameterMM: 4}, 1},
		// A third of the circle lies beyond each wall 1 mm off the axis of a radius of 2 mm.
		{"both walls", 2, growth.Implant{ResidualMM: 3, LengthMM: 12, DiameterMM: 4}, 0.25 + 0.75*2/3},
		{"within a wall", 2, growth.Implant{ResidualMM: 3, LengthMM: 12, DiameterMM: 4, OffMidlineMM: 9}, 1},
	} {
		clock := newClock(t, parallel(c.width), c.implant)
		if got := clock.Held(0, 1); math.Abs(got-c.want) > shareError {
			t.Errorf("%s: %v held at 0 months, want %v", c.name, got, c.want)
		}
	}
}

func TestGraftVolumeHasAClosedForm(t *testing.T) {
	// What is left of a box W wide and T high is W - 2x wide and T - x high.
	s := parallel(11)
	s.GraftTopMM = 9
	graft, err := newClock(t, s, grafted(8)).Graft(-7, 12)
	if err != nil {
		t.Fatal(err)
	}
	// Septa 5 mm apart, each 2.5 mm from the plane between them,.
	between := parallel(20)
	between.GraftTopMM = 15
	between.Septa = []growth.Septum{{AtMM: 0, HeightMM: 15}, {AtMM: 5, HeightMM: 15}}
	pair, err := newClock(t, between, grafted(8)).Graft(0, 5)
	if err != nil {
		t.Fatal(err)
	}
	for x := 0.0; x < 5.5; x += 0.1 {
		if got, want := graft.Share(x), 1-(11-2*x)*(9-x)/(11*9); math.Abs(got-want) > shareError {
			t.Errorf("box: share %v at %v mm, want %v", got, x, want)
		}
		left := max(0, 5-2*x) * (20 - 2*x) * (15 - x) / (5 * 20 * 15)
		if got, want := pair.Share(x), 1-left; math.Abs(got-want) > shareError {
			t.Errorf("between septa: share %v at %v mm, want %v", got, x, want)
		}
	}
	if got := graft.FullMM(); math.Abs(got-5.5) > 0.01 {
		t.Errorf("box: full at %v mm, want 5.5", got)
	}
}

func TestGraftVolumeIsWhatSamplesSay(t *testing.T) {
	clock := newClock(t, everything, implantInEverything)
	graft, err := clock.Graft(-8, 9)
	if err != nil {
		t.Fatal(err)
	}
	var distances, volumes []float64
	var whole float64
	const third = 0.7548776662466927 // with its square, fills a cube evenly
	for k := range samples {
		_, a := math.Modf(float64(k) * third)
		_, b := math.Modf(float64(k) * third * third)
		z, width := 13*b, clock.WidthMM(13*b)
		distances = append(distances, clock.DistanceMM((a-0.5)*width, -8+17*(float64(k)+0.5)/samples, z))
		volumes = append(volumes, width)
		whole += width
	}
	for x := 0.0; x < graft.FullMM(); x += 0.1 {
		var reached float64
		for k, d := range distances {
			if d <= x {
				reached += volumes[k]
			}
		}
		if got, want := graft.Share(x), reached/whole; math.Abs(got-want) > 2*shareError {
			t.Errorf("share %v at %v mm, want %v", got, x, want)
		}
	}
}

func TestGraftVolumeNeedsATop(t *testing.T) {
	if _, err := newClock(t, parallel(11), grafted(8)).Graft(-7, 12); err == nil {
		t.Error("no error without a graft top")
	}
	if _, err := newClock(t, everything, grafted(8)).Graft(3, 3); err == nil {
		t.Error("no error without a length")
	}
}

func TestBandShiftsEveryMeasurement(t *testing.T) {
	wide := growth.Band{RateLow: 0.75, RateHigh: 1.25, WidthMM: 0.5, ResidualMM: 0.5}
	for _, c := range []struct {
		name         string
		band         growth.Band
		width        float64
		implant      growth.Implant
		soon, latest float64
	}{
		// Half of 11.5 at 1.25, half of 12.5 at 0.75.
		{"walls", wide, 12, growth.Implant{LengthMM: 14, DiameterMM: 4}, 4.6, 8.34},
		// 7.5 at 1.25, 8.5 at 0.75.
		{"floor", wide, 40, growth.Implant{ResidualMM: 2, LengthMM: 10, DiameterMM: 4}, 6, 11.34},
		{"no less than no residual bone", wide, 40, growth.Implant{ResidualMM: 0.2, LengthMM: 9, DiameterMM: 4}, 6.64, 12},
		{"nothing has to form at one end", wide, 40, growth.Implant{ResidualMM: 8.7, LengthMM: 9, DiameterMM: 4}, 0, 1.07},
		{"a width stays above 0", growth.Band{RateLow: 1, RateHigh: 1, WidthMM: 50}, 12, growth.Implant{LengthMM: 14, DiameterMM: 4}, 0, 14},
		{"no band", growth.Band{RateLow: 1, RateHigh: 1}, 12, growth.Implant{LengthMM: 14, DiameterMM: 4}, 6, 6},
	} {
		soon, latest, err := c.band.Months(parallel(c.width), c.implant, 1)
		if err != nil || math.Abs(soon-c.soon) > 0.0101 || soon > c.soon+1e-9 && c.soon > 0 || latest != c.latest {
			t.Errorf("%s: %v to %v months, %v; want %v to %v", c.name, soon, latest, err, c.soon, c.latest)
		}
	}
	for _, b := range []growth.Band{{}, {RateLow: 1}, {RateLow: 2, RateHigh: 1}, {RateLow: 1, RateHigh: math.NaN()}, {RateLow: 1, RateHigh: 1, WidthMM: -1}} {
		if _, _, err := b.Months(parallel(12), grafted(8), 1); err == nil {
			t.Errorf("%+v: no error", b)
		}
	}
}
