package diary_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// TestWhatIsOverdueStaysSo takes a window that ended on Sunday 21 March 2027 and a
// practice that closes for more or less of the four weeks in which the visit is still
// wanted.
func TestWhatIsOverdueStaysSo(t *testing.T) {
	const wanted = "No day from Monday 29 March 2027 to Monday 26 April 2027: "
	refit := func(c *practice, until string) {
		for d := on("2027-03-01"); !d.After(on(until)); d = d.AddDays(1) {
			c.Shut[d] = "closed: refit"
		}
	}
	for _, tc := range []struct {
		name         string
		spoil        func(r *diary.Request, c *practice)
		overdue      bool
		day          string
		why, failure string
	}{
		{"on the day of planning", func(*diary.Request, *practice) {}, true, "2027-03-29", "10 days after surgery; 18 days later: overdue", ""},
		{"on the last day on which it is wanted", func(_ *diary.Request, c *practice) { refit(c, "2027-04-25") }, true, "2027-04-26", "10 days after surgery; 46 days later: overdue, closed: refit", ""},
		{"no day is free", func(_ *diary.Request, c *practice) { refit(c, "2027-04-26") }, true, "",
			"10 days after surgery; overdue, no free day left until Monday 26 April 2027",
			"Its window ended on Sunday 21 March 2027. " + wanted + "closed: refit (Mon 29 Mar 2027 to Mon 26 Apr 2027); it is wanted by Mon 26 Apr 2027. Nearest days that fit: none before, Tuesday 27 April 2027 after."},
		{"booked, and no day is free", func(r *diary.Request, c *practice) {
			refit(c, "2027-04-26")
			r.Booked = map[graft.MilestoneID]diary.Booked{"uncovering": {Slot: slot("2027-04-05", 540, 60, "Surgery 1", "Dr Alba Quill")}}
		}, true, "",
			"10 days after surgery; overdue, no free day left until Monday 26 April 2027",
			"Its window ended on Sunday 21 March 2027. " + wanted + "closed: refit (Mon 29 Mar 2027 to Mon 26 Apr 2027); it is wanted by Mon 26 Apr 2027. Nearest days that fit: none before, Tuesday 27 April 2027 after."},
		{"the window ends on the day of planning", func(r *diary.Request, c *practice) {
			refit(c, "2027-04-26")
			r.On = on("2027-03-21")
		}, false, "", "10 days after surgery",
			"No day from Sunday 21 March 2027 to Sunday 21 March 2027: closed: refit (Sun 21 Mar 2027); the window ends on Sun 21 Mar 2027. Nearest days that fit: none before, Tuesday 27 April 2027 after."},
		{"nothing may be overdue", func(r *diary.Request, c *practice) {
			refit(c, "2027-04-26")
			r.Overdue = day.Period{}
		}, false, "", "10 days after surgery",
			"No day from Thursday 11 March 2027 to Sunday 21 March 2027: closed: refit (Thu 11 Mar 2027 to Sun 21 Mar 2027); the window ends on Sun 21 Mar 2027. Nearest days that fit: none before, Tuesday 27 April 2027 after."},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r, c := operated(), surgeryRow()
			r.On, r.Overdue = on("2027-03-29"), day.Period{Days: 28}
			for d := on("2026-01-01"); d.Before(on("2027-03-01")); d = d.AddDays(1) {
				c.Shut[d] = "closed: not open yet"
			}
			tc.spoil(&r, &c)
			p := diary.PlaceAll(r, c)
			m := p.Milestones[0]
			if m.Overdue != tc.overdue || !m.Placed.IsZero() != (tc.day != "") || tc.day != "" && m.Placed != on(tc.day) || m.Why != tc.why {
				t.Errorf("overdue %v on %s, %q", m.Overdue, m.Placed, m.Why)
			}
			var want []diary.Unplaced
			if tc.failure != "" {
				want = []diary.Unplaced{{ID: "uncovering", Says: tc.failure}}
			}
			if diff := cmp.Diff(want, p.Unplaced); diff != "" {
				t.Error(diff)
			}
			last := m.Reasons[len(m.Reasons)-1].Says
			if told := strings.HasPrefix(last, "No free day is left until"); told != (tc.overdue && tc.day == "") {
				t.Errorf("the last reason is %q", last)
			}
		})
	}
}
