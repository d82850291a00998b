package protocol_test

import (
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/reference"
)

// noiseMonths is what rounding may let pass: the clock's months are rounded up at the
// second decimal, but not for a ten-thousandth of that decimal, once before the
// additive and once after it.
const noiseMonths = 4e-6

func sites(t interface {
	Helper()
	Fatal(...any)
}, c graft.Case) []protocol.Site {
	t.Helper()
	sites, err := protocol.Sites(c, protocol.Default())
	if err != nil {
		t.Fatal(err)
	}
	return sites
}

// demoCases are the cases that come with the program.
func demoCases(t *testing.T) []graft.Case {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(reference.Root(), "testdata/demo/*.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	var cases []graft.Case
	for _, file := range files {
		if filepath.Base(file) == "clinic.yaml" {
			continue
		}
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		c, faults := casefile.ReadCase(file, text)
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		cases = append(cases, c.Case)
	}
	return cases
}

func TestSitesAgreeWithThePlanOfEveryDemoCase(t *testing.T) {
	seen, aborted := 0, 0
	for _, c := range demoCases(t) {
		timeline, all := plan(t, c), sites(t, c)
		if len(all) != len(timeline.Implants) {
			t.Fatalf("%s: %d sites, %d implants with a clock", c.ID, len(all), len(timeline.Implants))
		}
		for n, s := range all {
			if !reflect.DeepEqual(s.Clock, timeline.Implants[n]) {
				t.Errorf("%s: implant %d has another clock than the plan", c.ID, s.Implant.Tooth)
			}
			if s.Clock.Reason.Inputs[1].Path != s.Path {
				t.Errorf("%s: implant %d: path %s, want %s", c.ID, s.Implant.Tooth, s.Path, s.Clock.Reason.Inputs[1].Path)
			}
			seen++
		}
		for _, s := range c.Sinuses {
			if s.Outcome == graft.Aborted {
				aborted++
			}
		}
	}
	if seen == 0 || aborted == 0 {
		t.Errorf("%d sites and %d aborted lifts in the demo cases: nothing was compared", seen, aborted)
	}
}

// TestTheGateOfASiteIsThatOfThePlan compares with the waits of the milestone, of
// which each says its months or the days made of them.
func TestTheGateOfASiteIsThatOfThePlan(t *testing.T) {
	autogenous := sinus(func(s *graft.Sinus) { s.Graft.Material = graft.Autogenous })
	narrow := sinus(func(s *graft.Sinus) { s.Widths[0].MM = 5 })
	gum := implant(func(i *graft.Implant) { i.Closure, i.ResidualMM = graft.ThroughTheGum, 6 })
	for name, spoil := range map[string][]func(*graft.Case){
		"simultaneous": {}, "through the gum": {gum}, "staged": {later}, "staged, own bone": {later, autogenous},
		"simultaneous, narrow": {narrow}, "staged, narrow": {later, narrow}, "staged, own bone, narrow": {later, autogenous, narrow},
	} {
		c := good(spoil...)
		site := sites(t, c)[0]
		m, there := plan(t, c).Find(graft.MilestoneIDOf(site.GateStep, "molar", ""))
		if !there {
			t.Fatalf("%s: the plan has no %s", name, site.GateStep)
		}
		latest := day.Period{}
		for _, w := range m.Waits {
			if inDays(w.NotBefore) > inDays(latest) {
				latest = w.NotBefore
			}
		}
		// A gate made of healing months is rounded up to whole days.
		if got := site.GateMonths * day.DaysPerMonth; got > inDays(latest)+1e-6 || got < inDays(latest)-1 {
			t.Errorf("%s: %s not before %.2f months, want %v", name, site.GateStep, site.GateMonths, latest)
		}
	}
}

func inDays(p day.Period) float64 { return float64(p.Months)*day.DaysPerMonth + float64(p.Days) }

func TestASiteTellsWhatTheClockUsed(t *testing.T) {
	s := sites(t, good(sinus(func(s *graft.Sinus) { s.Window = nil })))[0]
	if !s.WindowAssumed || s.Housing.Window == nil {
		t.Errorf("a window that was not measured is assumed: %v, %v", s.WindowAssumed, s.Housing.Window)
	}
	s = sites(t, good(sinus(func(s *graft.Sinus) { s.Window.LidIsRepositioned = true })))[0]
	if s.WindowAssumed || s.Housing.Window != nil {
		t.Errorf("a lid put back is wall: %v, %v", s.WindowAssumed, s.Housing.Window)
	}
	if s.Post.AtMM != 5 || s.Post.LengthMM != 10 || s.Housing.GraftTopMM != 14 || s.RateMMPerMonth != 1 || s.Share != 1 {
		t.Errorf("the site tells other facts than the record: %+v", s)
	}
}

// drawCase is a case of one implant with a random site.
func drawCase(t *rapid.T, additive graft.Additive) graft.Case {
	mm := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	return good(sinus(func(s *graft.Sinus) {
		s.Graft.Additive = additive
		s.Widths = []graft.Width{{MM: mm("width", 4, 24), AboveFloorMM: ptr(mm("level", 0, 12))}}
		s.Window.LidIsRepositioned = rapid.Bool().Draw(t, "lid")
	}), implant(func(i *graft.Implant) {
		i.ResidualMM, i.LengthMM, i.DiameterMM = mm("residual", 0, 10), mm("length", 6, 14), mm("diameter", 3, 6)
		i.OffMidlineMM = mm("off", -2, 2)
	}))
}

func TestBoneGrowsAndHoldsMonotonically(t *testing.T) {
	for _, additive := range []graft.Additive{graft.NoAdditive, graft.RhPDGF} {
		t.Run(string(additive), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				s := sites(t, drawCase(t, additive))[0]
				a := rapid.Float64Range(-1, 20).Draw(t, "months")
				b := a + rapid.Float64Range(0, 8).Draw(t, "more")
				if s.GrownMM(a) < 0 || s.GrownMM(a) > s.GrownMM(b) {
					t.Errorf("grown %v mm at %v months, %v mm at %v", s.GrownMM(a), a, s.GrownMM(b), b)
				}
				if s.Held(a) > s.Held(b) {
					t.Errorf("held %v at %v months, %v at %v", s.Held(a), a, s.Held(b), b)
				}
				if plain := s.GrownMM(b) / s.RateMMPerMonth; s.Months(plain) > max(0, b)+noiseMonths {
					t.Errorf("%v mm grown at %v months take %v", s.GrownMM(b), b, s.Months(plain))
				}
				if plain := s.GrownMM(b)/s.RateMMPerMonth + 0.01; b >= 0 && s.Months(plain) <= b {
					t.Errorf("more than %v mm grown at %v months take %v too", s.GrownMM(b), b, s.Months(plain))
				}
			})
		})
	}
}

func TestAllIsHeldAtTheClocksMonths(t *testing.T) {
	for _, additive := range []graft.Additive{graft.NoAdditive, graft.RhPDGF} {
		t.Run(string(additive), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				s := sites(t, drawCase(t, additive))[0]
				if got := s.Held(s.Clock.ToFull); got != 1 {
					t.Errorf("held %v after %v months, want 1", got, s.Clock.ToFull)
				}
				if s.Clock.ToFull == 0 {
					return
				}
				if got := s.Held(s.Clock.ToShare); got < s.Share {
					t.Errorf("held %v after %v months, want %v", got, s.Clock.ToShare, s.Share)
				}
				for _, part := range []struct{ share, months float64 }{{0.5, s.Clock.T50}, {0.9, s.Clock.T90}} {
					if got := s.Held(part.months + noiseMonths); got < part.share {
						t.Errorf("held %v after %v months, want %v", got, part.months, part.share)
					}
					if got := s.Held(part.months - noiseMonths); part.months > noiseMonths && got >= part.share {
						t.Errorf("held %v before %v months, want less than %v", got, part.months, part.share)
					}
				}
			})
		})
	}
}

// TestNotAllIsHeldBeforeTheClocksMonths looks where the floor alone counts and the
// whole rim of the apex is reached at once. Elsewhere the last thousandth of an
// implant may be held before its last point is: the share is good to a thousandth.
func TestNotAllIsHeldBeforeTheClocksMonths(t *testing.T) {
	for _, additive := range []graft.Additive{graft.NoAdditive, graft.PlateletRichFibrin, graft.RhPDGF} {
		s := sites(t, good(sinus(func(s *graft.Sinus) { s.Graft.Additive, s.Widths[0].MM = additive, 40 })))[0]
		if before, at := s.Held(s.Clock.ToFull-noiseMonths), s.Held(s.Clock.ToFull); before >= 1 || at != 1 {
			t.Errorf("%s: held %v before %v months and %v at them", additive, before, s.Clock.ToFull, at)
		}
	}
}

// TestAnAdditiveThatSavesNothingAtFirstLeaps works the rule's own numbers: halved, at
// most 4 months saved, never below 4 months.
func TestAnAdditiveThatSavesNothingAtFirstLeaps(t *testing.T) {
	s := sites(t, good(sinus(func(s *graft.Sinus) { s.Graft.Additive = graft.RhPDGF })))[0]
	for months, grown := range map[float64]float64{0: 0, 1: 1, 3.9: 3.9, 4: 8, 5: 9, 10: 14} {
		if got := s.GrownMM(months); math.Abs(got-grown) > 1e-12 {
			t.Errorf("%v mm grown after %v months, want %v", got, months, grown)
		}
	}
	if s.SavesFrom != 4 {
		t.Errorf("saves from month %v, want 4", s.SavesFrom)
	}
	if s = sites(t, good())[0]; s.SavesFrom != 0 {
		t.Errorf("without an additive nothing leaps: %v", s.SavesFrom)
	}
}

func TestSitesTellAFaultOfTheGeometry(t *testing.T) {
	c := good(implant(func(i *graft.Implant) { i.DiameterMM = 0 }))
	if _, err := protocol.Sites(c, protocol.Default()); err == nil || !strings.Contains(err.Error(), "implant 16") {
		t.Errorf("an implant without a diameter: %v", err)
	}
}
