package desk_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/sheet"
)

// morningOf is the morning of a new board.
func morningOf(t *testing.T, k *desk.Keeper, on day.Day) desk.Morning {
	t.Helper()
	b := desk.NewBoard(k)
	if left, err := b.Deepen(on, 100); left > 0 || err != nil {
		t.Fatal(left, err)
	}
	m, err := b.Morning(on)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestAVisitThatCannotStayIsStillExpected has one patient who cannot come and takes the
// step of another out of the plan: nobody has told them yet, so they may come. The list
// to print says so too.
func TestAVisitThatCannotStayIsStillExpected(t *testing.T) {
	k, _ := keeping(t)
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	closes := admit(t, k, ida, "fenwick", "patient.unavailable=none")
	gone := admit(t, k, ida, "fenwick", "case=HR-3001", "patient.unavailable=none", "patient.phone=none")
	fits := admit(t, k, ida, "fenwick", "case=HR-3002", "patient.unavailable=none")
	for _, b := range []struct {
		id    graft.CaseID
		step  graft.Step
		clock string
	}{{gone, graft.LateCheck, "09:00"}, {fits, graft.LateCheck, "08:30"}, {closes, graft.LateCheck, "10:00"}} {
		if _, _, err := k.Book(ida, b.id, desk.Choice{Step: b.step}, at("2027-02-11", b.clock), ""); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := k.AddFinding(quill, gone, map[string]string{"what": "left out", "step": "late-check", "day": "2027-01-18"}, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Contact(ida, fits, desk.Choice{Step: graft.LateCheck}, ledger.Confirmed, ""); err != nil {
		t.Fatal(err)
	}
	if _, err := k.Set(ida, closes, []string{"patient.unavailable+=2027-02-11"}, ""); err != nil {
		t.Fatal(err)
	}
	m := morningOf(t, k, on("2027-02-11"))
	var got []string
	for _, v := range m.Visits {
		got = append(got, strings.TrimSpace(v.Slot.Start.String()+" "+string(v.Case)+" "+v.Title()+" "+v.Phone+" "+v.Unfit+map[bool]string{true: " confirmed"}[v.Confirmed]))
	}
	want := []string{
		"08:30 HR-3002 late-check +353 1 555 0141  confirmed", "09:00 HR-3001 late-check  the plan no longer has this step", "10:00 HR-2041 late-check +353 1 555 0141 the patient cannot come",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	printed, err := k.Today(on("2027-02-11"))
	wantCells(t, printed, err, map[string][]string{
		"HR-3002": {"Thu 2027-02-11", "08:30", "Surgery 1", "receive"},
		"HR-3001": {"Thu 2027-02-11", "09:00", "Surgery 1", "receive: does not fit, the plan no longer has this step"},
		"HR-2041": {"Thu 2027-02-11", "10:00", "Surgery 1", "receive: does not fit, the patient cannot come"},
	})
}

// wantCells wants of the first part of a list one row for each of the cases, with its
// day, its time, its room and what is to be done.
func wantCells(t *testing.T, s sheet.Sheet, err error, want map[string][]string) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	got := map[string][]string{}
	for _, row := range s.Sections[0].Rows {
		got[row[2]] = []string{row[0], row[1], row[6], row[9]}
	}
	if len(s.Sections[0].Rows) != len(want) || !maps.EqualFunc(got, want, slices.Equal) {
		t.Errorf("%s\n%v\nwant\n%v", s.Title, got, want)
	}
}

// TestWhatDoesNotFitIsConfirmedWhereItIsBooked has two visits on days on which their
// patients cannot come any more; the plan would have the earlier of them later.
func TestWhatDoesNotFitIsConfirmedWhereItIsBooked(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-02-01")
	for _, b := range []struct {
		change string
		slot   graft.Slot
		away   string
	}{
		{"case=HR-3001", at("2027-02-08", "09:00"), "2027-02-08"}, {"case=HR-3002", at("2027-02-04", "09:30"), "2027-02-04..2027-02-09"}, {"case=HR-3003", at("2027-02-04", "11:00"), ""},
	} {
		id := admit(t, k, ida, "fenwick", b.change, "patient.unavailable=none")
		if _, _, err := k.Book(ida, id, desk.Choice{Step: graft.LateCheck}, b.slot, "the patient asked"); err != nil {
			t.Fatal(err)
		}
		if b.away == "" {
			continue
		}
		if _, err := k.Set(ida, id, []string{"patient.unavailable+=" + b.away}, ""); err != nil {
			t.Fatal(err)
		}
	}
	printed, err := k.Unconfirmed(ida.On)
	wantCells(t, printed, err, map[string][]string{
		"HR-3003": {"Thu 2027-02-04", "11:00", "Surgery 1", "confirm: not called yet"},
		"HR-3002": {"Thu 2027-02-04", "09:30", "Surgery 1", "call: does not fit, the patient cannot come; not called yet"},
		"HR-3001": {"Mon 2027-02-08", "09:00", "Surgery 1", "call: does not fit, the patient cannot come; not called yet"},
	})
	var order []string
	for _, row := range printed.Sections[0].Rows {
		order = append(order, row[2])
	}
	if want := []string{"HR-3002", "HR-3003", "HR-3001"}; !slices.Equal(order, want) {
		t.Errorf("in the order %v, want that of the days, %v", order, want)
	}
}

// TestOverdueWithoutAFreeDayStaysOnTheList closes the clinic for two months: what is
// overdue has no day within the four weeks in which it is still wanted.
func TestOverdueWithoutAFreeDayStaysOnTheList(t *testing.T) {
	c := demoClinic(t)
	c.Closures = append(slices.Clone(c.Closures), clinic.Closure{From: on("2027-03-01"), To: on("2027-04-30"), Name: "works"})
	_, store := keeping(t)
	k := desk.NewKeeper(desk.New(c, protocol.Default()), store)
	id := admit(t, k, acting(t, k, "Ida Marlow", "2027-01-18"), "fenwick", "patient.unavailable=none")
	const noDay = ", no free day left in the next 28 days, late since "
	want := []string{
		"no day | phone-call | do: early check missed" + noDay + "Mon 2027-01-18",
		"no day | late-check | make room or offer a later day: early check missed" + noDay + "Sat 2027-02-13",
		"no day | wound-check | make room or offer a later day: stitches past their time" + noDay + "Thu 2027-01-28",
	}
	printed, err := k.Overdue(on("2027-03-15"))
	var got []string
	for _, row := range printed.Sections[0].Rows {
		got = append(got, row[0]+" | "+row[4]+" | "+row[9])
	}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("%v\n%s\nwant\n%s", err, strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	m := morningOf(t, k, on("2027-03-15"))
	var calls []string
	for _, l := range m.Calls {
		calls = append(calls, l.Title()+" "+string(l.List))
	}
	if want := []string{"phone-call overdue", "late-check overdue", "wound-check overdue"}; !slices.Equal(calls, want) {
		t.Errorf("to call: %v, want %v", calls, want)
	}
	live, err := k.Live(id, on("2027-03-15"))
	if err != nil {
		t.Fatal(err)
	}
	late, _ := live.Timeline.Find(graft.MilestoneIDOf(graft.LateCheck, "", ""))
	offers, err := live.Offers(late, day.Span{From: on("2027-03-15"), To: on("2027-05-14")}, 1)
	if err != nil || len(offers) != 1 || offers[0].Day != on("2027-05-04") {
		t.Errorf("a later day: %v, %v", offers, err)
	}
}
