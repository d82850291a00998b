package growth_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/growth"
)

// Two searches may each miss the true distance by a millionth, and a share is
// good to a thousandth.
const (
	slackMM    = 3e-6
	slackShare = 1e-3
)

func drawSinus(t *rapid.T) growth.Sinus {
	mm := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	var s growth.Sinus
	heights := rapid.SliceOfNDistinct(rapid.IntRange(0, 15), 1, 3, rapid.ID[int]).Draw(t, "heights")
	for _, h := range heights {
		s.Levels = append(s.Levels, growth.Level{WidthMM: mm("width", 3, 20), AboveFloorMM: float64(h)})
	}
	if rapid.Bool().Draw(t, "window") {
		from := mm("from", -10, 5)
		s.Window = &growth.Window{FromMM: from, ToMM: from + mm("length", 1, 15), LowerEdgeMM: mm("edge", 0, 6), HeightMM: mm("height", 1, 10)}
	}
	for range rapid.IntRange(0, 2).Draw(t, "septa") {
		s.Septa = append(s.Septa, growth.Septum{AtMM: mm("septum", -10, 10), HeightMM: mm("tall", 0.5, 10)})
	}
	if rapid.Bool().Draw(t, "front") {
		at := mm("front wall", -12, 0)
		s.FrontWallAtMM = &at
	}
	if rapid.Bool().Draw(t, "topped") {
		s.GraftTopMM = mm("graft top", 4, 15)
	}
	return s
}

func drawImplant(t *rapid.T) growth.Implant {
	mm := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	return growth.Implant{
		AtMM: mm("at", -3, 3), OffMidlineMM: mm("off", -4, 4), ResidualMM: mm("residual", 0, 6),
		LengthMM: mm("implant length", 6, 14), DiameterMM: mm("diameter", 3, 6),
	}
}

// later checks that a change never lets bone arrive sooner or hold more.
func later(t *rapid.T, desc string, before, after *growth.Clock) {
	if a, b := before.Last().DistanceMM, after.Last().DistanceMM; b < a-slackMM {
		t.Errorf("%s: %v mm before, %v mm after: sooner", desc, a, b)
	}
	full := before.Last().DistanceMM
	for _, part := range []float64{0.1, 0.3, 0.5, 0.7, 0.9} {
		if a, b := before.Held(part*full, 1), after.Held(part*full, 1); b > a+2*slackShare {
			t.Errorf("%s: at %v mm, %v held before, %v after: more", desc, part*full, a, b)
		}
	}
}

func TestLessBoneIsNeverSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, i := drawSinus(t), drawImplant(t)
		base := newClockIn(t, s, i)

		wider := s
		wider.Levels = slices.Clone(s.Levels)
		for k := range wider.Levels {
			wider.Levels[k].WidthMM += rapid.Float64Range(0, 3).Draw(t, "more width")
		}
		later(t, "wider", base, newClockIn(t, wider, i))

		shorter := i
		shorter.ResidualMM = rapid.Float64Range(0, i.ResidualMM).Draw(t, "less residual bone")
		later(t, "less residual bone", base, newClockIn(t, s, shorter))

		topped := s
		topped.GraftTopMM = rapid.Float64Range(1, 4).Draw(t, "lower top")
		later(t, "lower graft top", base, newClockIn(t, topped, i))

		longer := i
		longer.LengthMM += rapid.Float64Range(0, 3).Draw(t, "longer")
		if a, b := base.Last().DistanceMM, newClockIn(t, s, longer).Last().DistanceMM; b < a-slackMM {
			t.Errorf("longer implant: %v mm before, %v mm after: sooner", a, b)
		}
	})
}

func TestLargerOpeningIsNeverSoonerAndASeptumNeverLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, i := drawSinus(t), drawImplant(t)
		base := newClockIn(t, s, i)

		septum := s
		septum.Septa = append(slices.Clone(s.Septa), growth.Septum{AtMM: rapid.Float64Range(-8, 8).Draw(t, "new septum"), HeightMM: 4})
		later(t, "without the septum", newClockIn(t, septum, i), base)

		if s.Window == nil {
			return
		}
		lid, larger := s, s
		lid.Window = nil
		later(t, "without the lid", newClockIn(t, lid, i), base)
		w := *s.Window
		grow := rapid.Float64Range(0, 2)
		down := min(w.LowerEdgeMM, grow.Draw(t, "down"))
		larger.Window = &growth.Window{
			FromMM: w.FromMM - grow.Draw(t, "mesially"), ToMM: w.ToMM + grow.Draw(t, "distally"),
			LowerEdgeMM: w.LowerEdgeMM - down, HeightMM: w.HeightMM + down + grow.Draw(t, "up"),
		}
		later(t, "larger window", base, newClockIn(t, larger, i))
	})
}

func TestNoPointIsFartherThanLast(t *testing.T) {
	const points = 2000
	rapid.Check(t, func(t *rapid.T) {
		s, i := drawSinus(t), drawImplant(t)
		c := newClockIn(t, s, i)
		last := c.Last()
		if got := c.DistanceMM(last.OffMidlineMM, last.AtMM, last.AboveFloorMM); math.Abs(got-last.DistanceMM) > 1e-9 {
			t.Errorf("Last is %+v, but its point is %v mm from bone", last, got)
		}
		distances := surfaceDistances(c, i, points)
		if most := distances[points-1]; most > last.DistanceMM+slackMM {
			t.Errorf("Last %v mm, but a point is %v mm from bone", last.DistanceMM, most)
		}
		// A point stands for a piece of surface, so the share of the points may
		// be off by the pieces along the front of the bone.
		for part := range 10 {
			x := last.DistanceMM * float64(part) / 10
			if got, want := c.Held(x, 1), sampledShare(distances, i, x); math.Abs(got-want) > 0.01 {
				t.Errorf("%v held at %v mm, samples say %v", got, x, want)
			}
		}
	})
}

func TestShareRisesFromResidualBoneToOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, i := drawSinus(t), drawImplant(t)
		rate := rapid.Float64Range(0.3, 3).Draw(t, "rate")
		c := newClockIn(t, s, i)
		full := c.MonthsTo(1, rate)
		if got, least := c.Held(0, rate), min(1, i.ResidualMM/i.LengthMM); got < least-1e-12 {
			t.Errorf("held at 0 months: %v, less than the %v in residual bone", got, least)
		}
		before := 0.0
		for k := range 51 {
			got := c.Held(full*float64(k)/50, rate)
			if got < before || got > 1 {
				t.Errorf("held at step %d: %v after %v", k, got, before)
			}
			before = got
		}
		if got := c.Held(full*(1+1e-12), rate); got != 1 {
			t.Errorf("held in the end: %v, want 1", got)
		}
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		at := c.MonthsTo(share, rate)
		if got := c.Held(at*(1+1e-12), rate); got < share-1e-9 {
			t.Errorf("MonthsTo(%v) = %v, but %v is held then", share, at, got)
		}
		if got := c.Held(at*(1-1e-6)-1e-9, rate); at > 0 && got > share+1e-9 {
			t.Errorf("MonthsTo(%v) = %v, but %v is held just before", share, at, got)
		}
	})
}

func TestOnlyShapeMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, i := drawSinus(t), drawImplant(t)
		a := newClockIn(t, s, i).Last()

		shuffled := s
		shuffled.Levels, shuffled.Septa = slices.Clone(s.Levels), slices.Clone(s.Septa)
		slices.Reverse(shuffled.Levels)
		slices.Reverse(shuffled.Septa)
		if got := newClockIn(t, shuffled, i).Last(); got != a {
			t.Errorf("in another order: %+v, want %+v", got, a)
		}

		k, move := rapid.Float64Range(0.2, 5).Draw(t, "scale"), rapid.Float64Range(-50, 50).Draw(t, "move")
		for _, c := range []struct {
			desc                   string
			size, along, move, way float64
		}{{"scaled", k, k, 0, k}, {"moved", 1, 1, move, 1}, {"mirrored along the arch", 1, -1, 0, 1}} {
			moved, im := transformed(s, i, c.size, c.along, c.move)
			if c.along < 0 && s.FrontWallAtMM != nil {
				continue // only the front is walled
			}
			clock := newClockIn(t, moved, im)
			got := clock.Last()
			if math.Abs(got.DistanceMM-c.way*a.DistanceMM) > slackMM*(1+c.way) {
				t.Errorf("%s: %v mm, want %v mm", c.desc, got.DistanceMM, c.way*a.DistanceMM)
			}
			at := clock.DistanceMM(a.OffMidlineMM*c.size, a.AtMM*c.along+c.move, a.AboveFloorMM*c.size)
			if math.Abs(at-got.DistanceMM) > slackMM*(1+c.way) {
				t.Errorf("%s: the same point is %v mm from bone, the last %v mm", c.desc, at, got.DistanceMM)
			}
		}
	})
}

// transformed scales all lengths by size, but places along the arch by along,
// and then moves the latter.
func transformed(s growth.Sinus, i growth.Implant, size, along, move float64) (growth.Sinus, growth.Implant) {
	out := growth.Sinus{GraftTopMM: s.GraftTopMM * size}
	for _, l := range s.Levels {
		out.Levels = append(out.Levels, growth.Level{WidthMM: l.WidthMM * size, AboveFloorMM: l.AboveFloorMM * size})
	}
	if w := s.Window; w != nil {
		one, other := w.FromMM*along+move, w.ToMM*along+move
		out.Window = &growth.Window{FromMM: min(one, other), ToMM: max(one, other), LowerEdgeMM: w.LowerEdgeMM * size, HeightMM: w.HeightMM * size}
	}
	for _, p := range s.Septa {
		out.Septa = append(out.Septa, growth.Septum{AtMM: p.AtMM*along + move, HeightMM: p.HeightMM * size})
	}
	if s.FrontWallAtMM != nil {
		at := *s.FrontWallAtMM*along + move
		out.FrontWallAtMM = &at
	}
	return out, growth.Implant{
		AtMM: i.AtMM*along + move, OffMidlineMM: i.OffMidlineMM * size, ResidualMM: i.ResidualMM * size,
		LengthMM: i.LengthMM * size, DiameterMM: i.DiameterMM * size,
	}
}

func TestExtremesGiveNumbers(t *testing.T) {
	length := rapid.Custom(func(t *rapid.T) float64 {
		return math.Pow(10, rapid.Float64Range(-9, 6).Draw(t, "power"))
	})
	rapid.Check(t, func(t *rapid.T) {
		place := rapid.Custom(func(t *rapid.T) float64 {
			return rapid.SampledFrom([]float64{-1, 0, 1}).Draw(t, "sign") * length.Draw(t, "away")
		})
		from := place.Draw(t, "from")
		s := growth.Sinus{
			Levels:     []growth.Level{{WidthMM: length.Draw(t, "w")}, {WidthMM: length.Draw(t, "w"), AboveFloorMM: length.Draw(t, "z")}},
			Window:     &growth.Window{FromMM: from, ToMM: min(1e6, from+0.01+length.Draw(t, "l")), LowerEdgeMM: length.Draw(t, "e"), HeightMM: length.Draw(t, "h")},
			Septa:      []growth.Septum{{AtMM: place.Draw(t, "s"), HeightMM: length.Draw(t, "sh")}},
			GraftTopMM: length.Draw(t, "top"),
		}
		i := growth.Implant{
			AtMM: place.Draw(t, "at"), OffMidlineMM: place.Draw(t, "off"), ResidualMM: length.Draw(t, "r"),
			LengthMM: length.Draw(t, "L"), DiameterMM: length.Draw(t, "D"),
		}
		c, err := growth.New(s, i)
		if err != nil {
			return
		}
		last := c.Last().DistanceMM
		for _, got := range []float64{last, c.Months(1), c.MonthsTo(0.5, 1), c.Held(last/2, 1), c.WidthMM(1)} {
			if math.IsNaN(got) || math.IsInf(got, 0) || got < 0 {
				t.Fatalf("%+v in %+v: got %v", i, s, got)
			}
		}
	})
}

func newClockIn(t *rapid.T, s growth.Sinus, i growth.Implant) *growth.Clock {
	c, err := growth.New(s, i)
	if err != nil {
		t.Fatalf("New(%+v, %+v): %v", s, i, err)
	}
	return c
}
