package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"graftclock/internal/drawing"
	"graftclock/internal/protocol"
)

// TestCurves draws every curve once and holds the drawing's text to growth.
func TestCurves(t *testing.T) {
	everySite(t, func(t tester, name string, s protocol.Site) {
		p := readSVG(t, curve(s, "d"))
		theCurveIsWhatIsHeld(t, name, s, p)
		theCurveLeavesNothingOut(t, name, s, p)
		marksGateAndBandAreThoseOfTheClock(t, name, s, p)
		p.tidy(t, name)
	})
}

// theCurveIsWhatIsHeld asks growth for the share at every point of the curve. A
// point may be off by its printed decimals, in months as well as in share.
func theCurveIsWhatIsHeld(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	f, held := curveFrame(s), p.path(t, "held")
	inMonths, inShare := printedMM/f.perX, printedMM/f.perY
	for _, at := range held.points {
		months, share := f.from(at)
		if low, high := s.Held(months-inMonths), s.Held(months+inMonths); share < low-inShare || share > high+inShare {
			t.Errorf("%s: %v drawn at %v months, want %v", name, share, months, s.Held(months))
		}
	}
	if first, _ := f.from(held.points[0]); math.Abs(first) > inMonths {
		t.Errorf("%s: the curve begins at %v months", name, first)
	}
	if last, _ := f.from(held.points[len(held.points)-1]); last < s.GateMonths+1-inMonths {
		t.Errorf("%s: the curve ends at %v months, the gate is at %v", name, last, s.GateMonths)
	}
}

// theCurveLeavesNothingOut wants no straight piece to pass by what is held between
// its ends by more than it may rise itself.
func theCurveLeavesNothingOut(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	f, held := curveFrame(s), p.path(t, "held")
	for k := 1; k < len(held.points); k++ {
		from, low := f.from(held.points[k-1])
		to, high := f.from(held.points[k])
		if to-from <= 2*leapMonths {
			continue // where it leaps, or is as steep
		}
		if got := s.Held((from + to) / 2); math.Abs(got-(low+high)/2) > 1.01*steepShare {
			t.Errorf("%s: %v held at %v months, drawn between %v and %v", name, got, (from+to)/2, low, high)
		}
	}
}

func marksGateAndBandAreThoseOfTheClock(t tester, name string, s protocol.Site, p picture) {
	t.Helper()
	f, c := curveFrame(s), s.Clock
	for mark, want := range map[string]struct{ months, share float64 }{"t50": {c.T50, 0.5}, "t90": {c.T90, 0.9}, "t100": {c.ToFull, 1}} {
		months, share := f.from(centre(p.path(t, mark).points))
		near(t, name+": "+mark, months, want.months, f.perX)
		near(t, name+": share at "+mark, share, max(want.share, s.Held(0)), f.perY)
		if text := fmt.Sprintf("%s %.2f", mark, want.months); !said(p, text) {
			t.Errorf("%s: %q is not written", name, text)
		}
	}
	gate, _ := f.from(p.path(t, "gate").points[0])
	near(t, name+": gate", gate, s.GateMonths, f.perX)
	_, asked := f.from(p.path(t, "asked").points[0])
	near(t, name+": asked", asked, s.Share, f.perY)
	if c.BandLow != c.BandHigh {
		band := p.path(t, "band").points
		low, _ := f.from(band[0])
		high, _ := f.from(band[1])
		near(t, name+": band from", low, c.BandLow, f.perX)
		near(t, name+": band to", high, c.BandHigh, f.perX)
	}
}

// said reports whether a label holds a text.
func said(p picture, text string) bool {
	for _, l := range p.labels {
		if strings.Contains(l.Text, text) {
			return true
		}
	}
	return false
}

// centre is the middle of a ring: between a corner and the one across.
func centre(ring []drawing.Point) drawing.Point {
	a, b := ring[0], ring[len(ring)/2]
	return drawing.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
}

func TestTheBandsAreThoseOfTheClock(t *testing.T) {
	check := func(t tester, name string, sites []protocol.Site) {
		f, p := bandFrame(sites), readSVG(t, bandBar(sites, "d"))
		for n, s := range sites {
			bar := p.path(t, fmt.Sprintf("band-%d", s.Clock.Tooth)).points
			low, row := f.from(bar[0])
			high, _ := f.from(bar[1])
			near(t, name+": band from", low, s.Clock.BandLow, f.perX)
			near(t, name+": band to", high, s.Clock.BandHigh, f.perX)
			full, _ := f.from(p.path(t, fmt.Sprintf("full-%d", s.Clock.Tooth)).points[0])
			near(t, name+": answer", full, s.Clock.ToFull, f.perX)
			if got := len(sites) - int(math.Ceil(row)); got != n {
				t.Errorf("%s: implant %d stands in row %d, want %d", name, s.Clock.Tooth, got, n)
			}
		}
		p.tidy(t, name)
	}
	for _, sample := range samples(t) {
		if len(sample.sites) > 0 {
			check(t, sample.name, sample.sites)
		}
	}
	everySite(t, func(t tester, name string, s protocol.Site) { check(t, name, []protocol.Site{s}) })
}
