package protocol_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// twoSinuses is a good case with a second sinus on the left.
func twoSinuses(c *graft.Case) {
	left := c.Sinuses[0]
	left.Side = graft.Left
	left.Implants = []graft.Implant{c.Sinuses[0].Implants[0]}
	left.Implants[0].Tooth, left.Implants[0].Restoration = 26, "left molar"
	c.Sinuses = append(c.Sinuses, left)
}

// told returns rule, place and words of a timeline's findings.
func told(timeline graft.Timeline) []string {
	var list []string
	for _, f := range timeline.Findings {
		list = append(list, fmt.Sprintf("%s %s", f.Rule, f.Path))
	}
	return list
}

func TestLateFindingsNameTheirPlace(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil []func(*graft.Case)
		want  []string
	}{
		{"tear in the left of two", []func(*graft.Case){twoSinuses, observed(graft.Observation{Day: on("2027-02-14"), What: graft.LatePerforation, SizeMM: 12, Side: graft.Left})},
			[]string{"perforation-open findings[0]", "perforation-large findings[0].size_mm"}},
		{"tear at surgery and another one later", []func(*graft.Case){torn(3, true), tornLater(4, false), additive(graft.RhBMP2)},
			[]string{"perforation-repaired sinuses[0].perforation", "perforation-open findings[0]", "additive-rhbmp-2-torn-membrane sinuses[0].graft.additive", "additive-rhbmp-2 sinuses[0].graft.additive"}},
		{"a later image takes the place of an earlier one", []func(*graft.Case){image("2027-02-10", graft.Unclear, ""), image("2027-02-20", graft.AsExpected, "")},
			[]string{"image-as-expected findings[1].result"}},
		{"whatever their order in the record", []func(*graft.Case){image("2027-02-20", graft.NotAsExpected, ""), image("2027-02-10", graft.AsExpected, "")},
			[]string{"image-not-as-expected findings[0].result"}},
		{"of two images of one day the last counts", []func(*graft.Case){image("2027-02-20", graft.Unclear, ""), image("2027-02-20", graft.AsExpected, "")},
			[]string{"image-as-expected findings[1].result"}},
		{"the only sinus needs no side", []func(*graft.Case){image("2027-02-10", graft.Unclear, ""), image("2027-02-20", graft.AsExpected, graft.Right)},
			[]string{"image-as-expected findings[1].result"}},
		{"one sinus says nothing of the other", []func(*graft.Case){twoSinuses, image("2027-02-10", graft.Unclear, graft.Left), image("2027-02-20", graft.AsExpected, graft.Right)},
			[]string{"image-not-as-expected findings[0].result", "image-as-expected findings[1].result"}},
		{"one sinus does not answer for both", []func(*graft.Case){twoSinuses, image("2027-02-10", graft.Unclear, ""), image("2027-02-20", graft.AsExpected, graft.Right)},
			[]string{"image-not-as-expected findings[0].result", "image-as-expected findings[1].result"}},
		{"an image of both answers for each", []func(*graft.Case){twoSinuses, image("2027-02-10", graft.Unclear, graft.Left), image("2027-02-20", graft.AsExpected, "")},
			[]string{"image-as-expected findings[1].result"}},
		{"another finding does not", []func(*graft.Case){image("2027-02-10", graft.Unclear, ""), tornLater(3, true)},
			[]string{"image-not-as-expected findings[0].result", "perforation-repaired findings[1]"}},
	} {
		if diff := cmp.Diff(c.want, told(planWith(t, good(c.spoil...), protocol.Default(), planned))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
	c := good(twoSinuses, observed(graft.Observation{Day: on("2027-02-20"), What: graft.Image, Result: graft.Unclear, Side: graft.Left, Shows: "a shadow at 26"}), observed(graft.Observation{Day: on("2027-02-14"), What: graft.LatePerforation, SizeMM: 4.5, Repaired: true, Side: graft.Right}))
	for n, want := range []string{"Image of 2027-02-20, left sinus: unclear (a shadow at 26). The surgeon reads", "The right sinus: a tear of 4.5 mm, seen on 2027-02-14. The membrane"} {
		if says := planWith(t, c, protocol.Default(), planned).Findings[n].Says; len(says) < len(want) || says[:len(want)] != want {
			t.Errorf("finding %d says %q, want %q", n, says, want)
		}
	}
}

// TestLateFindingsThatMoveNoDate records an image and a tear and wants the very
// milestones that there are without them.
func TestLateFindingsThatMoveNoDate(t *testing.T) {
	want := planWith(t, good(), protocol.Default(), planned).Milestones
	for name, spoil := range map[string]func(*graft.Case){
		"image unclear":           image("2027-02-20", graft.Unclear, ""),
		"image not as expected":   image("2027-02-20", graft.NotAsExpected, graft.Right),
		"image as expected":       image("2027-02-20", graft.AsExpected, ""),
		"large tear, left open":   tornLater(15, false),
		"small tear and repaired": tornLater(2, true),
	} {
		sameDays := cmp.Comparer(func(a, b day.Day) bool { return a == b })
		if diff := cmp.Diff(want, planWith(t, good(spoil), protocol.Default(), planned).Milestones, sameDays); diff != "" {
			t.Errorf("%s (-without +with):\n%s", name, diff)
		}
	}
}

// TestOnlyTheLoadingFloorIsHard looks at the rules and at every wait of plans of
// every kind.
func TestOnlyTheLoadingFloorIsHard(t *testing.T) {
	for _, r := range protocol.Default().All() {
		if r.Hard != (r.ID == "loading-floor") {
			t.Errorf("%s: hard %v", r.ID, r.Hard)
		}
		if r.Hard && r.Allowed != nil {
			t.Errorf("%s is hard, and a clinic may set it to %v", r.ID, r.Allowed)
		}
	}
	for name, c := range map[string]graft.Case{
		"simultaneous": good(), "staged": good(later), "aborted": good(aborted), "stability": good(isq(65)), "two sinuses": good(twoSinuses),
		"through the gum": good(implant(func(i *graft.Implant) { i.Closure, i.ResidualMM = graft.ThroughTheGum, 6 })),
	} {
		for _, m := range plan(t, c).Milestones {
			hard := 0
			for _, w := range m.Waits {
				if !w.Hard {
					continue
				}
				hard++
				if w.Because.Rule != "loading-floor" || !w.FloorOnly || (w.NotBefore != day.Period{Months: 2, Days: 1}) {
					t.Errorf("%s: %s has a hard wait of %s for %s", name, m.Title(), w.NotBefore, w.Because.Rule)
				}
			}
			if first := m.Step == graft.FirstLoading; (hard == 1) != first || hard > 1 {
				t.Errorf("%s: %s has %d hard waits", name, m.Title(), hard)
			}
		}
	}
}

func TestPeriodsOfTheDesksLists(t *testing.T) {
	rules := protocol.Default()
	for id, want := range map[graft.RuleID]day.Period{"overdue-window": {Days: 28}, "overdue-wait": {Days: 7}, "unconfirmed-within": {Days: 7}, "long-lead": {Days: 28}, "long-lead-reminder": {Days: 10}, "firm-slots": {Days: 42}} {
		if got := rules.Period(id); got != want {
			t.Errorf("%s is %s, want %s", id, got, want)
		}
	}
	adopted := own(t, "  - {id: overdue-window, value: 6w, reason: test}\n")
	if got := adopted.Period("overdue-window"); got != (day.Period{Days: 42}) {
		t.Errorf("a clinic's own six weeks are %s", got)
	}
	for _, value := range []string{"13w", "0w", "30d"} {
		head := "rules: 1\nadopted_by: Invented\nadopted_on: 2026-12-01\nchanges:\n"
		if _, faults := rules.Adopt("own.yaml", []byte(head+"  - {id: overdue-window, value: "+value+", reason: test}\n")); len(faults) != 1 {
			t.Errorf("%s was taken: %v", value, faults)
		}
	}
}
