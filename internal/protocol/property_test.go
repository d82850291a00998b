package protocol_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// anyCase draws a valid case of one sinus, anywhere in the calendar.
func anyCase(t *rapid.T) graft.Case {
	millimetres := func(name string, least, most int) float64 {
		return float64(rapid.IntRange(least, most).Draw(t, name)) / 10
	}
	c := good()
	c.Surgery.Day = day.New(2024, 1, 1).AddDays(rapid.IntRange(0, 4000).Draw(t, "day"))
	s := &c.Sinuses[0]
	s.Widths[0].MM = millimetres("width", 80, 220)
	s.Graft.HeightMM = 20
	s.Graft.Material = rapid.SampledFrom([]graft.Material{graft.Autogenous, graft.Allograft, graft.Xenograft, graft.Alloplast, graft.Mixture}).Draw(t, "material")
	i := &s.Implants[0]
	i.ResidualMM = millimetres("residual", 50, 90)
	i.LengthMM = millimetres("length", 80, 150)
	if rapid.Bool().Draw(t, "staged") {
		i.ResidualMM = millimetres("thin residual", 5, 50)
		later(&c)
	}
	return c
}

func TestGatesHoldAndWindowsAreOrdered(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := anyCase(rt)
		timeline, err := protocol.Plan(c, protocol.Default(), c.Surgery.Day)
		if err != nil {
			rt.Fatal(err)
		}
		got := placed(t, c, timeline)
		for _, m := range got {
			if w := m.Window; w.Earliest.Before(w.NotBefore) || w.Target.Before(w.Earliest) || w.Latest.Before(w.Target) {
				rt.Fatalf("%s: window out of order %+v", m.Title(), w)
			}
		}
		clock := day.HealingMonths(timeline.Implants[0].ToFull)
		gate, least := graft.Uncovering, 4
		if c.Sinuses[0].Implants[0].Placed == graft.Later {
			gate, least = graft.Placement, 6
			if c.Sinuses[0].Graft.Material == graft.Autogenous {
				least = 4
			}
		}
		at := got[graft.MilestoneIDOf(gate, "molar", "")].Placed
		if want := day.Max(c.Surgery.Day.Add(clock), c.Surgery.Day.AddMonths(least)); at != want {
			rt.Fatalf("%s on %s, want the later of clock and floor, %s", gate, at, want)
		}
	})
}

// TestShiftingTheSurgeryShiftsWhatCountsInDays leaves out what counts in months,
// which clamp at month ends and have their own table in package day.
func TestShiftingTheSurgeryShiftsWhatCountsInDays(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := anyCase(rt)
		n := rapid.IntRange(-900, 900).Draw(rt, "days")
		moved := c
		moved.Surgery.Day = c.Surgery.Day.AddDays(n)
		a, b := placed(t, c, plan(t, c)), placed(t, moved, plan(t, moved))
		for _, step := range []graft.Step{graft.PhoneCall, graft.WoundCheck, graft.LateCheck, graft.HealingReview} {
			id := graft.MilestoneIDOf(step, "", "")
			if got := b[id].Placed.Sub(a[id].Placed); got != n {
				rt.Fatalf("%s moved by %d days, the surgery by %d", step, got, n)
			}
		}
	})
}

func TestAWorseMaterialIsNeverSoonerThanOwnBone(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := anyCase(rt)
		later(&c)
		gate := func(m graft.Material) day.Day {
			c.Sinuses[0].Graft.Material = m
			return placed(t, c, plan(t, c))[graft.MilestoneIDOf(graft.Placement, "molar", "")].Placed
		}
		best := gate(graft.Autogenous)
		for _, m := range []graft.Material{graft.Allograft, graft.Xenograft, graft.Alloplast, graft.Mixture, graft.NoMaterial} {
			if gate(m).Before(best) {
				rt.Fatalf("%s sooner than own bone", m)
			}
		}
	})
}

func TestAnAdditiveNeverDelaysAndFlagsNeverMoveADate(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := anyCase(rt)
		base := placed(t, c, plan(t, c))
		for _, a := range []graft.Additive{graft.PlateletRichFibrin, graft.RhPDGF, graft.RhBMP2} {
			with := c
			with.Sinuses = []graft.Sinus{c.Sinuses[0]}
			with.Sinuses[0].Graft.Additive = a
			for id, m := range placed(t, with, plan(t, with)) {
				if m.Step != graft.ImagingDecision && m.Placed.After(base[id].Placed) {
					rt.Fatalf("%s delays %s from %s to %s", a, id, base[id].Placed, m.Placed)
				}
			}
		}
		flagged := c
		flagged.Patient.Flags = graft.Flags
		for id, m := range placed(t, flagged, plan(t, flagged)) {
			if m.Placed != base[id].Placed {
				rt.Fatalf("flags move %s", id)
			}
		}
	})
}

// TestTheSidesAreAlike mirrors the patient: tooth numbers and names change,
// months and days do not.
func TestTheSidesAreAlike(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		right := anyCase(rt)
		left := right
		left.Sinuses = []graft.Sinus{right.Sinuses[0]}
		left.Sinuses[0].Side = graft.Left
		left.Sinuses[0].Implants = []graft.Implant{right.Sinuses[0].Implants[0]}
		left.Sinuses[0].Implants[0].Tooth = 26
		a, b := plan(t, right), plan(t, left)
		if a.Implants[0].ToFull != b.Implants[0].ToFull || a.Implants[0].BandHigh != b.Implants[0].BandHigh {
			rt.Fatalf("right %+v, left %+v", a.Implants[0], b.Implants[0])
		}
		x, y := placed(t, right, a), placed(t, left, b)
		for id, m := range x {
			if y[id].Placed != m.Placed {
				rt.Fatalf("%s: right %s, left %s", id, m.Placed, y[id].Placed)
			}
		}
	})
}

func TestEveryReasonLeadsToARuleWithSources(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := anyCase(rt)
		for _, m := range placed(t, c, plan(t, c)) {
			if !sourced(m.Reasons) {
				rt.Fatalf("%s has no reason with a source: %+v", m.Title(), m.Reasons)
			}
			if len(m.Reasons) == 0 || !strings.Contains(m.Reasons[0].Formula, m.Window.NotBefore.String()) && len(m.Waits) == 1 {
				rt.Fatalf("%s: the sum does not show %s", m.Title(), m.Window.NotBefore)
			}
		}
	})
}

func sourced(reasons []graft.Reason) bool {
	for _, r := range reasons {
		if len(r.Cites) > 0 || sourced(r.Because) {
			return true
		}
	}
	return false
}
