package desk_test

import (
	"fmt"
	"slices"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// TestTheHistoryIsReadPageByPage goes from the latest entry to the first and back, while
// others add to the history, of a case and of none.
func TestTheHistoryIsReadPageByPage(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	about := []graft.CaseID{id, "", "HR-9"}
	happens := func(times int) {
		t.Helper()
		if err := store.Act(func(w desk.Writing) error {
			for n := range times {
				if err := w.AddEntry(ledger.Entry{At: ida.At, By: ida.Person, Case: about[n%len(about)], What: "test"}); err != nil {
					return err
				}
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
	}
	happens(40)
	for _, id := range about[:2] {
		for _, most := range []int{1, 3, 7, 100} {
			all := entriesAbout(t, k, id)
			pages := pagesBack(t, k, id, most, func() { happens(5) })
			if got := slices.Concat(pages...); fmt.Sprint(got) != fmt.Sprint(all) {
				t.Errorf("%q, %d a page: %v; want %v", id, most, got, all)
			}
			wantWayForth(t, k, id, most, pages[len(pages)-1])
		}
	}
	_, err := k.HistoryPage("HR-9", desk.Beside{}, 10)
	refusalOf(t, err, graft.NotFound, "HR-9")
}

// pagesBack goes from the latest page to the first entry; something happens at each.
func pagesBack(t *testing.T, k *desk.Keeper, id graft.CaseID, most int, happens func()) (pages [][]int64) {
	t.Helper()
	var at desk.Beside
	for {
		page, err := k.HistoryPage(id, at, most)
		if err != nil || len(page.Entries) == 0 || len(page.Entries) > most || page.Newer != (len(pages) > 0) {
			t.Fatalf("%q, %+v: %+v, %v", id, at, page, err)
		}
		pages = append(pages, seqsOf(page.Entries))
		if !page.Older {
			return pages
		}
		happens()
		at = desk.Beside{Before: page.Entries[len(page.Entries)-1].Seq}
		again, err := k.HistoryPage(id, desk.Beside{After: at.Before - 1}, most)
		if err != nil || len(pages) > 1 && fmt.Sprint(seqsOf(again.Entries)) != fmt.Sprint(pages[len(pages)-1]) {
			t.Errorf("%q, after %d: %v, %v; want %v", id, at.Before-1, seqsOf(again.Entries), err, pages[len(pages)-1])
		}
	}
}

// wantWayForth goes from the page with the first entries on to the latest page.
func wantWayForth(t *testing.T, k *desk.Keeper, id graft.CaseID, most int, first []int64) {
	t.Helper()
	seen, latest := slices.Clone(first), first[0]
	for {
		page, err := k.HistoryPage(id, desk.Beside{After: latest}, most)
		if err != nil || !page.Older && len(page.Entries) == most {
			t.Fatalf("%q after %d: %+v, %v", id, latest, page, err)
		}
		if page.Newer && page.Entries[0].Seq <= latest {
			t.Fatalf("%q after %d: %+v", id, latest, page)
		}
		seen, latest = append(seqsOf(page.Entries), seen...), page.Entries[0].Seq
		if !page.Newer {
			break
		}
	}
	slices.Sort(seen)
	seen = slices.Compact(seen) // the latest page is whole, and so holds some of the one before
	all := entriesAbout(t, k, id)
	slices.Reverse(all)
	if fmt.Sprint(seen) != fmt.Sprint(all) {
		t.Errorf("%q, %d a page, forth: %v; want %v", id, most, seen, all)
	}
}

// entriesAbout are the numbers of the entries about a case, or about none, the latest
// first.
func entriesAbout(t *testing.T, k *desk.Keeper, id graft.CaseID) []int64 {
	t.Helper()
	all, err := k.History("")
	if err != nil {
		t.Fatal(err)
	}
	all = slices.DeleteFunc(all, func(e ledger.Entry) bool { return e.Case != id })
	slices.Reverse(all)
	return seqsOf(all)
}

func seqsOf(entries []ledger.Entry) (numbers []int64) {
	for _, e := range entries {
		numbers = append(numbers, e.Seq)
	}
	return numbers
}
