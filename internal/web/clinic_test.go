package web_test

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/ledger"
)

// TestAPreviewListsExactlyWhatIsHit closes the clinic on the day of one of two booked
// visits: the preview names that one, keeps nothing, and is right.
func TestAPreviewListsExactlyWhatIsHit(t *testing.T) {
	s, id, slot := booked(t)
	b := s.as(front)
	text, entries := s.clinicText(), len(s.entries())
	form := closing(slot.Day.AddDays(-1), slot.Day.AddDays(1), "Boiler")
	preview := b.post("/clinic/change/close", form)
	wantGoodPage(t, preview.body)
	if preview.status != http.StatusOK || !preview.says("1 booked visit could not be held any more") || !preview.says("Wound check") || preview.says("Late check") || !preview.says(string(id)) {
		t.Errorf("the preview is not of the one visit: %d\n%s", preview.status, preview.main())
	}
	if s.clinicText() != text || len(s.entries()) != entries {
		t.Errorf("the preview kept something: %v", s.entries())
	}
	kept := keep(t, b, preview, "/clinic/change/close")
	if kept.path != "/clinic/hit" || !kept.says("1 booked visit no longer fits") {
		t.Errorf("after keeping: %s\n%s", kept.path, kept.main())
	}
	hits, err := s.house().Hits(day.Of(s.clock.now()))
	if err != nil || len(hits) != 1 || hits[0].Was.Day != slot.Day {
		t.Errorf("hit are %v, %v", hits, err)
	}
	wantGoodPage(t, kept.body)
}

// TestAClosureIsKeptAndSettled takes the whole road, and wants comments and order of the
// clinic file to stay.
func TestAClosureIsKeptAndSettled(t *testing.T) {
	s, id, slot := booked(t)
	b := s.as(front)
	before := s.clinicText()
	to := "/clinic/change/close"
	kept := keep(t, b, b.post(to, closing(slot.Day, slot.Day, "Boiler")), to)
	if kept.status != http.StatusOK {
		t.Fatalf("not kept: %s", kept.main())
	}
	after := s.clinicText()
	for _, line := range strings.Split(before, "\n") {
		if !strings.HasPrefix(line, "closures:") && !strings.Contains(after, line) {
			t.Errorf("the clinic file has lost %q", line)
		}
	}
	if !slices.Contains(s.house().Clinic.Closures, clinic.Closure{From: slot.Day, To: slot.Day, Name: "Boiler"}) {
		t.Errorf("no closure in\n%s", after)
	}
	entries := s.entries()
	last := entries[len(entries)-1]
	if last.What != "clinic" || last.By.Name != front || last.Why != "the boiler" || !strings.Contains(last.Now, slot.Day.String()) {
		t.Errorf("the history says %+v", last)
	}
	page := b.get("/clinic")
	if !page.says("Boiler") {
		t.Error("the next page does not show the closure")
	}
	wantGoodPage(t, page.body)
	settled := b.post("/clinic/hit/"+string(id), formTo(t, kept, "/clinic/hit/"+string(id), ""))
	if settled.path != "/clinic/hit" || !settled.says("Settled: Nora Fenwick, 1 visit.") || !settled.says("None. The clinic as its file now stands") {
		t.Errorf("settled: %s\n%s", settled.path, settled.main())
	}
	if again := b.post("/clinic/hit/"+string(id), url.Values{"seen": {"1"}}); again.status != http.StatusConflict || !again.says("was changed meanwhile") {
		t.Errorf("settled on an outdated page: %d\n%s", again.status, again.main())
	}
}

// TestWhatIsSettledIsWhatWasShown hits two cases on one day, both of which are proposed the
// same time: when the first has it, the second is shown another one before it is settled.
func TestWhatIsSettledIsWhatWasShown(t *testing.T) {
	s, _, slot := booked(t)
	other := s.admit("fenwick", "case=HR-2042", "patient.name=Barra Doyle")
	s.bookFirst(other, "wound-check")
	b := s.as(front)
	to := "/clinic/change/close"
	kept := keep(t, b, b.post(to, closing(slot.Day, slot.Day, "Boiler")), to)
	first, second := formTo(t, kept, "/clinic/hit/HR-2041", ""), formTo(t, kept, "/clinic/hit/HR-2042", "")
	if first.Get("shown") != second.Get("shown") {
		t.Fatalf("the two are proposed %q and %q", first.Get("shown"), second.Get("shown"))
	}
	if got := b.post("/clinic/hit/HR-2041", first); !got.says("Settled: Nora Fenwick, 1 visit. " + first.Get("shown")) {
		t.Fatalf("not settled:\n%s", got.main())
	}
	late := b.post("/clinic/hit/HR-2042", second)
	if late.status != http.StatusConflict || !late.says("The proposal has changed") || s.live(other).State("wound-check//") != ledger.Booked {
		t.Errorf("settled otherwise than shown: %d\n%s", late.status, late.main())
	}
	if got := b.post("/clinic/hit/HR-2042", formTo(t, late, "/clinic/hit/HR-2042", "")); !got.says("Settled: Barra Doyle, 1 visit.") {
		t.Errorf("the new proposal is not settled:\n%s", got.main())
	}
}

// TestAnotherHandMeanwhileIsAConflict keeps what was previewed on a file that has
// changed since: nothing is done, and what was typed stands on the page.
func TestAnotherHandMeanwhileIsAConflict(t *testing.T) {
	s, _, slot := booked(t)
	b := s.as(front)
	to := "/clinic/change/close"
	preview := b.post(to, closing(slot.Day, slot.Day, "Boiler & sons"))
	by := s.as(surgeon)
	if got := keep(t, by, by.post("/clinic/change/hours", url.Values{"weekday": {"fri"}, "hours": {"08:30-12:00"}}), "/clinic/change/hours"); got.status != http.StatusOK {
		t.Fatal(got.main())
	}
	text := s.clinicText()
	got := keep(t, b, preview, to)
	if got.status != http.StatusConflict || !got.says("was changed meanwhile") || s.clinicText() != text {
		t.Errorf("%d\n%s", got.status, got.main())
	}
	form := formTo(t, got, to, "why")
	if form.Get("name") != "Boiler & sons" || form.Get("why") != "the boiler" || form.Get("from") != slot.Day.String() {
		t.Errorf("what was typed is lost: %v", form)
	}
	if got := keep(t, b, got, to); got.path != "/clinic/hit" {
		t.Errorf("decided anew, and not kept: %s\n%s", got.path, got.main())
	}
}

// TestWhoMayNotChangesNothing posts by hand what the pages do not offer.
func TestWhoMayNotChangesNothing(t *testing.T) {
	s, _, slot := booked(t)
	text := s.clinicText()
	acts := []struct {
		who, to string
		form    url.Values
	}{
		{nurse, "/clinic/change/close", closing(slot.Day, slot.Day, "Boiler")},
		{nurse, "/clinic/change/hours", url.Values{"weekday": {"fri"}, "hours": {""}}},
		{nurse, "/clinic/change/after-care", url.Values{"key": {"flying"}, "days": {"3"}}},
		{front, "/clinic/change/person", url.Values{"name": {"Dr Rowan Pike"}, "role": {"surgeon"}, "days": {"mon"}}},
		{front, "/clinic/rules/staged-uncovering/adopt", url.Values{"value": {"3mo"}, "why": {"rough surface"}}},
		{nurse, "/clinic/rules/staged-uncovering/adopt", url.Values{"value": {"3mo"}, "why": {"rough surface"}}},
		{front, "/clinic/rules/staged-uncovering/take-back", url.Values{"why": {"as before"}}},
		{front, "/clinic/people/password", url.Values{"who": {nurse}, "new": {password + "!"}, "again": {password + "!"}}},
		{nurse, "/clinic/people/end", url.Values{"who": {front}}},
	}
	for _, a := range acts {
		b := s.as(a.who)
		for _, kept := range []string{"", "yes"} {
			before := len(s.entries())
			a.form.Set("keep", kept)
			a.form.Set("seen", s.keeper.Seen())
			got := b.post(a.to, a.form)
			entries := s.entries()
			if got.status != http.StatusUnprocessableEntity || !got.says("a surgeon") && !got.says("needs a surgeon") {
				t.Errorf("%s %s: %d\n%s", a.who, a.to, got.status, got.main())
			}
			if len(entries) <= before || entries[len(entries)-1].What != ledger.Refused || entries[len(entries)-1].By.Name != a.who {
				t.Errorf("%s %s: the refusal is not in the history", a.who, a.to)
			}
		}
	}
	if s.clinicText() != text {
		t.Errorf("the clinic file has changed:\n%s", s.clinicText())
	}
}

// TestAPageOffersOnlyWhatOneMay looks at the pages of the clinic as each role.
func TestAPageOffersOnlyWhatOneMay(t *testing.T) {
	s, _, _ := booked(t)
	pages := []string{"/clinic", "/clinic/hit", "/clinic/rules", "/clinic/rules/staged-uncovering", "/clinic/rules/stability-go", "/clinic/feeds", "/clinic/people", "/clinic/history"}
	offers := map[string][]string{surgeon: {"/clinic/change/", "/adopt", "/people/password", "/people/end"}, front: {"/clinic/change/"}, nurse: nil}
	browsers := map[string]*browser{}
	for who := range offers {
		browsers[who] = s.as(who)
	}
	for who, may := range offers {
		b := browsers[who]
		all := ""
		for _, page := range pages {
			got := b.get(page)
			if got.status != http.StatusOK {
				t.Errorf("%s %s: %d", who, page, got.status)
			}
			wantGoodPage(t, got.body)
			all += got.body
		}
		for _, act := range offers[surgeon] {
			if got, want := strings.Contains(all, act), slices.Contains(may, act); got != want {
				t.Errorf("%s is offered %s: %t, want %t", who, act, got, want)
			}
		}
	}
}

// TestAFaultyFileLeavesTheClinicAsItWas breaks the clinic file by hand.
func TestAFaultyFileLeavesTheClinicAsItWas(t *testing.T) {
	s, _, slot := booked(t)
	b := s.as(front)
	b.get("/clinic")
	text := s.clinicText()
	broken := strings.Replace(text, "grid_minutes: 15", "grid_minutes: 17", 1)
	if err := os.WriteFile(filepath.Join(s.folder, "clinic.yaml"), []byte(broken), 0o600); err != nil {
		t.Fatal(err)
	}
	page := b.get("/clinic")
	if !page.says("The clinic's files have faults") || !page.says("every multiple of 15 minutes") {
		t.Errorf("the broken file:\n%s", page.main())
	}
	got := b.post("/clinic/change/close", closing(slot.Day, slot.Day, "Boiler"))
	if got.status == http.StatusOK || !got.says("Boiler") || s.clinicText() != broken {
		t.Errorf("a change of a broken file: %d\n%s", got.status, got.main())
	}
	if err := os.WriteFile(filepath.Join(s.folder, "clinic.yaml"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if page := b.get("/clinic"); page.says("have faults") {
		t.Errorf("the banner stays:\n%s", page.main())
	}
}
