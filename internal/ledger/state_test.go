package ledger

import (
	"errors"
	"strings"
	"testing"

	"graftclock/internal/graft"
)

// TestEveryMoveIsAllowedOrRefused goes through all 8 states and 7 acts. A state
// that is not named for an act is refused there.
func TestEveryMoveIsAllowedOrRefused(t *testing.T) {
	// One row a state, one column an act, in the order of States and Acts.
	table := `
	            hold         book    move   cancel     attended  missed  supersede
	planned     window-held  booked  -      -          attended  -       -
	window-held -            booked  -      cancelled  attended  -       superseded
	booked      -            -       moved  cancelled  attended  missed  superseded
	attended    -            -       -      -          -         missed  -
	missed      window-held  booked  -      -          attended  -       -
	moved       window-held  booked  -      -          attended  -       -
	cancelled   window-held  booked  -      -          attended  -       -
	superseded  window-held  booked  -      -          attended  -       -`
	lines := strings.Split(strings.TrimSpace(table), "\n")
	if len(lines) != len(States)+1 {
		t.Fatalf("%d rows for %d states", len(lines)-1, len(States))
	}
	acts := strings.Fields(lines[0])
	for n, line := range lines[1:] {
		cells := strings.Fields(line)
		from := State(strings.ReplaceAll(cells[0], "-", " "))
		if from != States[n] || len(cells) != len(Acts)+1 {
			t.Fatalf("row %q is not for state %q", line, States[n])
		}
		for i, act := range Acts {
			if acts[i] != string(act) {
				t.Fatalf("column %q is not for act %q", acts[i], act)
			}
			want := strings.ReplaceAll(cells[i+1], "-", " ")
			got, err := from.After(act)
			if want == " " {
				wantRefusal(t, from, act, got, err)
			} else if err != nil || string(got) != want {
				t.Errorf("%s, %s: %q, %v; want %q", from, act, got, err, want)
			}
		}
	}
}

// wantRefusal wants an act refused with everything that is allowed instead.
func wantRefusal(t *testing.T, from State, act Act, got State, err error) {
	t.Helper()
	var refusal *graft.Refusal
	if !errors.As(err, &refusal) || refusal.Kind != graft.Conflict || got != from {
		t.Errorf("%s, %s: %q, %v; want a refusal", from, act, got, err)
		return
	}
	for _, allowed := range from.Allows() {
		if allowed != Supersede && !strings.Contains(refusal.Hint, string(allowed)) {
			t.Errorf("%s, %s: the hint %q does not name %s", from, act, refusal.Hint, allowed)
		}
	}
	if strings.Contains(refusal.Hint, string(Supersede)) {
		t.Errorf("%s, %s: the hint %q offers what only a plan does", from, act, refusal.Hint)
	}
}

// TestOnlyAHeldWindowOrABookedSlotStandsInTheWay holds Open to the states in
// which booking again is refused, attended apart.
func TestOnlyAHeldWindowOrABookedSlotStandsInTheWay(t *testing.T) {
	for _, s := range States {
		_, err := s.After(Hold)
		if blocks := err != nil; s != Attended && blocks != s.Open() {
			t.Errorf("%s: open %v, but holding is refused: %v", s, s.Open(), blocks)
		}
	}
}
