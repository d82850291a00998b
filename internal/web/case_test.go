package web_test

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// fenwick is the demo case of most tests.
const fenwick = graft.CaseID("HR-2041")

// stepOf is the address of a step's page.
func stepOf(id graft.CaseID, step graft.MilestoneID) string {
	return "/case/" + url.PathEscape(string(id)) + "/step?id=" + url.QueryEscape(string(step))
}

// acting is the form of an act on a step, decided on the case as it stands.
func (s *served) acting(id graft.CaseID, step graft.MilestoneID, fields ...string) url.Values {
	form := url.Values{"seen": {fmt.Sprint(s.live(id).Kept.Head)}, "id": {string(step)}}
	for n := 0; n+1 < len(fields); n += 2 {
		form.Set(fields[n], fields[n+1])
	}
	return form
}

// lastEntry is the latest entry of a case's history.
func (s *served) lastEntry(id graft.CaseID) ledger.Entry {
	s.t.Helper()
	entries, err := s.keeper.History(id)
	if err != nil || len(entries) == 0 {
		s.t.Fatal(len(entries), err)
	}
	return entries[len(entries)-1]
}

func dayOf(text string) day.Day {
	d, err := day.Parse(text)
	if err != nil {
		panic(err)
	}
	return d
}

func slotOf(text, clock string) graft.Slot {
	start, err := day.ParseClock(clock)
	if err != nil {
		panic(err)
	}
	return graft.Slot{Day: dayOf(text), Start: start}
}

// TestEveryPageOfEveryCaseIsGood opens all pages of all demo cases as everybody.
func TestEveryPageOfEveryCaseIsGood(t *testing.T) {
	s := serve(t, "2027-02-08 08:30")
	for _, name := range []string{"fenwick", "doyle", "lindqvist", "marsh", "okafor", "petrov"} {
		s.admit(name)
	}
	all, err := s.keeper.All(dayOf("2027-02-08"))
	if err != nil || len(all) == 0 {
		t.Fatal(len(all), err)
	}
	for _, who := range []string{surgeon, nurse, front} {
		b := s.as(who)
		if who != surgeon {
			all = all[:1] // what differs for them does so in every case
		}
		for _, live := range all {
			base := "/case/" + url.PathEscape(string(live.Kept.Case))
			paths := []string{base, base + "/history", base + "/settle", base + "/finding"}
			for _, what := range []string{"stability", "image", "infection", "perforation", "graft removed", "left out", "attended"} {
				paths = append(paths, base+"/finding?what="+url.QueryEscape(what))
			}
			for _, m := range live.Timeline.Milestones {
				paths = append(paths, stepOf(live.Kept.Case, m.ID))
			}
			for _, path := range paths {
				got := b.get(path)
				if got.status != 200 || !got.says(live.Kept.Patient) {
					t.Fatalf("%s: %d\n%s", path, got.status, got.body)
				}
				wantGoodPage(t, got.body)
				if t.Failed() {
					t.Fatalf("%s as %s", path, who)
				}
			}
		}
	}
}

// TestTheListSaysWhatTheAxisShows wants every step up to the first year's recall in the
// list, in order, under the number that the drawing has, and the later recalls folded.
func TestTheListSaysWhatTheAxisShows(t *testing.T) {
	s := serve(t, "2027-01-26 08:30")
	s.admit("fenwick")
	got := s.as(front).get("/case/HR-2041")
	live := s.live(fenwick)
	var listed, folded, drawn []string
	for _, e := range elements(t, got.body) {
		switch {
		case e.tag == "h3" && slices.Contains(e.in, "details"):
			folded = append(folded, strings.Join(strings.Fields(e.text), " "))
		case e.tag == "h3" && slices.Contains(e.in, "ol"):
			listed = append(listed, strings.Join(strings.Fields(e.text), " "))
		case e.tag == "text":
			drawn = append(drawn, e.text)
		}
	}
	if len(listed)+len(folded) != len(live.Timeline.Milestones) || len(folded) == 0 {
		t.Fatalf("%d steps listed and %d folded of %d:\n%q\n%q", len(listed), len(folded), len(live.Timeline.Milestones), listed, folded)
	}
	if listed[0] != "1 Phone call" || listed[len(listed)-1] != "14 Recall 12 months right bridge" || folded[0] != "15 Recall 18 months right bridge" {
		t.Errorf("%q\n%q", listed, folded)
	}
	for n := range listed {
		if !slices.Contains(drawn, strconv.Itoa(n+1)) {
			t.Errorf("the drawing has no step %d: %q", n+1, drawn)
		}
	}
	for _, words := range []string{"today, Tue 26 January 2027", "surgery", "Summer closure", "1 phone call, overdue", "10 recall 14 days"} {
		if !strings.Contains(strings.Join(drawn, " "), words) {
			t.Errorf("the drawing does not say %q: %q", words, drawn)
		}
	}
	for _, words := range []string{
		`<a href="tel:+35315550141">+353 1 555 0141</a>`, "Thu 14 January 2027", "Draft: no surgeon has approved it", "Overdue since Mon 18 January 2027",
		"Window Thu 21 January 2027 to Thu 28 January 2027, best Sun 24 January 2027", "Summer closure, Mon 2 August 2027 to Fri 20 August 2027",
		"Sum: Thu 14 January 2027 (surgery) + 7 days = Thu 21 January 2027", "Source: suture-removal-pages (read)", "<strong>Warning.</strong> Smoker",
	} {
		if !got.says(words) {
			t.Errorf("the page does not say %q", words)
		}
	}
}

// TestTodayStandsBetweenWhatWasAndWhatComes moves the day of the page.
func TestTodayStandsBetweenWhatWasAndWhatComes(t *testing.T) {
	s := serve(t, "2027-01-15 08:30")
	s.admit("fenwick")
	for _, c := range []struct{ at, before string }{{"2027-01-15 08:30", "1 Phone call"}, {"2027-02-01 08:30", ""}, {"2027-05-03 08:30", "5 Imaging decision before uncovering right bridge"}} {
		s.clock.set(c.at)
		if c.at == "2027-05-03 08:30" {
			for _, step := range []graft.Step{graft.PhoneCall, graft.WoundCheck, graft.LateCheck, graft.HealingReview} {
				if _, _, err := s.keeper.Attended(s.actor(front), fenwick, desk.Choice{Step: step}, dayOf("2027-04-01"), ""); err != nil {
					t.Fatal(err)
				}
			}
		}
		got := s.as(front).get("/case/HR-2041")
		today, next, n := false, "", 0
		for _, e := range elements(t, got.body) {
			if e.tag == "li" && e.attr["class"] == "now" {
				today = true
				n++
			} else if e.tag == "h3" && today && next == "" {
				next = strings.Join(strings.Fields(e.text), " ")
			}
		}
		if n != 1 || c.before != "" && next != c.before {
			t.Errorf("%s: %d lines of today, before %q; want %q", c.at, n, next, c.before)
		}
	}
}

func TestAnUnknownCaseIsNotFound(t *testing.T) {
	s := serve(t, "2027-01-26 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	for _, path := range []string{"/case/HR-9", "/case/HR-9/history", "/case/HR-9/settle", "/case/HR-9/step?id=wound-check//", "/case/HR-2041/step?id=recall//", "/case/HR-2041/step", "/case/%3Cb%3E", "/case/HR-2041/file/secret.txt", "/case/HR-2041/file/patient.ics"} {
		got := b.get(path)
		if got.status != 404 {
			t.Errorf("%s: %d", path, got.status)
		}
		wantGoodPage(t, got.body)
	}
	if got := s.as("").get("/case/HR-2041"); got.status != 401 || got.says("Nora Fenwick") {
		t.Errorf("without a sign-in: %d", got.status)
	}
}

// TestACaseNumberMayHoldAnything admits a case whose number has what addresses use.
func TestACaseNumberMayHoldAnything(t *testing.T) {
	s := serve(t, "2027-01-26 08:30")
	const odd = `A/1 #2?x=%41&"é"`
	id := s.admit("fenwick", "case="+odd)
	b := s.as(front)
	got := b.get("/case/" + url.PathEscape(odd))
	if got.status != 200 || id != odd {
		t.Fatalf("%d", got.status)
	}
	links := 0
	for _, e := range elements(t, got.body) {
		if href := e.attr["href"]; strings.Contains(href, "/step?id=") || strings.HasSuffix(href, "/history") {
			links++
			if got := b.get(href); got.status != 200 || !got.says("Nora Fenwick") {
				t.Errorf("%s: %d", href, got.status)
			}
		}
	}
	if links < 10 {
		t.Errorf("%d links", links)
	}
	got = b.post("/case/"+url.PathEscape(odd)+"/attended", s.acting(id, "phone-call//", "day", "2027-01-15"))
	if got.status != 200 || s.live(id).State("phone-call//") != ledger.Attended || !got.says("Attended: Phone call, Fri 15 January 2027.") {
		t.Errorf("%d %s\n%s", got.status, got.path, got.body)
	}
}
