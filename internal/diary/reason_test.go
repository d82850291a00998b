package diary_test

import (
	"fmt"
	"regexp"
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

// told reads the days that the reasons of a milestone speak of.
func told(t require, m graft.Milestone) map[day.Day]string {
	var runs []string
	for _, r := range m.Reasons[len(m.Reasons)-1].Because {
		if !strings.HasPrefix(r.Says, "Nothing is booked before") {
			runs = append(runs, r.Says)
		}
	}
	return readRuns(t, runs)
}

var notTaken = regexp.MustCompile(`^(one trip more|\d+ trips more|one day further in all|\d+ days further in all|leaves no day for .+|other steps would come later by as much|another step comes sooner this way|the plan as a whole is better without it)$`)

// Every day that the shift prefers to the given one is told with its reason, and
// no other day: what keeps the milestone from it or, where it could be had, what
// the whole plan would lose.
func TestReasonsTellEveryDayPassedOverAndNoOther(t *testing.T) {
	lost := 0
	check(t, 5, func(t *rapid.T) {
		r := someRequest(t, true)
		c := someClinic(t, r.Surgery)
		placed, _ := placeAll(r, c)
		s := slow{r, c, nil}
		for _, m := range placed {
			if !m.Attended.IsZero() || m.Placed.IsZero() {
				continue
			}
			got := told(t, m)
			for d := m.Window.NotBefore.AddDays(-50); !d.After(m.Window.Latest.AddDays(50)); d = d.AddDays(1) {
				score, may := score(m.Shift, d, day.Max(m.Window.Target, firstOf(r, m)))
				best, _ := scoreOf(r, m)
				may = may && !d.Before(m.Window.Earliest) && !d.After(m.Window.Latest) && (m.Window.Latest.Before(r.On) || !d.Before(r.On))
				want, fits := "", false
				if may && score < best {
					want = s.whyNot(m, d)
					fits = want == ""
				}
				if fits && notTaken.MatchString(got[d]) {
					lost++
				} else if fits || got[d] != want {
					t.Fatalf("%s of %s on %s in %v: told %q, want %q", d, m.ID, m.Placed, m.Window, got[d], want)
				}
				delete(got, d)
			}
			if len(got) > 0 {
				t.Fatalf("%s on %s in %v: told of %v too", m.ID, m.Placed, m.Window, got)
			}
			if moved := m.Placed != m.Window.Target; strings.Contains(m.Why, "; ") != moved {
				t.Fatalf("%s: %q, placed %s, target %s", m.ID, m.Why, m.Placed, m.Window.Target)
			}
		}
	})
	if lost == 0 {
		t.Error("no day was left out for the sake of the whole")
	}
}

// firstOf is the first day that a milestone of a window that is not past may have.
func firstOf(r diary.Request, m graft.Milestone) day.Day {
	if m.Window.Latest.Before(r.On) {
		return m.Window.Earliest
	}
	return day.Max(r.On, m.Window.Earliest)
}

func scoreOf(r diary.Request, m graft.Milestone) (int, bool) {
	return score(m.Shift, m.Placed, day.Max(m.Window.Target, firstOf(r, m)))
}
