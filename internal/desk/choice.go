package desk

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Choice names one milestone of a case as a person does: the step, and whom and
// which it is for where there are several. Without Which, the next open one of a
// row is meant. An ID, where it is known, names the milestone alone.
type Choice struct {
	Step  graft.Step
	For   string
	Which string
	ID    graft.MilestoneID
}

// ChoiceOf names the milestone of an id.
func ChoiceOf(id graft.MilestoneID) Choice {
	step, whom, which := id.Parts()
	return Choice{Step: step, For: whom, Which: which, ID: id}
}

// means reports whether a milestone may be the one that is meant.
func (c Choice) means(m graft.Milestone) bool {
	if c.ID != "" {
		return m.ID == c.ID
	}
	return m.Step == c.Step && (c.For == "" || m.For == c.For) && (c.Which == "" || m.Which == c.Which)
}

// Pick returns the milestone that is meant. Several that could be are a refusal
// that lists them.
func (l Live) Pick(c Choice) (graft.Milestone, error) {
	var fits []graft.Milestone
	whom := map[string]bool{}
	for _, m := range l.Timeline.Milestones {
		if c.means(m) {
			fits = append(fits, m)
			whom[m.For] = true
		}
	}
	if len(fits) == 0 {
		return graft.Milestone{}, l.noSuchStep(c)
	}
	if len(whom) > 1 {
		return graft.Milestone{}, &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("several steps of %s are meant by %s", l.Kept.Case, c.Step), Hint: "say which with --for or --which: " + joined(titles(fits))}
	}
	for _, m := range fits {
		if m.Attended.IsZero() {
			return m, nil
		}
	}
	return fits[len(fits)-1], nil
}

func (l Live) noSuchStep(c Choice) error {
	has := l.Timeline.Milestones
	other := func(m graft.Milestone) bool { return m.Step != c.Step }
	if same := slices.DeleteFunc(slices.Clone(has), other); len(same) > 0 {
		has = same
	}
	asked := graft.Milestone{Step: c.Step, For: c.For, Which: c.Which}.Title()
	return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("the plan of %s has no %s", l.Kept.Case, asked), Hint: "it has: " + joined(titles(has))}
}

func titles(milestones []graft.Milestone) []string {
	list := make([]string, len(milestones))
	for i, m := range milestones {
		list[i] = m.Title()
	}
	return list
}

func joined(list []string) string { return strings.Join(list, "; ") }

// pickLatest is Pick for an act on a visit that is there: it also finds visits
// that the plan no longer has, and, of a row, the latest that the act is for.
func (l Live) pickLatest(c Choice, act ledger.Act) (graft.MilestoneID, error) {
	for n := len(l.Visits) - 1; n >= 0; n-- {
		v := l.Visits[n]
		if !c.means(milestoneOf(v.Milestone)) {
			continue
		}
		if latest, _ := l.Latest(v.Milestone); latest.ID != v.ID {
			continue
		}
		if _, err := v.State.After(act); err == nil && (c.ID != "" || c.For != "" || l.oneFor(c)) {
			return v.Milestone, nil
		}
	}
	m, err := l.Pick(c)
	return m.ID, err
}

// oneFor reports whether the step is there for one restoration or side alone.
func (l Live) oneFor(c Choice) bool {
	whom := map[string]bool{}
	for _, v := range l.Visits {
		if m := milestoneOf(v.Milestone); m.Step == c.Step {
			whom[m.For] = true
		}
	}
	return len(whom) < 2
}

// milestoneOf reads a milestone's step, whom and which out of its id.
func milestoneOf(id graft.MilestoneID) graft.Milestone {
	step, whom, which := id.Parts()
	return graft.Milestone{ID: id, Step: step, For: whom, Which: which}
}
