package protocol_test

import (
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

func ptr[T any](v T) *T { return &v }

func on(text string) day.Day {
	d, err := day.Parse(text)
	if err != nil {
		panic(err)
	}
	return d
}

// good is a valid case without any finding; tests spoil one thing of it.
func good(spoil ...func(*graft.Case)) graft.Case {
	c := graft.Case{
		ID:      "T-1",
		Patient: graft.Patient{Name: "Invented", Language: "en"},
		Surgery: graft.Surgery{Day: on("2027-01-14"), Surgeon: "Invented"},
		Sinuses: []graft.Sinus{{
			Side: graft.Right, Health: graft.Clear, Approach: graft.LateralWindow, Outcome: graft.Completed,
			Widths: []graft.Width{{MM: 14, AboveFloorMM: ptr(9.0)}},
			Window: &graft.AccessWindow{FromMM: 0, ToMM: 10, LowerEdgeMM: 3, HeightMM: 8},
			Graft:  graft.Graft{Material: graft.Xenograft, Additive: graft.NoAdditive, HeightMM: 14},
			Implants: []graft.Implant{{
				Tooth: 16, AtMM: ptr(5.0), MidlineRecorded: true, ResidualMM: 4, LengthMM: 10, DiameterMM: 4.1,
				Placed: graft.WithTheGraft, Torque: ptr(30.0), Closure: graft.Submerged, Protected: true, Restoration: "molar",
			}},
		}},
	}
	for _, s := range spoil {
		s(&c)
	}
	return c
}

func sinus(change func(*graft.Sinus)) func(*graft.Case) {
	return func(c *graft.Case) { change(&c.Sinuses[0]) }
}

func implant(change func(*graft.Implant)) func(*graft.Case) {
	return func(c *graft.Case) { change(&c.Sinuses[0].Implants[0]) }
}

func later(c *graft.Case) {
	i := &c.Sinuses[0].Implants[0]
	i.Placed, i.Torque = graft.Later, nil
}

func observed(o graft.Observation) func(*graft.Case) {
	return func(c *graft.Case) {
		o.AtIndex = len(c.Observations)
		c.Observations = append(c.Observations, o)
	}
}

// plan plans a case on its day of surgery with the default rules.
func plan(t testing.TB, c graft.Case) graft.Timeline {
	t.Helper()
	return planWith(t, c, protocol.Default(), c.Surgery.Day)
}

func planWith(t testing.TB, c graft.Case, rules *protocol.Rules, on day.Day) graft.Timeline {
	t.Helper()
	timeline, err := protocol.Plan(c, rules, on)
	if err != nil {
		t.Fatal(err)
	}
	return timeline
}

// placed gives the milestones the days of the rules alone.
func placed(t testing.TB, c graft.Case, timeline graft.Timeline) map[graft.MilestoneID]graft.Milestone {
	t.Helper()
	byID := map[graft.MilestoneID]graft.Milestone{}
	for _, m := range diary.Undisturbed(timeline.Milestones, c.Surgery.Day) {
		byID[m.ID] = m
	}
	return byID
}

// dayOf returns the day of a step of the one restoration.
func dayOf(milestones map[graft.MilestoneID]graft.Milestone, step graft.Step, which string) string {
	return milestones[graft.MilestoneIDOf(step, "molar", which)].Placed.String()
}

// fired returns the rules of a timeline's findings.
func fired(timeline graft.Timeline) map[graft.RuleID]graft.Severity {
	rules := map[graft.RuleID]graft.Severity{}
	for _, f := range timeline.Findings {
		rules[f.Rule] = f.Severity
	}
	return rules
}
