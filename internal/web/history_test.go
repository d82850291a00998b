package web_test

import (
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// TestTheHistoryOfTheClinicComesInPages has more entries than one page takes.
func TestTheHistoryOfTheClinicComesInPages(t *testing.T) {
	s, _, _ := booked(t)
	for range 120 {
		if err := s.keeper.EndAccount(s.actor(nurse), front); err == nil {
			t.Fatal("a nurse ended a sign-in")
		}
	}
	b := s.as(front)
	first := b.get("/clinic/history")
	wantGoodPage(t, first.body)
	if strings.Count(first.body, "<tr") != 101 || !first.says("Earlier entries") || first.says("Later entries") {
		t.Errorf("the first page has %d rows\n%.1500s", strings.Count(first.body, "<tr"), first.main())
	}
	older := wayTo(t, first, "Earlier entries")
	second := b.get(older)
	wantGoodPage(t, second.body)
	if !second.says("Later entries") || second.says("Earlier entries") || second.says("<td>admit</td>") || !second.says("are from") {
		t.Errorf("the second page:\n%.1500s", second.main())
	}
	for range 30 {
		s.keeper.EndAccount(s.actor(nurse), front)
	}
	if again := b.get(older); rowsOf(again) != rowsOf(second) {
		t.Errorf("the second page has changed:\n%.1500s", again.main())
	}
	if back := b.get(wayTo(t, second, "Later entries")); rowsOf(back) != rowsOf(first) || !back.says("Later entries") || !back.says("Earlier entries") {
		t.Errorf("the page before it:\n%.1500s", back.main())
	}
	for _, bad := range []string{"before=0", "before=-1", "after=x", "before=99999999999999999999", "before=1", "after=0"} {
		if got := b.get("/clinic/history?" + bad); got.status != http.StatusNotFound {
			t.Errorf("%s: %d", bad, got.status)
		}
	}
}

// wayTo is the address of a link of a page.
func wayTo(t *testing.T, page answer, says string) string {
	t.Helper()
	found := regexp.MustCompile(`<a href="([^"]+)">` + says).FindStringSubmatch(page.body)
	if found == nil {
		t.Fatalf("no link %q:\n%.1500s", says, page.main())
	}
	return html.UnescapeString(found[1])
}

// rowsOf is the table of a page.
func rowsOf(page answer) string {
	_, rows, _ := strings.Cut(page.body, "<tbody")
	rows, _, _ = strings.Cut(rows, "</tbody>")
	return rows
}

// TestTheHistoryOfACaseComesInPages has more calls than one page takes.
func TestTheHistoryOfACaseComesInPages(t *testing.T) {
	s, id, _ := booked(t)
	for range 120 {
		if _, err := s.keeper.Contact(s.actor(front), id, desk.Choice{Step: graft.WoundCheck}, ledger.NoAnswer, ""); err != nil {
			t.Fatal(err)
		}
	}
	b := s.as(front)
	first := b.get("/case/" + string(id) + "/history")
	wantGoodPage(t, first.body)
	if strings.Count(first.body, "<tr") != 101 || first.says("Later entries") {
		t.Errorf("the first page has %d rows\n%.1500s", strings.Count(first.body, "<tr"), first.main())
	}
	second := b.get(wayTo(t, first, "Earlier entries"))
	wantGoodPage(t, second.body)
	entries, err := s.keeper.History(id)
	if err != nil {
		t.Fatal(err)
	}
	if rows := strings.Count(second.body, "<tr") - 1; rows != len(entries)-100 || second.says("Earlier entries") || rowsOf(b.get(wayTo(t, second, "Later entries"))) != rowsOf(first) {
		t.Errorf("the second page has %d rows of %d\n%.1500s", rows, len(entries), second.main())
	}
}
