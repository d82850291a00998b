package growth_test

import (
	"math"
	"strings"
	"testing"

	"graftclock/internal/growth"
)

// searched is how far Last may be from a closed form: a millionth of a
// millimetre is left by the search, the rest is rounding.
const searched = 2e-6

// parallel is a sinus with parallel walls and nothing else.
func parallel(widthMM float64) growth.Sinus {
	return growth.Sinus{Levels: []growth.Level{{WidthMM: widthMM, AboveFloorMM: 5}}}
}

// grafted is an implant 4 mm wide that stands on the floor.
func grafted(heightMM float64) growth.Implant {
	return growth.Implant{LengthMM: heightMM, DiameterMM: 4}
}

func newClock(t testing.TB, s growth.Sinus, i growth.Implant) *growth.Clock {
	t.Helper()
	c, err := growth.New(s, i)
	if err != nil {
		t.Fatalf("New(%+v, %+v): %v", s, i, err)
	}
	return c
}

func TestLastInParallelWallsHasAClosedForm(t *testing.T) {
	for _, c := range []struct {
		name, desc string
		width      float64
		implant    growth.Implant
	}{
		{"eight months", "common practice: 8 mm at 1 mm a month", 20, growth.Implant{ResidualMM: 2, LengthMM: 10, DiameterMM: 4}},
		{"walls first", "the mid-line is reached before the apex", 12, growth.Implant{ResidualMM: 2, LengthMM: 10, DiameterMM: 4}},
		{"off the mid-line", "the side that looks inwards is last", 12, growth.Implant{ResidualMM: 2, LengthMM: 10, DiameterMM: 4, OffMidlineMM: 3}},
		{"off the other way", "the walls are alike", 12, growth.Implant{ResidualMM: 2, LengthMM: 10, DiameterMM: 4, OffMidlineMM: -3}},
		{"across the mid-line", "the mid-line itself is last", 11.3, growth.Implant{LengthMM: 12, DiameterMM: 4.1, OffMidlineMM: 0.7}},
		{"wider than the sinus", "most of it lies in the walls", 3, growth.Implant{LengthMM: 10, DiameterMM: 4}},
		{"within a wall", "all of it lies in the wall", 3, growth.Implant{LengthMM: 10, DiameterMM: 4, OffMidlineMM: 5}},
		{"residual bone covers it", "nothing has to form", 12, growth.Implant{ResidualMM: 10, LengthMM: 10, DiameterMM: 4}},
		{"more residual bone", "nothing has to form", 12, growth.Implant{ResidualMM: 14, LengthMM: 10, DiameterMM: 4}},
	} {
		t.Run(c.name, func(t *testing.T) {
			clock := newClock(t, parallel(c.width), c.implant)
			want := closedForm(c.width, c.implant)
			if got := clock.Last().DistanceMM; math.Abs(got-want) > searched {
				t.Errorf("%s: Last %v mm, want %v mm", c.desc, got, want)
			}
			if got, want := clock.Months(0.5), math.Ceil(200*want-1e-3)/100; got != want {
				t.Errorf("%s: %v months at 0.5 mm a month, want %v", c.desc, got, want)
			}
		})
	}
}

// closedForm is min(h, m), m being the largest distance to the nearer of two
// parallel walls over the width of the implant.
func closedForm(width float64, i growth.Implant) float64 {
	toPalatal := width/2 + i.OffMidlineMM
	low, high := toPalatal-i.DiameterMM/2, toPalatal+i.DiameterMM/2
	x := min(max(width/2, low), high)
	return min(i.GraftedMM(), max(0, min(x, width-x)))
}

func TestLastByHand(t *testing.T) {
	front := -3.0
	slope := []growth.Level{{WidthMM: 2}, {WidthMM: 42, AboveFloorMM: 20}}
	for _, c := range []struct {
		name, desc string
		sinus      growth.Sinus
		height     float64
		want       float64
		z          float64 // -1: the height is not the point
		side       growth.Direction
		waits      growth.Bone
	}{
		{"floor alone", "the whole rim of the apex is 8 mm from the floor and 8 mm or more from the walls",
			parallel(20), 8, 8, 8, growth.Apical, growth.Floor},
		{"window without end", "the palatal wall is 5 + 2 mm from the lateral side, the floor 8 mm from the apex",
			growth.Sinus{Levels: parallel(10).Levels, Window: &growth.Window{FromMM: -50, ToMM: 50, HeightMM: 50}},
			8, 7, 8, growth.Lateral, growth.PalatalWall},
		{"window", "at z = 7, half way up the opening, at u: palatal wall 5 + u, both edges sqrt((5 - u)^2 + 5^2); equal at u = 1.25; window ends and floor are farther",
			growth.Sinus{Levels: parallel(10).Levels, Window: &growth.Window{FromMM: -8, ToMM: 8, LowerEdgeMM: 2, HeightMM: 10}},
			10, 6.25, 7, growth.Mesial, growth.PalatalWall},
		{"septum", "the far side is 3 + 2 mm from it",
			growth.Sinus{Levels: parallel(20).Levels, Septa: []growth.Septum{{AtMM: 3, HeightMM: 10}}},
			8, 5, 8, growth.Mesial, growth.SeptumWall},
		{"low septum", "the apex is 5 mm beside its top and 4 mm above it",
			growth.Sinus{Levels: parallel(20).Levels, Septa: []growth.Septum{{AtMM: 3, HeightMM: 4}}},
			8, math.Hypot(5, 4), 8, growth.Mesial, growth.SeptumWall},
		{"front wall", "the far side is 3 + 2 mm from it",
			growth.Sinus{Levels: parallel(20).Levels, FrontWallAtMM: &front},
			8, 5, 8, growth.Distal, growth.FrontWall},
		{"graft top", "the apex stands 3 mm above the walls that count and 3 mm inside them",
			growth.Sinus{Levels: parallel(6).Levels, GraftTopMM: 5},
			8, math.Hypot(3, 3), 8, growth.Mesial, growth.PalatalWall},
		{"graft top lowers a septum", "as the low septum, which the graft now cuts to 4 mm",
			growth.Sinus{Levels: parallel(40).Levels, Septa: []growth.Septum{{AtMM: 3, HeightMM: 9}}, GraftTopMM: 4},
			8, math.Hypot(5, 4), 8, growth.Mesial, growth.SeptumWall},
		{"sloping walls", "walls at 45 degrees, 1 mm from the mid-line at the floor: (1 + 8) / sqrt 2 from the apex",
			growth.Sinus{Levels: slope}, 8, 9 / math.Sqrt2, 8, growth.Mesial, growth.PalatalWall},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := newClock(t, c.sinus, grafted(c.height)).Last()
			if math.Abs(got.DistanceMM-c.want) > searched || math.Abs(got.AboveFloorMM-c.z) > 0.01 ||
				got.Side != c.side || got.WaitsFor != c.waits {
				t.Errorf("%s:\n got %+v (%v side, waits for the %v)\nwant %v mm at z = %v, %v side, waits for the %v",
					c.desc, got, got.Side, got.WaitsFor, c.want, c.z, c.side, c.waits)
			}
		})
	}
}

func TestDistanceByHand(t *testing.T) {
	front := -9.0
	s := growth.Sinus{
		Levels:        []growth.Level{{WidthMM: 10, AboveFloorMM: 5}},
		Window:        &growth.Window{FromMM: -4, ToMM: 4, LowerEdgeMM: 3, HeightMM: 6},
		FrontWallAtMM: &front,
		GraftTopMM:    12,
	}
	clock := newClock(t, s, grafted(8))
	for _, c := range []struct {
		desc          string
		u, y, z, want float64
	}{
		{"below the floor is bone", 0, 0, -1, 0},
		{"above the floor", 0, 0, 2, 2},
		{"beside the palatal wall", -4, 0, 6, 1},
		{"beyond the palatal wall is bone", -6, 0, 6, 0},
		{"beyond the lateral wall is bone", 6, 5, 6, 0},
		{"middle of the opening: its upper and lower edges", 5, 0, 6, 3},
		{"before the opening: the same edges", 2, 0, 6, math.Hypot(3, 3)},
		{"near the end of the opening", 5, 3, 6, 1},
		{"before the end of the opening", 3, 3, 6, math.Hypot(2, 1)},
		{"out through the opening: the bone around it", 6, 0, 6, 3},
		{"below the opening the wall is whole", 4, 0, 2, 1},
		{"above the opening the wall is whole", 4, 0, 10, 1},
		{"before the front wall", 0, -8, 6, 1},
		{"beyond the front wall is bone", 0, -10, 6, 0},
		{"above the graft only its top edges count", 4, 0, 14, math.Hypot(1, 2)},
		{"above what lies beyond a wall", 7, 0, 14, 2},
	} {
		if got := clock.DistanceMM(c.u, c.y, c.z); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: DistanceMM(%v, %v, %v) = %v, want %v", c.desc, c.u, c.y, c.z, got, c.want)
		}
	}
}

func TestMonthsRoundUpAtTheSecondDecimal(t *testing.T) {
	for _, c := range []struct{ months, want float64 }{
		{0, 0}, {6, 6}, {6.0000000001, 6}, {5.9999999999, 6}, {6.001, 6.01}, {6.01, 6.01}, {6.0149, 6.02}, {math.Inf(1), math.Inf(1)},
	} {
		if got := growth.RoundUp(c.months); got != c.want || math.Signbit(got) {
			t.Errorf("RoundUp(%v) = %v, want %v", c.months, got, c.want)
		}
	}
}

func TestBoneThatDoesNotGrow(t *testing.T) {
	waits, done := newClock(t, parallel(12), grafted(8)), newClock(t, parallel(12), growth.Implant{ResidualMM: 9, LengthMM: 8, DiameterMM: 4})
	for _, rate := range []float64{0, -1} {
		if got := waits.Months(rate); !math.IsInf(got, 1) {
			t.Errorf("rate %v: %v months, want +Inf", rate, got)
		}
		if got := waits.Held(100, rate); got != 0 {
			t.Errorf("rate %v: %v held, want 0", rate, got)
		}
		if got := done.Months(rate); got != 0 {
			t.Errorf("rate %v: %v months with nothing to form, want 0", rate, got)
		}
		if got := done.Held(0, rate); got != 1 {
			t.Errorf("rate %v: %v held with nothing to form, want 1", rate, got)
		}
	}
}

// A plain check against published widths: at 1 mm a month a centred, long
// implant waits for half the width, and these halves fall into the 4 to 12
// months that clinicians wait. The widths were read in abstracts or in pages
// that quote them; the halves are arithmetic.
func TestPublishedWidthsGiveMonthsOfTheUsualOrder(t *testing.T) {
	for _, c := range []struct {
		source            string
		widthMM, wantToMM float64
	}{
		{"narrowest of 57 sites, PMID 25720811", 7.88, 3.9},
		{"border of narrow and wide in 60 sinuses, PMID 25196695", 13.27, 6.6},
		{"mean of 57 sites, PMID 25720811", 13.68, 6.8},
		{"mean of 63 sites, PMID 35028068", 14.05, 7.0},
		{"widest of 57 sites, PMID 25720811", 21.63, 10.8},
	} {
		clock := newClock(t, parallel(c.widthMM), grafted(15))
		if got := math.Round(10*clock.MonthsTo(1, 1)) / 10; got != c.wantToMM {
			t.Errorf("%s: %v mm give %v months, want %v", c.source, c.widthMM, got, c.wantToMM)
		}
	}
}

func TestNewRefusesWhatHasNoShape(t *testing.T) {
	valid := func() (growth.Sinus, growth.Implant) {
		s := parallel(12)
		s.Window = &growth.Window{FromMM: -4, ToMM: 4, LowerEdgeMM: 3, HeightMM: 6}
		s.Septa = []growth.Septum{{AtMM: 6, HeightMM: 3}}
		s.FrontWallAtMM = new(float64)
		*s.FrontWallAtMM = -9
		return s, grafted(8)
	}
	if s, i := valid(); newClock(t, s, i) == nil {
		t.Fatal("no clock for a valid record")
	}
	nan := math.NaN()
	for _, c := range []struct {
		want  string
		spoil func(s *growth.Sinus, i *growth.Implant)
	}{
		{"no width", func(s *growth.Sinus, _ *growth.Implant) { s.Levels = nil }},
		{"sinus width at 5 mm", func(s *growth.Sinus, _ *growth.Implant) { s.Levels[0].WidthMM = 0 }},
		{"sinus width at 5 mm", func(s *growth.Sinus, _ *growth.Implant) { s.Levels[0].WidthMM = nan }},
		{"height: -1 mm", func(s *growth.Sinus, _ *growth.Implant) { s.Levels[0].AboveFloorMM = -1 }},
		{"two widths", func(s *growth.Sinus, _ *growth.Implant) { s.Levels = append(s.Levels, s.Levels[0]) }},
		{"window to", func(s *growth.Sinus, _ *growth.Implant) { s.Window.ToMM = s.Window.FromMM }},
		{"window from", func(s *growth.Sinus, _ *growth.Implant) { s.Window.FromMM = math.Inf(-1) }},
		{"window lower edge", func(s *growth.Sinus, _ *growth.Implant) { s.Window.LowerEdgeMM = -1 }},
		{"window height", func(s *growth.Sinus, _ *growth.Implant) { s.Window.HeightMM = 0 }},
		{"septum", func(s *growth.Sinus, _ *growth.Implant) { s.Septa[0].AtMM = nan }},
		{"septum height", func(s *growth.Sinus, _ *growth.Implant) { s.Septa[0].HeightMM = 0 }},
		{"front wall", func(s *growth.Sinus, _ *growth.Implant) { *s.FrontWallAtMM = nan }},
		{"graft top", func(s *growth.Sinus, _ *growth.Implant) { s.GraftTopMM = -1 }},
		{"implant along the arch", func(_ *growth.Sinus, i *growth.Implant) { i.AtMM = nan }},
		{"implant off the mid-line", func(_ *growth.Sinus, i *growth.Implant) { i.OffMidlineMM = 1e7 }},
		{"residual bone", func(_ *growth.Sinus, i *growth.Implant) { i.ResidualMM = -0.1 }},
		{"implant length", func(_ *growth.Sinus, i *growth.Implant) { i.LengthMM = 0 }},
		{"implant diameter", func(_ *growth.Sinus, i *growth.Implant) { i.DiameterMM = 0 }},
	} {
		s, i := valid()
		c.spoil(&s, &i)
		if _, err := growth.New(s, i); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("New: error %v, want one about %q", err, c.want)
		}
	}
}
