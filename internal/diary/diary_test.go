package diary_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

const review = graft.MilestoneID("review")

// reviewed is the request from which the cases start: surgery on a Thursday, a
// review that may go later only, its target on Sunday 24 January 2027.
func reviewed() diary.Request {
	return diary.Request{
		Surgery:    on("2027-01-14"),
		On:         on("2027-01-14"),
		FirmWithin: day.Period{Days: 42},
		Milestones: []graft.Milestone{step(review, graft.OnlyLater, gate(graft.SurgeryDay, 10, 30))},
	}
}

func TestOneStepAndItsDay(t *testing.T) {
	cases := []struct {
		name, desc string
		spoil      func(m *graft.Milestone, r *diary.Request, c *rota)
		day, why   string
	}{
		{"closed day moves forward, not back", "Sunday", func(*graft.Milestone, *diary.Request, *rota) {},
			"2027-01-25", "10 days after surgery; 1 day later: closed on Sundays"},
		{"later goes forward too", "a step that is no gate", func(m *graft.Milestone, _ *diary.Request, _ *rota) { m.Shift = graft.Afterwards },
			"2027-01-25", "10 days after surgery; 1 day later: closed on Sundays"},
		{"open target stays", "Monday", func(m *graft.Milestone, _ *diary.Request, _ *rota) { m.Waits[0] = gate(graft.SurgeryDay, 11, 30) },
			"2027-01-25", "11 days after surgery"},
		{"only later does not use the days before its target", "Thursday and Friday are in the window", func(m *graft.Milestone, _ *diary.Request, _ *rota) { m.Waits[0] = days(graft.SurgeryDay, 5, 7, 10, 30) },
			"2027-01-25", "10 days after surgery; 1 day later: closed on Sundays"},
		{"earlier goes back", "to Friday", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Shift, m.Waits[0] = graft.Earlier, days(graft.SurgeryDay, 5, 7, 10, 30)
		}, "2027-01-22", "10 days after surgery; 2 days earlier: closed on Saturdays, closed on Sundays"},
		{"earlier stops at the window's start", "Saturday, so it goes later", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Shift, m.Waits[0] = graft.Earlier, days(graft.SurgeryDay, 8, 9, 10, 30)
		}, "2027-01-25", "10 days after surgery; 1 day later: closed on Saturdays, closed on Sundays"},
		{"earlier, moved later, tells what lay in its way", "the refit, not the Sunday", func(m *graft.Milestone, _ *diary.Request, c *rota) {
			m.Shift, m.Waits[0] = graft.Earlier, days(graft.SurgeryDay, 5, 7, 10, 30)
			c.Closed = []day.Span{span("2027-01-18..2027-01-22")}
		}, "2027-01-25", "10 days after surgery; 1 day later: closed: refit"},
		{"nearest takes the closer day", "Friday before Saturday", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Shift, m.Waits[0] = graft.Nearest, days(graft.SurgeryDay, 5, 5, 9, 30)
		}, "2027-01-22", "9 days after surgery; 1 day earlier: closed on Saturdays"},
		{"tie goes earlier", "Tuesday and Thursday are equally near", func(m *graft.Milestone, _ *diary.Request, c *rota) {
			m.Shift, m.Waits[0] = graft.Nearest, days(graft.SurgeryDay, 1, 1, 6, 30)
			c.Closed = []day.Span{span("2027-01-20")}
		}, "2027-01-19", "6 days after surgery; 1 day earlier: closed: refit"},
		{"nearest stays inside", "the window ends on Sunday", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Shift, m.Waits[0] = graft.Nearest, days(graft.SurgeryDay, 5, 5, 10, 10)
		}, "2027-01-22", "10 days after surgery; 2 days earlier: closed on Saturdays, closed on Sundays"},
		{"the last day of the window is in it", "Monday", func(m *graft.Milestone, _ *diary.Request, _ *rota) { m.Waits[0] = gate(graft.SurgeryDay, 10, 11) },
			"2027-01-25", "10 days after surgery; 1 day later: closed on Sundays"},
		{"year end", "closed from Christmas Eve on", func(_ *graft.Milestone, r *diary.Request, c *rota) {
			r.Surgery, r.On = on("2027-12-14"), on("2027-12-14")
			c.Closed = []day.Span{span("2027-12-24..2028-01-02")}
		}, "2028-01-03", "10 days after surgery; 10 days later: closed: refit"},
		{"29 February is a day", "a month after 31 January", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			r.Surgery, r.On = on("2028-01-31"), on("2028-01-31")
			m.Waits[0] = graft.Wait{From: graft.SurgeryDay, NotBefore: day.Period{Months: 1}, Earliest: day.Period{Months: 1}, Target: day.Period{Months: 1}, Latest: day.Period{Months: 2}}
		}, "2028-02-29", "1 month after surgery"},
		{"there is no 29 February in 2027", "the 28th is a Sunday", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			r.Surgery, r.On = on("2027-01-31"), on("2027-01-31")
			m.Waits[0] = graft.Wait{From: graft.SurgeryDay, NotBefore: day.Period{Months: 1}, Earliest: day.Period{Months: 1}, Target: day.Period{Months: 1}, Latest: day.Period{Months: 2}}
		}, "2027-03-01", "1 month after surgery; 1 day later: closed on Sundays"},
		{"patient away", "the week after", func(_ *graft.Milestone, r *diary.Request, _ *rota) {
			r.Unavailable = []day.Span{span("2027-01-25..2027-01-29")}
		}, "2027-02-01", "10 days after surgery; 8 days later: the patient cannot come"},
		{"patient away does not stop a step without a visit", "the nurse is in", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			r.Unavailable = []day.Span{span("2027-01-25..2027-01-29")}
			m.Visit, m.Role = "", "nurse"
		}, "2027-01-25", "10 days after surgery; 1 day later: closed on Sundays"},
		{"no surgeon on Fridays", "target on a Friday", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Visit, m.Role, m.Waits[0] = "", "surgeon", gate(graft.SurgeryDay, 8, 30)
		}, "2027-01-25", "8 days after surgery; 3 days later: no surgeon in on Fridays"},
		{"no room on Fridays", "target on a Friday", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Visit, m.Waits[0] = "surgery", gate(graft.SurgeryDay, 8, 30)
		}, "2027-01-25", "8 days after surgery; 3 days later: no surgery on Fridays"},
		{"nothing but an open day", "neither visit nor role", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Visit, m.Waits[0] = "", gate(graft.SurgeryDay, 8, 30)
		}, "2027-01-22", "8 days after surgery"},
		{"no operation on the last open day before a closure", "Friday before a weekend of two days", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			m.Surgical, m.Waits[0], r.Closure = true, gate(graft.SurgeryDay, 8, 30), 2
		}, "2027-01-25", "8 days after surgery; 3 days later: no operation on the last open day before 2 closed days"},
		{"a shorter closure does not matter", "three days asked for", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			m.Surgical, m.Waits[0], r.Closure = true, gate(graft.SurgeryDay, 8, 30), 3
		}, "2027-01-22", "8 days after surgery"},
		{"no rule about closures", "none", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Surgical, m.Waits[0] = true, gate(graft.SurgeryDay, 8, 30)
		}, "2027-01-22", "8 days after surgery"},
		{"only operations mind a closure", "a check on Friday", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			m.Waits[0], r.Closure = gate(graft.SurgeryDay, 8, 30), 2
		}, "2027-01-22", "8 days after surgery"},
		{"nobody is booked into the past", "planned on Wednesday 27 January", func(_ *graft.Milestone, r *diary.Request, _ *rota) { r.On = on("2027-01-27") },
			"2027-01-27", "10 days after surgery; 3 days later: not before the day of planning"},
		{"the past and closed days", "planned on a Saturday", func(_ *graft.Milestone, r *diary.Request, _ *rota) { r.On = on("2027-01-30") },
			"2027-02-01", "10 days after surgery; 8 days later: not before the day of planning, closed on Saturdays, closed on Sundays"},
		{"nearest does not go back into the past", "planned on Saturday, Friday is nearer", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			m.Shift, m.Waits[0], r.On = graft.Nearest, days(graft.SurgeryDay, 5, 5, 9, 30), on("2027-01-23")
		}, "2027-01-25", "9 days after surgery; 2 days later: closed on Saturdays, closed on Sundays"},
		{"the later wait binds", "implant", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Waits = append(m.Waits, gate(graft.SurgeryDay, 12, 20))
			m.Waits[1].Short = "implant 16 held"
		}, "2027-01-26", "implant 16 held"},
		{"days before a step", "two weeks", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			m.Waits[0], r.On = days(graft.SurgeryDay, -28, -28, -14, -7), on("2026-12-01")
		}, "2026-12-31", "14 days before surgery"},
		{"months before a step", "one", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			month := day.Period{Months: -1}
			m.Waits[0], r.On = graft.Wait{From: graft.SurgeryDay, NotBefore: month, Earliest: month, Target: month}, on("2026-12-01")
		}, "2026-12-14", "1 month before surgery"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			r, c := reviewed(), weekly()
			tc.spoil(&r.Milestones[0], &r, &c)
			placed, failed := placeAll(r, c)
			if m := placed[0]; m.Placed != on(tc.day) || m.Why != tc.why || len(failed) > 0 {
				t.Errorf("%s: got %s, %q, %v; want %s, %q", tc.desc, m.Placed, m.Why, failed, tc.day, tc.why)
			}
		})
	}
}

func TestClosureThatSwallowsTheWindow(t *testing.T) {
	cases := []struct {
		name  string
		spoil func(m *graft.Milestone, r *diary.Request, c *rota)
		says  string
	}{
		{"three weeks", func(*graft.Milestone, *diary.Request, *rota) {},
			"No day from Sunday 24 January 2027 to Saturday 13 February 2027: closed on Sundays; closed: refit (Mon 25 Jan 2027 to Sat 13 Feb 2027); the window ends on Sat 13 Feb 2027. " +
				"Nearest days that fit: Friday 22 January 2027 before (sooner than the gate allows), Monday 15 February 2027 after."},
		{"a day before the target is no day of an only-later step", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Waits[0] = days(graft.SurgeryDay, 7, 7, 10, 30)
		}, "No day from Sunday 24 January 2027 to Saturday 13 February 2027: closed on Sundays; closed: refit (Mon 25 Jan 2027 to Sat 13 Feb 2027); the window ends on Sat 13 Feb 2027. " +
			"Nearest days that fit: Friday 22 January 2027 before, Monday 15 February 2027 after."},
		{"what is left of the window", func(m *graft.Milestone, r *diary.Request, _ *rota) {
			m.Shift, m.Waits[0], r.On = graft.Nearest, days(graft.SurgeryDay, 1, 1, 10, 30), on("2027-02-08")
		}, "No day from Monday 8 February 2027 to Saturday 13 February 2027: nothing is booked before the day of planning, Mon 8 Feb 2027; closed: refit (Mon 8 Feb 2027 to Sat 13 Feb 2027); the window ends on Sat 13 Feb 2027. " +
			"Nearest days that fit: Friday 22 January 2027 before (already past), Monday 15 February 2027 after."},
		{"a window that has passed", func(_ *graft.Milestone, r *diary.Request, _ *rota) { r.On = on("2027-03-01") },
			"No day from Sunday 24 January 2027 to Saturday 13 February 2027: closed on Sundays; closed: refit (Mon 25 Jan 2027 to Sat 13 Feb 2027); the window ends on Sat 13 Feb 2027. " +
				"Nearest days that fit: Friday 22 January 2027 before (sooner than the gate allows), Monday 15 February 2027 after (already past)."},
		{"two causes", func(_ *graft.Milestone, r *diary.Request, _ *rota) {
			r.Unavailable = []day.Span{span("2027-01-28..2027-01-30"), span("2027-02-14..2027-02-16")}
		}, "No day from Sunday 24 January 2027 to Saturday 13 February 2027: closed on Sundays; closed: refit (Mon 25 Jan 2027 to Sat 13 Feb 2027); the window ends on Sat 13 Feb 2027. " +
			"Nearest days that fit: Friday 22 January 2027 before (sooner than the gate allows), Wednesday 17 February 2027 after."},
		{"nothing anywhere", func(m *graft.Milestone, _ *diary.Request, _ *rota) {
			m.Visit, m.Waits[0] = "tour", gate(graft.SurgeryDay, 11, 11)
		},
			"No day from Monday 25 January 2027 to Monday 25 January 2027: closed: refit (Mon 25 Jan 2027); the window ends on Mon 25 Jan 2027. Nearest days that fit: none before, none after."},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			r, c := reviewed(), weekly()
			c.Closed = []day.Span{span("2027-01-25..2027-02-14")}
			tc.spoil(&r.Milestones[0], &r, &c)
			r.Milestones = append(r.Milestones,
				step("impression", graft.OnlyLater, gate(review, 14, 28)),
				step("loading", graft.OnlyLater, gate("impression", 14, 28), gate(graft.SurgeryDay, 60, 90)),
				step("call", graft.OnlyLater, gate(graft.SurgeryDay, 1, 5)))
			placed, failed := placeAll(r, c)
			want := []diary.Unplaced{{ID: review, Says: tc.says}}
			if r.On.After(on("2027-01-19")) {
				want = append(want, diary.Unplaced{ID: "call", Says: "Its window ended on Tuesday 19 January 2027.", Passed: true})
			}
			if diff := cmp.Diff(want, failed); diff != "" {
				t.Error(diff)
			}
			for _, id := range []graft.MilestoneID{review, "impression", "loading"} {
				m := find(t, placed, id)
				if !m.Placed.IsZero() || m.Firm || m.Why != "" && id != review || (id == review) == (m.Window == graft.Window{}) {
					t.Errorf("%s: %s, firm %v, %q in %v", id, m.Placed, m.Firm, m.Why, m.Window)
				}
			}
			if find(t, placed, "call").Placed.IsZero() {
				t.Error("the call waits for nothing that failed")
			}
		})
	}
}

func TestNearestDaysAreLookedForSomeWayOff(t *testing.T) {
	r, c := reviewed(), weekly()
	r.Milestones[0].Waits[0] = gate(graft.SurgeryDay, 11, 11) // 25 January 2027
	c.Closed = []day.Span{{From: on("2027-01-25").AddDays(-400), To: on("2027-01-25").AddDays(399)}}
	_, failed := placeAll(r, c)
	want := []diary.Unplaced{{ID: review, Says: "No day from Monday 25 January 2027 to Monday 25 January 2027: closed: refit (Mon 25 Jan 2027); the window ends on Mon 25 Jan 2027. " +
		"Nearest days that fit: none before, Tuesday 29 February 2028 after."}}
	if diff := cmp.Diff(want, failed); diff != "" {
		t.Error(diff)
	}
}

func TestWaitForNothingHasNoDay(t *testing.T) {
	r := reviewed()
	r.Milestones = []graft.Milestone{
		step("a", graft.OnlyLater, gate("b", 1, 9)), step("b", graft.OnlyLater, gate("a", 1, 9)),
		step("c", graft.OnlyLater, gate("nobody", 1, 9)),
	}
	placed, failed := placeAll(r, weekly())
	for i, m := range placed {
		if diff := cmp.Diff(r.Milestones[i], m, cmp.AllowUnexported(day.Day{})); diff != "" || len(failed) > 0 {
			t.Errorf("%s: %v\n%s", m.ID, failed, diff)
		}
	}
}

// chained are a placement and what counts from it.
func chained() diary.Request {
	r := reviewed()
	r.Milestones = []graft.Milestone{
		step("loading", graft.OnlyLater, gate("impression", 14, 28)),
		step("impression", graft.OnlyLater, gate("placement", 10, 24)),
		step("placement", graft.OnlyLater, gate(graft.SurgeryDay, 10, 30)),
	}
	return r
}

func TestChainIsKeptFromTheDaysGiven(t *testing.T) {
	refit := func(_ *diary.Request, c *rota) { c.Closed = []day.Span{span("2027-01-25..2027-02-14")} }
	attended := func(id graft.MilestoneID, text string) func(*diary.Request, *rota) {
		return func(r *diary.Request, _ *rota) {
			for i := range r.Milestones {
				if r.Milestones[i].ID == id {
					r.Milestones[i].Attended = on(text)
				}
			}
		}
	}
	cases := []struct {
		name                           string
		spoil                          []func(*diary.Request, *rota)
		placement, impression, loading string
	}{
		{"placed", nil, "2027-01-25", "2027-02-04", "2027-02-18"},
		{"attended later than placed", []func(*diary.Request, *rota){attended("placement", "2027-02-10")}, "2027-02-10", "2027-02-22", "2027-03-08"},
		{"attended before its gate", []func(*diary.Request, *rota){attended("placement", "2027-01-20")}, "2027-01-20", "2027-02-01", "2027-02-15"},
		{"attended on a closed day", []func(*diary.Request, *rota){attended("impression", "2027-02-07")}, "2027-01-25", "2027-02-07", "2027-02-22"},
		{"attended after a step without a day", []func(*diary.Request, *rota){refit, attended("impression", "2027-02-16")}, "-", "2027-02-16", "2027-03-02"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			r, c := chained(), weekly()
			for _, spoil := range tc.spoil {
				spoil(&r, &c)
			}
			placed, _ := placeAll(r, c)
			want := []string{tc.loading, tc.impression, tc.placement}
			for i, m := range placed {
				if m.Placed.String() != want[i] {
					t.Errorf("%s: got %s (%s), want %s", m.ID, m.Placed, m.Why, want[i])
				}
				if !m.Attended.IsZero() && (m.Why != "attended" || m.Firm || m.Reasons[len(m.Reasons)-1].Says != "Recorded as attended on "+diary.Long(m.Attended)+".") {
					t.Errorf("%s: %q, firm %v, %v", m.ID, m.Why, m.Firm, m.Reasons)
				}
			}
		})
	}
}

func TestPassedWindowIsPlacedAndSaid(t *testing.T) {
	for _, tc := range []struct {
		on, day string
		want    []diary.Unplaced
	}{
		{"2027-02-13", "2027-02-13", nil}, // the last day is not past
		{"2027-02-14", "2027-01-25", []diary.Unplaced{{ID: review, Passed: true, Says: "Its window ended on Saturday 13 February 2027."}}},
	} {
		r, c := reviewed(), weekly()
		c.Open |= 1 << 6
		c.Visits["check"] |= 1 << 6
		r.On = on(tc.on)
		placed, failed := placeAll(r, c)
		if diff := cmp.Diff(tc.want, failed); diff != "" || placed[0].Placed != on(tc.day) {
			t.Errorf("planned on %s: got %s, want %s\n%s", tc.on, placed[0].Placed, tc.day, diff)
		}
	}
}

func TestSlotsWithinReachAreFirm(t *testing.T) {
	for _, tc := range []struct {
		on     string
		within day.Period
		firm   bool
	}{
		{"2027-01-25", day.Period{}, true}, {"2027-01-24", day.Period{}, false},
		{"2026-12-14", day.Period{Days: 42}, true}, {"2026-12-13", day.Period{Days: 42}, false},
		{"2026-12-25", day.Period{Months: 1}, true}, {"2026-12-24", day.Period{Months: 1}, false},
	} {
		r := reviewed()
		r.On, r.FirmWithin = on(tc.on), tc.within
		if placed, _ := placeAll(r, weekly()); placed[0].Firm != tc.firm {
			t.Errorf("%s, planned on %s: firm %v within %v", placed[0].Placed, tc.on, placed[0].Firm, tc.within)
		}
	}
}
