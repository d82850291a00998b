package desk_test

import (
	"fmt"
	"slices"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// register is a clinic of six patients on 20 February 2027, of whom one is approved.
func register(t *testing.T) (*desk.Keeper, *desk.Board, day.Day) {
	t.Helper()
	k, _ := keeping(t)
	today := on("2027-02-20")
	ida, quill := acting(t, k, "Ida Marlow", "2027-02-20"), acting(t, k, "Dr Alba Quill", "2027-02-20")
	for _, r := range [][]string{
		{"fenwick", "case=HR-2041", "patient.name=Nora Fenwick", "surgery.day=2027-01-14"},
		{"marsh", "case=HR-2042", "patient.name=Noël Grześkowiak"},
		{"marsh", "case=HR-2043", "patient.name=Íñigo Núñez", "surgery.surgeon=Dr Orla Finch"},
		{"marsh", "case=HR-3041", "patient.name=Anke Großmüller"},
		{"doyle", "case=HR-9001"},
		{"marsh", "case=HR-1001", "patient.name=Ansel Fenwick", "surgery.day=2027-12-01"},
	} {
		admit(t, k, ida, r[0], r[1:]...)
	}
	if _, err := k.Approve(quill, "HR-2042"); err != nil {
		t.Fatal(err)
	}
	b := desk.NewBoard(k)
	if left, err := b.Deepen(today, 100); left > 0 || err != nil {
		t.Fatal(left, err)
	}
	return k, b, today
}

func numbers(found []desk.Found) []graft.CaseID {
	var list []graft.CaseID
	for _, f := range found {
		list = append(list, f.Case)
	}
	return list
}

func TestFindByNameNumberAndFilter(t *testing.T) {
	_, b, _ := register(t)
	for _, c := range []struct {
		typed  string
		filter desk.Filter
		want   []graft.CaseID
	}{
		{"", desk.Filter{}, []graft.CaseID{"HR-1001", "HR-2041", "HR-2042", "HR-2043", "HR-3041", "HR-9001"}},
		{"fenwick", desk.Filter{}, []graft.CaseID{"HR-1001", "HR-2041"}}, // both as typed: by name
		{"nora fenwick", desk.Filter{}, []graft.CaseID{"HR-2041"}},
		{"noel grzeskowiak", desk.Filter{}, []graft.CaseID{"HR-2042"}},
		{"nunez", desk.Filter{}, []graft.CaseID{"HR-2043"}},
		{"großm", desk.Filter{}, []graft.CaseID{"HR-3041"}},
		{"2041", desk.Filter{}, []graft.CaseID{"HR-2041"}},
		{"204", desk.Filter{}, []graft.CaseID{"HR-2043", "HR-2042", "HR-2041"}}, // Íñigo, Noël, Nora
		{"-", desk.Filter{}, nil},
		{"", desk.Filter{Waiting: true}, []graft.CaseID{"HR-1001", "HR-2041", "HR-2043", "HR-3041", "HR-9001"}},
		{"", desk.Filter{Overdue: true}, []graft.CaseID{"HR-2041"}},
		{"", desk.Filter{InWindow: true}, []graft.CaseID{"HR-2041"}},
		{"fenwick", desk.Filter{Overdue: true}, []graft.CaseID{"HR-2041"}},
		{"", desk.Filter{Surgeon: "Dr Orla Finch"}, []graft.CaseID{"HR-2043"}},
		{"fenwick", desk.Filter{Surgeon: "Dr Orla Finch"}, nil},
	} {
		if got := numbers(b.Find(c.typed, c.filter)); !slices.Equal(got, c.want) {
			t.Errorf("%q %+v: found %v, want %v", c.typed, c.filter, got, c.want)
		}
	}
	if got := b.Surgeons(); !slices.Equal(got, []string{"Dr Alba Quill", "Dr Orla Finch"}) {
		t.Errorf("surgeons %v", got)
	}
}

// TestFiltersSayWhatTheCasesAre holds what is found to the cases themselves.
func TestFiltersSayWhatTheCasesAre(t *testing.T) {
	k, b, today := register(t)
	for _, f := range b.Find("", desk.Filter{}) {
		live, err := k.Live(f.Case, today)
		if err != nil {
			t.Fatal(err)
		}
		inWindow := false
		next := desk.Next{}
		for _, m := range live.Timeline.Milestones {
			if !m.Attended.IsZero() {
				continue
			}
			w := m.Window
			inWindow = inWindow || !w.Latest.IsZero() && !w.Earliest.After(on("2027-02-28")) && !w.Latest.Before(on("2027-02-01"))
			if next.Day.IsZero() || !m.Placed.IsZero() && m.Placed.Before(next.Day) {
				next = desk.Next{Title: m.Title(), Day: m.Placed, Booked: m.Booked}
			}
		}
		want := fmt.Sprint(live.Case.Patient.Phone, live.Kept.Head, live.Case.Surgery.Day, live.Approval == nil, inWindow, next)
		if got := fmt.Sprint(f.Phone, f.Head, f.Surgery, f.Waiting, f.InWindow, f.Next); got != want || f.Stale || f.Planned != today {
			t.Errorf("%s: got %s, want %s; %+v", f.Case, got, want, f)
		}
	}
}

// TestNamesAreFoundBeforeTheyArePlanned looks at a board that has only been caught.
func TestNamesAreFoundBeforeTheyArePlanned(t *testing.T) {
	k, _, today := register(t)
	b := desk.NewBoard(k)
	if found := b.Find("fenwick", desk.Filter{}); len(found) != 0 {
		t.Errorf("found on an empty board: %v", found)
	}
	if err := b.Catch(today); err != nil {
		t.Fatal(err)
	}
	found := b.Find("fenwick", desk.Filter{})
	if got := numbers(found); !slices.Equal(got, []graft.CaseID{"HR-1001", "HR-2041"}) || !found[0].Stale || found[0].Patient != "Ansel Fenwick" || found[0].Head == 0 {
		t.Errorf("found %+v", found)
	}
	if found := b.Find("fenwick", desk.Filter{Waiting: true}); len(found) != 0 {
		t.Errorf("passed a filter before it was planned: %v", found)
	}
	if done, all := b.Ready(); done != 0 || all != 6 {
		t.Errorf("%d of %d are ready", done, all)
	}
}
