package protocol_test

import (
	"testing"

	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// before is a day of planning with the surgery still ahead.
func before(c *graft.Case) { c.Surgery.Day = on("2027-03-02") }

// findingCases spoil one thing of a case without findings; each names the rule
// that must speak. A rule that yields findings and is missing here fails the
// test below it.
var findingCases = []struct {
	name  string
	desc  string
	spoil []func(*graft.Case)
	rule  graft.RuleID
	want  graft.Severity
}{
	{"smoker", "flags speak to the surgeon", []func(*graft.Case){flag(graft.Smoker)}, "flag-smoker", graft.Warn},
	{"controlled diabetes", "", []func(*graft.Case){flag(graft.ControlledDiabetes)}, "flag-controlled-diabetes", graft.Note},
	{"uncontrolled diabetes", "", []func(*graft.Case){flag(graft.UncontrolledDiabetes)}, "flag-uncontrolled-diabetes", graft.Warn},
	{"antiresorptive drug", "", []func(*graft.Case){flag(graft.AntiresorptiveDrug)}, "flag-antiresorptive-drug", graft.Warn},
	{"radiotherapy", "", []func(*graft.Case){flag(graft.Radiotherapy)}, "flag-head-and-neck-radiotherapy", graft.Warn},
	{"mask", "", []func(*graft.Case){flag(graft.PositivePressureMask)}, "flag-positive-pressure-mask", graft.Warn},
	{"anticoagulant", "", []func(*graft.Case){flag(graft.Anticoagulant)}, "flag-anticoagulant", graft.Warn},
	{"sinus not clear, surgery done", "a loud warning once it is past", []func(*graft.Case){sinus(func(s *graft.Sinus) { s.Health = graft.NotClear })}, "sinus-health-past", graft.Warn},
	{"sinus not assessed, surgery ahead", "no date while the surgery lies ahead", []func(*graft.Case){before, sinus(func(s *graft.Sinus) { s.Health = graft.NotAssessed })}, "sinus-health", graft.Stop},
	{"torque 14 at 4 mm", "one newton-centimetre short, below 5 mm", []func(*graft.Case){implant(func(i *graft.Implant) { i.Torque = ptr(14.0) })}, "simultaneous-residual-bone", graft.Stop},
	{"through the gum at 4.9 mm", "just below 5 mm", []func(*graft.Case){implant(func(i *graft.Implant) { i.ResidualMM, i.Closure = 4.9, graft.ThroughTheGum })}, "simultaneous-residual-bone", graft.Stop},
	{"not protected at 5 mm", "at 5 mm a warning is enough", []func(*graft.Case){implant(func(i *graft.Implant) { i.ResidualMM, i.Protected = 5, false })}, "simultaneous-conditions-unmet", graft.Warn},
	{"torque not measured, surgery done", "missing is not met", []func(*graft.Case){implant(func(i *graft.Implant) { i.Torque = nil })}, "simultaneous-residual-bone", graft.Stop},
	{"torque not measured, surgery ahead", "it cannot be known yet", []func(*graft.Case){before, implant(func(i *graft.Implant) { i.Torque = nil })}, "torque-not-yet", graft.Warn},
	{"window not measured", "the assumed window is named", []func(*graft.Case){sinus(func(s *graft.Sinus) { s.Window = nil })}, "window-size", graft.Warn},
	{"mid-line not recorded", "", []func(*graft.Case){implant(func(i *graft.Implant) { i.MidlineRecorded = false })}, "axis-on-midline", graft.Note},
	{"wide sinus", "past 9 months there is no histology", []func(*graft.Case){sinus(func(s *graft.Sinus) { s.Widths[0].MM, s.Graft.HeightMM = 24, 20 }), implant(func(i *graft.Implant) { i.ResidualMM, i.LengthMM = 2, 13 })}, "clock-horizon", graft.Warn},
	{"graft height not recorded", "", []func(*graft.Case){sinus(func(s *graft.Sinus) { s.Graft.HeightMM = 0 })}, "graft-height-unknown", graft.Warn},
	{"tip above the graft", "", []func(*graft.Case){sinus(func(s *graft.Sinus) { s.Graft.HeightMM = 5.5 })}, "graft-cover", graft.Stop},
	{"tip above the shrunk graft", "7 x 0.82 = 5.74 mm, the tip stands at 6", []func(*graft.Case){sinus(func(s *graft.Sinus) { s.Graft.HeightMM = 7 })}, "graft-shrinkage", graft.Warn},
	{"platelet-rich fibrin", "", []func(*graft.Case){additive(graft.PlateletRichFibrin)}, "additive-platelet-rich-fibrin", graft.Note},
	{"rhPDGF-BB", "", []func(*graft.Case){additive(graft.RhPDGF)}, "additive-rhpdgf-bb", graft.Note},
	{"rhBMP-2", "", []func(*graft.Case){additive(graft.RhBMP2)}, "additive-rhbmp-2", graft.Warn},
	{"rhBMP-2 under a torn membrane", "", []func(*graft.Case){additive(graft.RhBMP2), torn(2, true)}, "additive-rhbmp-2-torn-membrane", graft.Warn},
	{"tear of 10 mm", "the limit itself counts", []func(*graft.Case){torn(10, true)}, "perforation-large", graft.Warn},
	{"tear repaired", "", []func(*graft.Case){torn(4, true)}, "perforation-repaired", graft.Note},
	{"tear left open", "", []func(*graft.Case){torn(4, false)}, "perforation-open", graft.Warn},
	{"tear seen late and repaired", "", []func(*graft.Case){tornLater(4, true)}, "perforation-repaired", graft.Note},
	{"tear seen late and left open", "", []func(*graft.Case){tornLater(4, false)}, "perforation-open", graft.Warn},
	{"tear of 10 mm seen late", "", []func(*graft.Case){tornLater(10, true)}, "perforation-large", graft.Warn},
	{"rhBMP-2 under a membrane found torn", "", []func(*graft.Case){additive(graft.RhBMP2), tornLater(2, true)}, "additive-rhbmp-2-torn-membrane", graft.Warn},
	{"image as expected", "", []func(*graft.Case){image("2027-02-20", graft.AsExpected, "")}, "image-as-expected", graft.Note},
	{"image unclear", "", []func(*graft.Case){image("2027-02-20", graft.Unclear, "")}, "image-not-as-expected", graft.Warn},
	{"image not as expected", "", []func(*graft.Case){image("2027-02-20", graft.NotAsExpected, "")}, "image-not-as-expected", graft.Warn},
	{"image of tomorrow", "planned on 25 February", []func(*graft.Case){image("2027-02-26", graft.AsExpected, "")}, "finding-ahead", graft.Warn},
	{"aborted", "", []func(*graft.Case){aborted}, "aborted-re-entry", graft.Warn},
	{"infection", "", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-10"), What: graft.Infection})}, "infection", graft.Stop},
	{"graft removed", "", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-20"), What: graft.GraftRemoved})}, "graft-removed-re-entry", graft.Warn},
	{"ISQ 70", "", []func(*graft.Case){isq(70)}, "stability-go", graft.Note},
	{"ISQ 69", "", []func(*graft.Case){isq(69)}, "stability-decide", graft.Warn},
	{"ISQ 59", "", []func(*graft.Case){isq(59)}, "stability-hold", graft.Warn},
	{"attended without a step", "no placement is planned for an implant placed with the graft", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-20"), What: graft.Attended, Step: graft.Placement})}, "attended-unknown", graft.Warn},
	{"attended recall, which is not said", "six recalls are open", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-20"), What: graft.Attended, Step: graft.Recall})}, "attended-unknown", graft.Warn},
	{"attended twice", "the second has no step left", []func(*graft.Case){
		observed(graft.Observation{Day: on("2027-01-25"), What: graft.Attended, Step: graft.WoundCheck}),
		observed(graft.Observation{Day: on("2027-01-26"), What: graft.Attended, Step: graft.WoundCheck})}, "attended-unknown", graft.Warn},
	{"left out", "a healing review has nobody waiting for it", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-20"), What: graft.LeftOut, Step: graft.HealingReview})}, "left-out", graft.Note},
	{"left out, but needed", "the impression counts from the uncovering", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-20"), What: graft.LeftOut, Step: graft.Uncovering})}, "left-out-needed", graft.Warn},
	{"left out twice", "six recalls are open", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-20"), What: graft.LeftOut, Step: graft.Recall})}, "attended-unknown", graft.Warn},
	{"finding of tomorrow", "planned on 25 February", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-26"), What: graft.Attended, Step: graft.WoundCheck})}, "finding-ahead", graft.Warn},
	{"wrong year", "surgery three years before the planning", []func(*graft.Case){func(c *graft.Case) { c.Surgery.Day = on("2024-01-14") }}, "surgery-far-away", graft.Warn},
}

// elsewhere are the rules whose findings come from the diary, the desk or a
// clinic's own values; their tests stand beside that code.
var elsewhere = map[graft.RuleID]string{
	"surgery-before-closure":  "desk",
	"surgery-on-a-closed-day": "desk",
	"no-day-left":             "desk",
	"attended-early":          "desk",
	"override-out-of-order":   "desk",
	"not-all-tried":           "desk",
	"window-passed":           "desk",
	"letter-language":         "desk",
	"placement-range":         "TestReviewNamesWhatLiesOutsideThePublishedRange",
	"loading-range":           "TestReviewNamesWhatLiesOutsideThePublishedRange",
	"rules-review":            "TestReviewDayOfOwnRulesPasses",
}

func flag(f graft.Flag) func(*graft.Case) {
	return func(c *graft.Case) { c.Patient.Flags = append(c.Patient.Flags, f) }
}

func additive(a graft.Additive) func(*graft.Case) {
	return sinus(func(s *graft.Sinus) { s.Graft.Additive = a })
}

func torn(mm float64, repaired bool) func(*graft.Case) {
	return sinus(func(s *graft.Sinus) { s.Perforation = &graft.Perforation{SizeMM: mm, Repaired: repaired} })
}

// tornLater is a tear that was seen a month after the surgery.
func tornLater(mm float64, repaired bool) func(*graft.Case) {
	return observed(graft.Observation{Day: on("2027-02-14"), What: graft.LatePerforation, SizeMM: mm, Repaired: repaired})
}

func image(day string, result graft.Result, side graft.Side) func(*graft.Case) {
	return observed(graft.Observation{Day: on(day), What: graft.Image, Result: result, Side: side})
}

func aborted(c *graft.Case) {
	s := &c.Sinuses[0]
	s.Outcome, s.Implants, s.Widths, s.Window, s.Graft = graft.Aborted, nil, nil, nil, graft.Graft{}
}

func isq(n int) func(*graft.Case) {
	return observed(graft.Observation{Day: on("2027-07-20"), What: graft.Stability, Tooth: 16, ISQ: n})
}

// planned is the day of planning of every finding case: after the surgery of
// good, before that of cases that call before.
var planned = on("2027-02-25")

func TestEachFindingFires(t *testing.T) {
	for _, c := range findingCases {
		t.Run(c.name, func(t *testing.T) {
			got := fired(planWith(t, good(c.spoil...), protocol.Default(), planned))
			if got[c.rule] != c.want {
				t.Errorf("%s: findings %v, want %s as %s", c.desc, got, c.rule, c.want)
			}
		})
	}
}

func TestAGoodCaseHasNoFinding(t *testing.T) {
	if got := fired(planWith(t, good(), protocol.Default(), planned)); len(got) > 0 {
		t.Errorf("findings %v", got)
	}
}

// TestEachRuleThatFindsHasACase also shows each silent in at least one case: the
// good one.
func TestEachRuleThatFindsHasACase(t *testing.T) {
	covered := map[graft.RuleID]bool{}
	for _, c := range findingCases {
		covered[c.rule] = true
	}
	for _, r := range protocol.Default().All() {
		switch _, other := elsewhere[r.ID]; {
		case r.Severity == "":
			if covered[r.ID] {
				t.Errorf("%s finds something and has no severity", r.ID)
			}
		case !covered[r.ID] && !other:
			t.Errorf("no case makes %s speak", r.ID)
		}
	}
}

func TestAStopHoldsBackOnlyWhatDependsOnIt(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil []func(*graft.Case)
		steps []graft.Step
		gone  []graft.Step
	}{
		{"torque", []func(*graft.Case){implant(func(i *graft.Implant) { i.Torque = ptr(8.0) })},
			[]graft.Step{graft.WoundCheck, graft.LateCheck, graft.HealingReview}, []graft.Step{graft.Uncovering, graft.Impression, graft.FirstLoading, graft.Recall, graft.ImagingDecision}},
		{"infection", []func(*graft.Case){observed(graft.Observation{Day: on("2027-02-10"), What: graft.Infection})},
			[]graft.Step{graft.WoundCheck, graft.LateCheck}, []graft.Step{graft.Uncovering, graft.FirstLoading, graft.ReEntry}},
		{"unhealthy sinus ahead", []func(*graft.Case){before, sinus(func(s *graft.Sinus) { s.Health = graft.NotClear })},
			nil, graft.Steps},
		{"graft removed after infection", []func(*graft.Case){
			observed(graft.Observation{Day: on("2027-02-10"), What: graft.Infection}),
			observed(graft.Observation{Day: on("2027-02-20"), What: graft.GraftRemoved})},
			[]graft.Step{graft.ReEntry, graft.WoundCheck}, []graft.Step{graft.Uncovering, graft.FirstLoading}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := map[graft.Step]bool{}
			for _, m := range planWith(t, good(c.spoil...), protocol.Default(), planned).Milestones {
				got[m.Step] = true
			}
			for _, s := range c.steps {
				if !got[s] {
					t.Errorf("%s is missing", s)
				}
			}
			for _, s := range c.gone {
				if got[s] {
					t.Errorf("%s has a date, though a stop stands", s)
				}
			}
		})
	}
}

func TestAnAbortedSideHoldsBackARestorationThatRestsOnIt(t *testing.T) {
	c := good()
	c.Sinuses = append(c.Sinuses, graft.Sinus{Side: graft.Left, Health: graft.Clear, Approach: graft.LateralWindow, Outcome: graft.Aborted,
		Implants: []graft.Implant{{Tooth: 26, LengthMM: 10, DiameterMM: 4, Placed: graft.Later, Restoration: "molar"}}})
	for _, m := range plan(t, c).Milestones {
		if m.Step == graft.FirstLoading {
			t.Errorf("%s has a date, though one of its implants has no graft", m.Title())
		}
	}
}
