package diary_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

func lastOpenDay(closed int) string {
	return fmt.Sprintf("no operation on the last open day before %d closed days", closed)
}

// readRuns reads obstacles such as "Sat 2 Jan 2027 to Sun 3 Jan 2027: why" into
// the reason of each day.
func readRuns(t require, runs []string) map[day.Day]string {
	whyNot := map[day.Day]string{}
	for _, run := range runs {
		when, why, _ := strings.Cut(run, ": ")
		from, to, two := strings.Cut(when, " to ")
		if !two {
			to = from
		}
		if read(t, from).After(read(t, to)) {
			t.Fatalf("%q runs backwards", run)
		}
		for d := read(t, from); !d.After(read(t, to)); d = d.AddDays(1) {
			if _, twice := whyNot[d]; twice {
				t.Fatalf("%v name %s twice", runs, d)
			}
			whyNot[d] = why
		}
		if whyNot[read(t, from).AddDays(-1)] == why {
			t.Fatalf("%q goes on from the run before it", run)
		}
	}
	return whyNot
}

// told reads the days that the reasons of a milestone, or its failure, speak of.
func told(t require, m graft.Milestone, failure string) map[day.Day]string {
	if failure != "" {
		_, runs, _ := strings.Cut(failure, ": ")
		runs, _, _ = strings.Cut(runs, ". Nearest")
		return readRuns(t, strings.Split(runs, "; "))
	}
	var runs []string
	for _, r := range m.Reasons[len(m.Reasons)-1].Because {
		if !strings.HasPrefix(r.Says, "Nothing is booked before") {
			runs = append(runs, r.Says)
		}
	}
	return readRuns(t, runs)
}

// Every day that the shift prefers to the given one is told with its reason, and
// no other day.
func TestReasonsTellEveryDayPassedOverAndNoOther(t *testing.T) {
	check(t, 5, func(t *rapid.T) {
		r := someRequest(t, true)
		c := someClinic(t, r.Surgery)
		placed, failed := diary.Place(r, c)
		says := map[graft.MilestoneID]string{}
		for _, f := range failed {
			if !f.Passed {
				says[f.ID] = f.Says
			}
		}
		s := slow{r, c, slowly(r, c)}
		for _, m := range placed {
			if !m.Attended.IsZero() || m.Placed.IsZero() && says[m.ID] == "" {
				continue
			}
			got := told(t, m, says[m.ID])
			best, _ := score(m.Shift, m.Placed, m.Window.Target)
			for d := m.Window.NotBefore.AddDays(-50); !d.After(m.Window.Latest.AddDays(50)); d = d.AddDays(1) {
				score, may := score(m.Shift, d, m.Window.Target)
				may = may && !d.Before(m.Window.Earliest) && !d.After(m.Window.Latest) && (m.Window.Latest.Before(r.On) || !d.Before(r.On))
				want := ""
				if may && (m.Placed.IsZero() || score < best) {
					want = s.whyNot(m, d)
				}
				if got[d] != want {
					t.Fatalf("%s of %s: told %q, want %q", d, m.ID, got[d], want)
				}
				delete(got, d)
			}
			if len(got) > 0 {
				t.Fatalf("%s on %s in %v: told of %v too", m.ID, m.Placed, m.Window, got)
			}
			if moved := m.Placed != m.Window.Target; !m.Placed.IsZero() && strings.Contains(m.Why, "; ") != moved {
				t.Fatalf("%s: %q, placed %s, target %s", m.ID, m.Why, m.Placed, m.Window.Target)
			}
		}
	})
}
