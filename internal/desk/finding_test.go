package desk_test

import (
	"errors"
	"strings"
	"testing"

	"graftclock/internal/graft"
)

// TestAFindingIsAboutAStepOfThePlan: what is left out, or took place, is one open step
// of the plan; anything else is refused with the steps that it may be.
func TestAFindingIsAboutAStepOfThePlan(t *testing.T) {
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-02-01")
	id := admit(t, k, quill, "fenwick")
	if _, _, err := k.Attended(quill, id, wound(), on("2027-01-26"), ""); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name           string
		what           graft.Observed
		step           graft.Step
		whom, which    string
		refused, allow string // the message and what the hint allows; empty: taken
	}{
		{"a recall that the plan does not have", graft.LeftOut, graft.Recall, "right bridge", "9 months", "has no open recall 9 months, right bridge", "recall 6 months, right bridge"},
		{"a step of another way of operating", graft.LeftOut, graft.Placement, "", "", "has no open placement", "healing-review"},
		{"the same, as attended", graft.Attended, graft.Placement, "", "", "has no open placement", "healing-review"},
		{"a step that took place, left out", graft.LeftOut, graft.WoundCheck, "", "", "has no open wound-check", "healing-review"},
		{"a step that took place, again", graft.Attended, graft.WoundCheck, "", "", "has no open wound-check", "healing-review"},
		{"one of several recalls", graft.LeftOut, graft.Recall, "", "", "several open steps", "recall 6 months, right bridge"},
		{"a recall by its name", graft.LeftOut, graft.Recall, "", "6 months", "", ""},
		{"the same again", graft.LeftOut, graft.Recall, "", "6 months", "has no open recall 6 months", "recall 12 months, right bridge"},
		{"a step by itself", graft.LeftOut, graft.HealingReview, "", "", "", ""},
		{"a visit that took place", graft.Attended, graft.LateCheck, "", "", "", ""},
	} {
		before := len(entriesOf(t, store))
		_, err := k.AddFinding(quill, id, map[string]string{"day": "2027-02-01", "what": string(c.what), "step": string(c.step), "for": c.whom, "which": c.which}, "")
		if c.refused == "" {
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		refusalOf(t, err, graft.Invalid, c.refused)
		var refusal *graft.Refusal
		if errors.As(err, &refusal) && !strings.Contains(refusal.Hint, c.allow) {
			t.Errorf("%s: allowed: %s; want among it %s", c.name, refusal.Hint, c.allow)
		}
		if got := lastEntry(t, store); len(entriesOf(t, store)) != before+1 || !strings.HasPrefix(got, "refused|Dr Alba Quill|surgeon|"+string(id)+"||note: ") {
			t.Errorf("%s: history: %s", c.name, got)
		}
	}
}
