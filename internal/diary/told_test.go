package diary_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// surgeryRow is a practice that is open every day but Sundays, with one surgeon and
// one theatre.
func surgeryRow() practice {
	p := practice{Grid: 15, Staff: map[string][]string{"surgeon": {"Dr Alba Quill"}, "nurse": {"Nurse Wyn Tate"}, "theatre": {"Surgery 1"}},
		Visits: map[string]treatment{"check": {30, "", "nurse"}, "operation": {60, "theatre", "surgeon"}},
		Shut:   map[day.Day]string{}, Out: map[day.Day][]string{}, Hours: []day.Hours{{From: 480, To: 600}, {From: 660, To: 720}}}
	for d := on("2027-02-01"); d.Before(on("2027-06-01")); d = d.AddDays(1) {
		if d.Weekday() == 0 {
			p.Shut[d] = "closed on Sundays"
		}
	}
	return p
}

// operated is a case with one operation, 10 to 20 days after the surgery.
func operated() diary.Request {
	m := step("uncovering", graft.OnlyLater, gate(graft.SurgeryDay, 10, 20))
	m.Visit, m.Surgical = "operation", true
	return diary.Request{Case: "HR-1", Surgery: on("2027-03-01"), On: on("2027-03-01"), FirmWithin: day.Period{Days: 14}, Milestones: []graft.Milestone{m}}
}

func slot(d string, start day.Clock, minutes int, room, person string) graft.Slot {
	return graft.Slot{Day: on(d), Start: start, Minutes: minutes, Room: room, Person: person}
}

func TestTakenSlotsAreGoneRound(t *testing.T) {
	r := operated()
	r.Book = diary.NewBook([]diary.Taken{
		{Slot: slot("2027-03-11", 480, 120, "Surgery 1", ""), Case: "HR-2", Says: "HR-2 Teni Okafor, uncovering"},
		{Slot: slot("2027-03-11", 690, 30, "", "Dr Alba Quill")},
		{Slot: slot("2027-03-12", 480, 60, "Surgery 1", ""), Case: "HR-2"},
		{Slot: slot("2027-03-12", 540, 180, "Surgery 1", "Dr Alba Quill"), Case: "HR-1"},
	})
	p := diary.PlaceAll(r, surgeryRow())
	m := p.Milestones[0]
	if want := slot("2027-03-12", 540, 60, "Surgery 1", "Dr Alba Quill"); m.Slot != want || m.Placed != want.Day || !m.Firm {
		t.Errorf("got %v, firm %v, want %v", m.Slot, m.Firm, want)
	}
	if want := "10 days after surgery; 1 day later: no time is free"; m.Why != want {
		t.Errorf("got %q, want %q", m.Why, want)
	}
	if p.Trips != 1 || p.Distance != 1 {
		t.Errorf("%d trips, %d days", p.Trips, p.Distance)
	}
}

func TestBookedVisitsStayOrAreToldWhyNot(t *testing.T) {
	booked := slot("2027-03-15", 540, 60, "Surgery 1", "Dr Alba Quill")
	window := graft.Window{NotBefore: on("2027-03-11"), Earliest: on("2027-03-11"), Target: on("2027-03-11"), Latest: on("2027-03-21")}
	for _, tc := range []struct {
		name  string
		spoil func(r *diary.Request, c *practice)
		says  string
		day   string
	}{
		{"stays though its target is free", func(*diary.Request, *practice) {}, "", "2027-03-15"},
		{"stays outside a window that it was booked outside of", func(r *diary.Request, _ *practice) {
			r.Milestones[0].Waits[0] = gate(graft.SurgeryDay, 2, 10)
			r.Booked["uncovering"] = diary.Booked{Slot: booked, Window: graft.Window{Latest: on("2027-03-11")}}
		}, "", "2027-03-15"},
		{"goes further outside than it was", func(r *diary.Request, _ *practice) {
			r.Milestones[0].Waits[0] = gate(graft.SurgeryDay, 2, 9)
			r.Booked["uncovering"] = diary.Booked{Slot: booked, Window: graft.Window{Latest: on("2027-03-11")}}
		}, "after its window ended 2027-03-10", "2027-03-03"},
		{"before its gate", func(r *diary.Request, _ *practice) { r.Milestones[0].Waits[0] = gate(graft.SurgeryDay, 16, 30) },
			"before its gate 2027-03-17", "2027-03-17"},
		{"below its hard floor", func(r *diary.Request, _ *practice) {
			hard := floor(graft.SurgeryDay, 17)
			hard.Hard = true
			r.Milestones[0].Waits = append(r.Milestones[0].Waits, hard)
		}, "below its hard floor 2027-03-18", "2027-03-18"},
		{"below its hard floor, and before its gate when it was booked", func(r *diary.Request, _ *practice) {
			hard := floor(graft.SurgeryDay, 17)
			hard.Hard = true
			r.Milestones[0].Waits = append(r.Milestones[0].Waits, hard)
			r.Booked["uncovering"] = diary.Booked{Slot: booked, Window: graft.Window{NotBefore: on("2027-03-20"), Latest: on("2027-03-30")}}
		}, "below its hard floor 2027-03-18", "2027-03-18"},
		{"closed", func(_ *diary.Request, c *practice) { c.Shut[booked.Day] = "closed: refit" }, "closed: refit", "2027-03-11"},
		{"nobody of its role in", func(_ *diary.Request, c *practice) { c.Out[booked.Day] = []string{"Dr Alba Quill"} }, "no surgeon", "2027-03-11"},
		{"its person is not in, another is", func(_ *diary.Request, c *practice) {
			c.Staff["surgeon"] = []string{"Dr Alba Quill", "Dr Ione Marrow"}
			c.Out[booked.Day] = []string{"Dr Alba Quill"}
		}, "Dr Alba Quill is not in", "2027-03-11"},
		{"its time is no longer open", func(_ *diary.Request, c *practice) { c.Hours = []day.Hours{{From: 480, To: 540}} }, "not open 09:00-10:00", "2027-03-11"},
		{"taken", func(r *diary.Request, _ *practice) {
			r.Book = diary.NewBook([]diary.Taken{{Slot: slot("2027-03-15", 570, 30, "Surgery 1", ""), Case: "HR-2", Says: "HR-2 Teni Okafor, uncovering"}})
		}, "Surgery 1 is taken 09:30-10:00: HR-2 Teni Okafor, uncovering", "2027-03-11"},
		{"the patient is away", func(r *diary.Request, _ *practice) { r.Unavailable = []day.Span{span("2027-03-15")} }, "the patient cannot come", "2027-03-11"},
		{"a day that is past is a fact", func(r *diary.Request, c *practice) {
			r.On = on("2027-03-16")
			c.Shut[booked.Day] = "closed: refit"
		}, "", "2027-03-15"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r, c := operated(), surgeryRow()
			r.Booked = map[graft.MilestoneID]diary.Booked{"uncovering": {Slot: booked, Window: window}}
			tc.spoil(&r, &c)
			p := diary.PlaceAll(r, c)
			var want []diary.Misfit
			if tc.says != "" {
				want = []diary.Misfit{{ID: "uncovering", Booked: booked, Says: tc.says}}
			}
			if diff := cmp.Diff(want, p.Misfits, cmp.AllowUnexported(day.Day{})); diff != "" {
				t.Error(diff)
			}
			if m := p.Milestones[0]; m.Placed != on(tc.day) || m.Booked != (tc.says == "") || m.Slot.Day != m.Placed {
				t.Errorf("got %s, booked %v, %v", m.Placed, m.Booked, m.Slot)
			}
		})
	}
}

// Two visits are booked at times that meet, so one moves. A third can come that day
// too, but only beside one of the two.
func TestWhichOfTwoBookedVisitsStaysMatters(t *testing.T) {
	late := slot("2027-03-12", 540, 60, "Surgery 1", "Dr Alba Quill")
	early := slot("2027-03-12", 510, 60, "Surgery 1", "Dr Alba Quill")
	for _, booked := range [][2]graft.Slot{{late, early}, {early, late}} {
		r, c := operated(), surgeryRow()
		c.Hours = c.Hours[:1]
		for d := on("2027-03-02"); d.Before(on("2027-04-01")); d = d.AddDays(1) {
			if d != late.Day && d != late.Day.AddDays(1) {
				c.Shut[d] = "closed: refit"
			}
		}
		second, third := r.Milestones[0], r.Milestones[0]
		second.ID, third.ID = "v", "w"
		inside := graft.Window{NotBefore: on("2027-03-11"), Latest: on("2027-03-21")}
		third.Waits = []graft.Wait{gate(graft.SurgeryDay, 11, 11)}
		r.Milestones = append(r.Milestones, second, third)
		r.Booked = map[graft.MilestoneID]diary.Booked{"uncovering": {Slot: booked[0], Window: inside}, "v": {Slot: booked[1], Window: inside}}
		p := diary.PlaceAll(r, c)
		w := find(t, p.Milestones, "w")
		if w.Placed != late.Day || w.Slot.Start != 480 || len(p.Misfits) != 1 || p.Misfits[0].Booked != early {
			t.Errorf("w on %v, misfits %v", w.Slot, p.Misfits)
		}
	}
}

func TestTheSurgeonsOwnDay(t *testing.T) {
	for _, tc := range []struct {
		name, day, target, latest string
	}{
		{"later, and the window ends as much later", "2027-03-16", "2027-03-16", "2027-03-26"},
		{"before the gate, and the window ends as much earlier", "2027-03-08", "2027-03-08", "2027-03-18"},
		{"not below the hard floor", "2027-03-02", "2027-03-06", "2027-03-16"},
		{"after the window's end", "2027-04-01", "2027-04-01", "2027-04-11"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r := operated()
			hard := floor(graft.SurgeryDay, 5)
			hard.Hard = true
			r.Milestones[0].Waits = append(r.Milestones[0].Waits, hard)
			r.Overrides = map[graft.MilestoneID]graft.Override{"uncovering": {Day: on(tc.day), By: "Dr Alba Quill", On: on("2027-03-01"), Why: "the wound"}}
			m := diary.PlaceAll(r, surgeryRow()).Milestones[0]
			if want := window(tc.target, tc.target, tc.target, tc.latest); m.Window != want || m.Placed != on(tc.target) {
				t.Errorf("on %s in %v, want %v", m.Placed, m.Window, want)
			}
			if want := window("2027-03-11", "2027-03-11", "2027-03-11", "2027-03-21"); m.Override == nil || m.Override.Computed != want {
				t.Errorf("override %v", m.Override)
			}
			if says := m.Reasons[len(m.Reasons)-2].Says; !strings.HasPrefix(says, "Set by Dr Alba Quill on 2027-03-01 to "+diary.Long(on(tc.day))+": the wound; the rules say 2027-03-11") {
				t.Error(says)
			}
		})
	}
}

func TestPreferredDaysLeftOutAreExplained(t *testing.T) {
	pair := func() diary.Request {
		r := operated()
		check := step("check", graft.Nearest, days(graft.SurgeryDay, 5, 5, 9, 14))
		r.Milestones = append(r.Milestones, check)
		return r
	}
	for _, tc := range []struct {
		name  string
		spoil func(r *diary.Request, c *practice)
		id    graft.MilestoneID
		why   string
	}{
		{"a trip is saved", func(*diary.Request, *practice) {}, "check", "9 days after surgery; 1 day later: one trip more"},
		{"another step would have no day", func(r *diary.Request, c *practice) {
			r.Milestones[0].Waits[0] = gate("check", 1, 2)
			for _, d := range []string{"2027-03-11", "2027-03-12"} {
				c.Out[on(d)] = []string{"Surgery 1"}
			}
		}, "check", "9 days after surgery; 1 day earlier: leaves no day for uncovering"},
		{"the whole would be further from its wishes", func(r *diary.Request, c *practice) {
			r.Milestones[0].Waits[0] = gate("check", 2, 9)
			for _, d := range []string{"2027-03-12", "2027-03-13", "2027-03-15", "2027-03-16"} {
				c.Out[on(d)] = []string{"Surgery 1"}
			}
		}, "check", "9 days after surgery; 1 day earlier: 4 days further in all"},
		{"a booked visit would move", func(r *diary.Request, c *practice) {
			r.Milestones[0].Waits[0] = gate("check", 2, 9)
			r.Booked = map[graft.MilestoneID]diary.Booked{"uncovering": {Slot: slot("2027-03-11", 480, 60, "Surgery 1", "Dr Alba Quill")}}
			c.Shut[on("2027-03-09")] = "closed: refit"
		}, "check", "9 days after surgery; 2 days earlier: closed: refit, one booked visit would move"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r, c := pair(), surgeryRow()
			tc.spoil(&r, &c)
			if m := find(t, diary.PlaceAll(r, c).Milestones, tc.id); m.Why != tc.why {
				t.Errorf("on %s: got %q, want %q", m.Placed, m.Why, tc.why)
			}
		})
	}
}

func TestAtSaysEverythingInTheWay(t *testing.T) {
	r := operated()
	r.Milestones = append(r.Milestones, step("check", graft.Nearest, days(graft.SurgeryDay, 5, 5, 9, 14)))
	r.Booked = map[graft.MilestoneID]diary.Booked{"check": {Slot: slot("2027-03-12", 495, 30, "", "Nurse Wyn Tate")}}
	r.Unavailable = []day.Span{span("2027-03-16")}
	r.Book = diary.NewBook([]diary.Taken{
		{Slot: slot("2027-03-11", 480, 45, "Surgery 1", ""), Case: "HR-2", Says: "HR-2 Teni Okafor, uncovering"},
		{Slot: slot("2027-03-11", 500, 30, "", "Dr Alba Quill")},
	})
	free := slot("2027-03-11", 660, 60, "Surgery 1", "Dr Alba Quill")
	for _, tc := range []struct {
		name string
		id   graft.MilestoneID
		want graft.Slot
		slot graft.Slot
		says []string
	}{
		{"free", "uncovering", slot("2027-03-11", 660, 0, "", ""), free, nil},
		{"asked for by name", "uncovering", slot("2027-03-11", 660, 0, "Surgery 1", "Dr Alba Quill"), free, nil},
		{"somebody else by name", "uncovering", slot("2027-03-11", 660, 0, "", "Nurse Wyn Tate"), graft.Slot{}, []string{"Nurse Wyn Tate cannot be had for it that day"}},
		{"room and person taken", "uncovering", slot("2027-03-11", 495, 0, "", ""), graft.Slot{}, []string{"Surgery 1 is taken 08:00-08:45: HR-2 Teni Okafor, uncovering", "Dr Alba Quill is taken 08:20-08:50"}},
		{"off the grid and not open so long", "uncovering", slot("2027-03-12", 550, 0, "", ""), graft.Slot{}, []string{"visits start every 15 minutes", "open 08:00-10:00, 11:00-12:00 only"}},
		{"the patient is with somebody else", "uncovering", slot("2027-03-12", 480, 0, "", ""), graft.Slot{}, []string{"the patient has check 08:15-08:45"}},
		{"away", "uncovering", slot("2027-03-16", 480, 0, "", ""), graft.Slot{}, []string{"the patient cannot come"}},
		{"closed", "uncovering", slot("2027-03-14", 480, 0, "", ""), graft.Slot{}, []string{"closed on Sundays"}},
		{"unknown", "loading", slot("2027-03-14", 480, 0, "", ""), graft.Slot{}, []string{"the plan has no loading"}},
	} {
		got, says := diary.At(r, surgeryRow(), tc.id, tc.want)
		if diff := cmp.Diff(tc.says, says); diff != "" || got != tc.slot {
			t.Errorf("%s: got %v\n%s", tc.name, got, diff)
		}
	}
}

func TestOffersSayHowTheyLie(t *testing.T) {
	r := operated()
	r.Milestones = append(r.Milestones, step("check", graft.Nearest, days(graft.SurgeryDay, 5, 5, 12, 14)))
	r.Booked = map[graft.MilestoneID]diary.Booked{"check": {Slot: slot("2027-03-13", 480, 30, "", "Nurse Wyn Tate")}}
	hard := floor(graft.SurgeryDay, 8)
	hard.Hard = true
	r.Milestones[0].Waits = append(r.Milestones[0].Waits, hard)
	offers, err := diary.Slots(r, surgeryRow(), "uncovering", span("2027-03-08..2027-03-23"), 0)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, o := range offers {
		got[o.Day.String()] = o.Says
	}
	for d, says := range map[string]string{
		"2027-03-08": "3 days before target; below the hard floor",
		"2027-03-10": "1 day before target; before the gate",
		"2027-03-11": "on target",
		"2027-03-12": "1 day after target; inside",
		"2027-03-13": "2 days after target; inside; one trip with check",
		"2027-03-23": "12 days after target; 2 days after the window",
	} {
		if got[d] != says {
			t.Errorf("%s: got %q, want %q", d, got[d], says)
		}
	}
	if offers[0].Day != on("2027-03-13") || offers[0].Start != 510 {
		t.Errorf("first: %v", offers[0].Slot)
	}
	for _, id := range []graft.MilestoneID{"loading", ""} {
		if _, err := diary.Slots(r, surgeryRow(), id, day.Span{}, 3); err == nil {
			t.Errorf("%q was offered", id)
		}
	}
}

func TestUndisturbedStandsOnItsTargets(t *testing.T) {
	r := chained()
	r.Milestones[1].Attended = on("2027-02-06")
	r.Milestones = append(r.Milestones, step("lost", graft.Nearest, gate("nobody", 1, 2)))
	var got []string
	for _, m := range diary.Undisturbed(r.Milestones, r.Surgery) {
		got = append(got, m.Placed.String())
	}
	if diff := cmp.Diff([]string{"2027-02-20", "2027-02-06", "2027-01-24", "-"}, got); diff != "" {
		t.Error(diff)
	}
}
