package desk_test

import (
	"slices"
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
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
// to print has only what fits.
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
	if err != nil || len(printed.Sections[0].Rows) != 1 || printed.Sections[0].Rows[0][2] != string(fits) {
		t.Errorf("to print: %v, %v", printed.Sections, err)
	}
}
