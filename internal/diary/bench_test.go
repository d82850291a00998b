package diary_test

import (
	"testing"
	"time"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// quayside is an invented clinic on a real calendar.
func quayside(t testing.TB) *clinic.Calendar {
	t.Helper()
	full, err := day.ParseHours("08:30-12:30")
	if err != nil {
		t.Fatal(err)
	}
	open := []day.Hours{full}
	check := clinic.Visit{Minutes: 30, Role: "nurse"}
	surgery := clinic.Visit{Minutes: 90, Room: "surgery", Role: "surgeon"}
	c, err := clinic.New(clinic.Settings{
		Name: "Quayside Oral Surgery", Zone: "Europe/Dublin", Region: "IE",
		Hours:    clinic.Week{time.Monday: open, time.Tuesday: open, time.Wednesday: open, time.Thursday: open, time.Friday: open},
		Closures: []clinic.Closure{{From: on("2027-08-02"), To: on("2027-08-20"), Name: "Summer closure"}, {From: on("2027-12-24"), To: on("2028-01-02"), Name: "Christmas closure"}},
		Rooms:    []clinic.Room{{Name: "Surgery 1", For: []string{"surgery"}}},
		People: []clinic.Person{
			{Name: "Dr Ione Marrow", Role: "surgeon", Days: day.WeekdaySet(time.Monday, time.Tuesday, time.Wednesday, time.Thursday)},
			{Name: "Nurse Ash Pell", Role: "nurse"},
		},
		Visits: map[string]clinic.Visit{"check": check, "surgery": surgery},
	}, span("2026-01-01..2038-12-31"))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// fullCase is a staged case from the first call to the recall after two years,
// the steps in the wrong order.
func fullCase() diary.Request {
	r := diary.Request{Surgery: on("2027-02-02"), On: on("2027-02-03"), Closure: 2, FirmWithin: day.Period{Days: 42}}
	r.Unavailable = []day.Span{span("2027-02-11..2027-02-12")}
	add := func(id graft.MilestoneID, shift graft.Shift, waits ...graft.Wait) *graft.Milestone {
		r.Milestones = append([]graft.Milestone{step(id, shift, waits...)}, r.Milestones...)
		return &r.Milestones[0]
	}
	operation := func(id graft.MilestoneID, waits ...graft.Wait) {
		m := add(id, graft.OnlyLater, waits...)
		m.Surgical, m.Visit = true, "surgery"
	}
	decision := func(id, before graft.MilestoneID) {
		m := add(id, graft.Earlier, days(before, -28, -28, -14, -7))
		m.Visit, m.Role = "", "surgeon"
	}
	add("phone-call", graft.Afterwards, gate(graft.SurgeryDay, 1, 4)).Visit = ""
	add("wound-check", graft.Nearest, days(graft.SurgeryDay, 7, 7, 10, 14))
	add("late-check", graft.Nearest, days(graft.SurgeryDay, 21, 21, 28, 30))
	add("healing-review", graft.Nearest, days(graft.SurgeryDay, 50, 50, 60, 80))
	operation("placement", gate(graft.SurgeryDay, 205, 247), gate(graft.SurgeryDay, 183, 225))
	decision("imaging before placement", "placement")
	operation("uncovering", gate("placement", 122, 164))
	decision("imaging before uncovering", "uncovering")
	add("impression", graft.OnlyLater, days("uncovering", 14, 14, 21, 28))
	add("first-loading", graft.OnlyLater, days("impression", 7, 7, 14, 21), floor("placement", 62))
	decision("imaging before first loading", "first-loading")
	add("recall 14 days", graft.Nearest, days("first-loading", 10, 10, 14, 21))
	for id, n := range map[graft.MilestoneID]int{"recall 3 months": 3, "recall 6 months": 6, "recall 12 months": 12, "recall 18 months": 18, "recall 24 months": 24} {
		in := func(days int) day.Period { return day.Period{Months: n, Days: days} }
		add(id, graft.Nearest, graft.Wait{From: "first-loading", NotBefore: in(-14), Earliest: in(-14), Target: in(0), Latest: in(28)})
	}
	decision("imaging before recall 12 months", "recall 12 months")
	return r
}

func TestFullCaseOnARealCalendar(t *testing.T) {
	placed, failed := placeAll(fullCase(), quayside(t))
	if len(failed) > 0 {
		t.Error(failed)
	}
	for _, tc := range []struct {
		id       graft.MilestoneID
		day, why string
	}{
		{"phone-call", "2027-02-03", "1 day after surgery"},
		{"wound-check", "2027-02-10", "10 days after surgery; 2 days earlier: the patient cannot come"},
		{"late-check", "2027-03-02", "28 days after surgery"},
		{"healing-review", "2027-04-02", "60 days after surgery; 1 day earlier: closed on Saturdays"},
		{"placement", "2027-08-26", "205 days after surgery"},
		{"imaging before placement", "2027-07-29", "14 days before placement; 14 days earlier: no surgeon in on Fridays, closed: Summer closure"},
		{"uncovering", "2028-01-03", "122 days after placement; 8 days later: closed: Christmas closure"},
		{"imaging before uncovering", "2027-12-20", "14 days before uncovering"},
		{"impression", "2028-01-24", "21 days after uncovering"},
		{"first-loading", "2028-02-08", "14 days after impression; 1 day later: closed: Saint Brigid’s Day"},
		{"recall 24 months", "2030-02-08", "24 months after first-loading"},
	} {
		if m := find(t, placed, tc.id); m.Placed != on(tc.day) || m.Why != tc.why {
			t.Errorf("%s: got %s, %q; want %s, %q", tc.id, m.Placed, m.Why, tc.day, tc.why)
		}
	}
}
