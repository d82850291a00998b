package diary_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

func floor(from graft.MilestoneID, days int) graft.Wait {
	return graft.Wait{From: from, NotBefore: day.Period{Days: days}, FloorOnly: true}
}

func window(notBefore, earliest, target, latest string) graft.Window {
	return graft.Window{NotBefore: on(notBefore), Earliest: on(earliest), Target: on(target), Latest: on(latest)}
}

func TestWindowOfSeveralWaits(t *testing.T) {
	base := days(graft.SurgeryDay, 7, 10, 14, 21)
	cases := []struct {
		name  string
		waits []graft.Wait
		want  graft.Window
		why   string
	}{
		{"one wait", []graft.Wait{base}, window("2027-01-21", "2027-01-24", "2027-01-28", "2027-02-04"), "14 days after surgery"},
		{"the latest binds point by point", []graft.Wait{base, days(graft.SurgeryDay, 9, 9, 20, 20)},
			window("2027-01-23", "2027-01-24", "2027-02-03", "2027-02-04"), "20 days after surgery"},
		{"a floor before the window", []graft.Wait{base, floor(graft.SurgeryDay, 6)},
			window("2027-01-21", "2027-01-24", "2027-01-28", "2027-02-04"), "14 days after surgery"},
		{"a floor between the gate and the earliest day is the gate", []graft.Wait{base, floor(graft.SurgeryDay, 9)},
			window("2027-01-23", "2027-01-24", "2027-01-28", "2027-02-04"), "9 days after surgery"},
		{"a floor on the earliest day", []graft.Wait{floor(graft.SurgeryDay, 10), base},
			window("2027-01-24", "2027-01-24", "2027-01-28", "2027-02-04"), "10 days after surgery"},
		{"a floor behind it pushes the window", []graft.Wait{floor(graft.SurgeryDay, 12), base},
			window("2027-01-26", "2027-01-26", "2027-01-30", "2027-02-06"), "12 days after surgery"},
		{"the farther of two floors", []graft.Wait{base, floor(graft.SurgeryDay, 30), floor(graft.SurgeryDay, 12)},
			window("2027-02-13", "2027-02-13", "2027-02-17", "2027-02-24"), "30 days after surgery"},
		{"points out of order wait for the one before", []graft.Wait{days(graft.SurgeryDay, 14, 10, 12, 7)},
			window("2027-01-28", "2027-01-28", "2027-01-28", "2027-01-28"), "12 days after surgery"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			r := reviewed()
			r.Milestones[0].Waits = tc.waits
			r.Milestones[0].Attended = on("2027-01-20")
			placed, _ := placeAll(r, weekly())
			if diff := cmp.Diff(tc.want, placed[0].Window, cmp.AllowUnexported(day.Day{})); diff != "" {
				t.Error(diff)
			}
			r.Milestones[0].Attended = day.Day{}
			r.Milestones[0].Shift = graft.Nearest
			everywhere := rota{Open: everyDay, Visits: map[string]day.Weekdays{"check": everyDay}}
			if placed, _ = placeAll(r, everywhere); placed[0].Why != tc.why || placed[0].Placed != tc.want.Target {
				t.Errorf("got %s, %q, want %q", placed[0].Placed, placed[0].Why, tc.why)
			}
		})
	}
}

// Sixty days are more than two months from the last of December and fewer from
// the first of July.
func TestMonthsAndDaysInOneWindowStayInOrder(t *testing.T) {
	wait := graft.Wait{From: graft.SurgeryDay, NotBefore: day.Period{Months: 2}, Earliest: day.Period{Months: 2}, Target: day.Period{Days: 60}, Latest: day.Period{Days: 61}}
	for surgery, want := range map[string]graft.Window{
		"2026-12-31": window("2027-02-28", "2027-02-28", "2027-03-01", "2027-03-02"),
		"2027-07-01": window("2027-09-01", "2027-09-01", "2027-09-01", "2027-09-01"),
	} {
		r := reviewed()
		r.Surgery, r.On = on(surgery), on(surgery)
		r.Milestones[0].Waits = []graft.Wait{wait}
		placed, _ := placeAll(r, weekly())
		if diff := cmp.Diff(want, placed[0].Window, cmp.AllowUnexported(day.Day{})); diff != "" {
			t.Errorf("surgery on %s:\n%s", surgery, diff)
		}
	}
}

func TestReasonsOfAWindowAndItsDay(t *testing.T) {
	r := chained()
	r.On = on("2027-02-05")
	r.Milestones[2].Attended = on("2027-01-25")
	r.Milestones[1].Waits = append(r.Milestones[1].Waits, floor(graft.SurgeryDay, 22))
	r.Milestones[1].Waits[0].Because = graft.Reason{Rule: "impression", Says: "The gum forms first."}
	c := weekly()
	c.Closed = []day.Span{span("2027-02-08..2027-02-09")}
	r.Unavailable = []day.Span{span("2027-02-05")}
	placed, failed := placeAll(r, c)
	because := func(says ...string) (reasons []graft.Reason) {
		for _, s := range says {
			reasons = append(reasons, graft.Reason{Says: s})
		}
		return reasons
	}
	want := []graft.Reason{
		{Rule: "impression", Says: "Not before Thursday 4 February 2027.",
			Formula: "2027-01-25 (placement) + 10 days = 2027-02-04; target + 10 days = 2027-02-04; latest + 24 days = 2027-02-18",
			Because: []graft.Reason{{Rule: "impression", Says: "The gum forms first."}}},
		{Says: "Not before Friday 5 February 2027.", Formula: "2027-01-14 (surgery) + 22 days = 2027-02-05", Because: []graft.Reason{{}}},
		{Says: "The floor lies 1 day behind the start of the window, so the whole window moves with it."},
		{Says: "Placed on Wednesday 10 February 2027, shift only later from the target Friday 5 February 2027.",
			Because: because("Fri 5 Feb 2027: the patient cannot come", "Sat 6 Feb 2027: closed on Saturdays", "Sun 7 Feb 2027: closed on Sundays", "Mon 8 Feb 2027 to Tue 9 Feb 2027: closed: refit")},
	}
	if diff := cmp.Diff(want, placed[1].Reasons); diff != "" || len(failed) > 0 {
		t.Errorf("%v\n%s", failed, diff)
	}
	if why := "22 days after surgery; 5 days later: the patient cannot come, closed: refit"; placed[1].Why != why {
		t.Errorf("got %q, want %q", placed[1].Why, why)
	}
	r.On, r.Unavailable = on("2027-02-06"), nil
	placed, _ = placeAll(r, c)
	want[3].Because[0] = graft.Reason{Says: "Nothing is booked before the day of planning, Saturday 6 February 2027."}
	if diff := cmp.Diff(want, placed[1].Reasons); diff != "" {
		t.Error(diff)
	}
	if says := placed[0].Reasons[1].Says; says != "Placed on its target, Wednesday 24 February 2027." {
		t.Errorf("loading: %q", says)
	}
}
