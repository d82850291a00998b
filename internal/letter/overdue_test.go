package letter_test

import (
	"strings"
	"testing"
)

// TestAnOverdueVisitHasNoDayOfItsOwn: its window is past, and whether the day that the
// plan found can be had is for the desk to say.
func TestAnOverdueVisitHasNoDayOfItsOwn(t *testing.T) {
	l := simultaneous()
	l.Timeline.On = l.Case.Surgery.Day.AddDays(32)
	late := &l.Timeline.Milestones[2] // its window ended on day 30
	late.Overdue, late.Placed = true, l.Timeline.On.AddDays(27)
	want := "1. Late check\n  Planned. We will call you to book.\n  We will call you with a day.\n"
	if text := textOf(t, l); !strings.Contains(text, want) || strings.Contains(text, "Between Thursday 4 February") {
		t.Errorf("lacks %q in\n%s", want, text)
	}
	late.Overdue = false
	if text := textOf(t, l); strings.Contains(text, want) {
		t.Errorf("a visit that is not overdue reads %q", want)
	}
}
