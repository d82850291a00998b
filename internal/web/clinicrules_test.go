package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestARuleIsAdoptedAndTakenBack takes the surgeon's road.
func TestARuleIsAdoptedAndTakenBack(t *testing.T) {
	s, id, _ := booked(t)
	b := s.as(surgeon)
	to := "/clinic/rules/first-loading/adopt"
	page := b.get("/clinic/rules/first-loading")
	form := formTo(t, page, to, "adopt-value")
	form.Set("value", "not before 21d, earliest 21d, target 28d, latest 35d")
	form.Set("why", "our technician's time")
	text := s.clinicText()
	preview := b.post(to, form)
	wantGoodPage(t, preview.body)
	if preview.status != http.StatusOK || !preview.says("Looked at 1 case: 1 case would get another date") || !preview.says(string(id)) || !preview.says("14 days later") || s.clinicText() != text {
		t.Fatalf("the preview: %d\n%s", preview.status, preview.main())
	}
	again := formTo(t, preview, to, "")
	again.Set("keep", "yes")
	kept := b.post(to, again)
	if kept.status != http.StatusOK || kept.path != "/clinic/rules/first-loading" || !kept.says("adopted by "+surgeon+" on Fri 15 January 2027: our technician's time") {
		t.Fatalf("not adopted: %d %s\n%s", kept.status, kept.path, kept.main())
	}
	wantGoodPage(t, kept.body)
	if list := b.get("/clinic/rules"); !list.says("</strong>, the clinic's own</span>") {
		t.Errorf("the list:\n%.3000s", list.main())
	}
	again.Set("value", "not before 28d, earliest 28d, target 28d, latest 35d")
	if stale := b.post(to, again); stale.status != http.StatusConflict || !stale.says("was changed meanwhile") || !stale.says("our technician's time") {
		t.Errorf("adopted on an outdated page: %d\n%s", stale.status, stale.main())
	}
	to = "/clinic/rules/first-loading/take-back"
	form = formTo(t, kept, to, "back-why")
	form.Set("why", "as the rule says")
	preview = b.post(to, form)
	wantGoodPage(t, preview.body)
	back := formTo(t, preview, to, "")
	back.Set("keep", "yes")
	if got := b.post(to, back); got.status != http.StatusOK || got.says("adopted by") {
		t.Errorf("not taken back: %d\n%s", got.status, got.main())
	}
	if rule, _ := s.house().Rules.Lookup("first-loading"); rule.Adopted != nil {
		t.Errorf("the rule is still %+v", rule.Adopted)
	}
}

// TestAValueARuleCannotTake stands at its field.
func TestAValueARuleCannotTake(t *testing.T) {
	s, _, _ := booked(t)
	b := s.as(surgeon)
	cases := []struct{ name, rule, value, why, field, says string }{
		{"too high", "staged-uncovering", "40mo", "x", "adopt-value", "40mo"},
		{"no period", "staged-uncovering", "soon", "x", "adopt-value", "soon"},
		{"none", "staged-uncovering", "", "x", "adopt-value", "A value is needed"},
		{"no reason", "staged-uncovering", "3mo", "", "", "needs its reason"},
		{"out of order", "first-loading", "not before 21d, earliest 7d, target 28d, latest 35d", "x", "adopt-value", "each no sooner than the one before"},
		{"fixed", "clock-band", "rate low 0.5, rate high 1.25, residual mm 0.5, width mm 0.5", "x", "", "fixed"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := b.post("/clinic/rules/"+c.rule+"/adopt", url.Values{"value": {c.value}, "why": {c.why}})
			wantGoodPage(t, got.body)
			if got.status != http.StatusUnprocessableEntity || !got.says(c.says) {
				t.Fatalf("%d, wants %q\n%s", got.status, c.says, got.main())
			}
			if c.field != "" && fieldOf(t, got, c.field).attr["aria-invalid"] != "true" {
				t.Errorf("the fault is not at its field:\n%s", got.main())
			}
		})
	}
	if got := b.get("/clinic/rules/no-such-rule"); got.status != http.StatusNotFound {
		t.Errorf("no such rule: %d", got.status)
	}
}

// TestTheDesksFeedsStandHereAndNoPatients opens and ends a feed of the desk.
func TestTheDesksFeedsStandHereAndNoPatients(t *testing.T) {
	s, id, _ := booked(t)
	patients, err := s.keeper.OpenFeed(s.actor(front), id, "", "patientspatientspatientspa")
	if err != nil {
		t.Fatal(err)
	}
	b := s.as(front)
	opened := b.post("/clinic/feeds", url.Values{"who": {nurse}})
	wantGoodPage(t, opened.body)
	address := fieldOf(t, opened, "feed-1").attr["value"]
	if !strings.HasPrefix(address, s.url+"/feed/") || !strings.HasSuffix(address, ".ics") || strings.Contains(opened.body, patients.Token) {
		t.Fatalf("the address is %q\n%s", address, opened.main())
	}
	path := strings.TrimPrefix(address, s.url)
	if got := s.as("").get(path); got.status != http.StatusOK || !strings.Contains(got.body, "BEGIN:VCALENDAR") {
		t.Errorf("the feed: %d %.200s", got.status, got.main())
	}
	if ended := b.post("/clinic/feeds/revoke", url.Values{"who": {nurse}}); !ended.says("None is open.") {
		t.Errorf("not ended:\n%s", ended.main())
	}
	if got := s.as("").get(path); got.status != http.StatusNotFound {
		t.Errorf("the ended feed: %d", got.status)
	}
}

// TestASurgeonSetsPasswords looks after the sign-in of the nurse.
func TestASurgeonSetsPasswords(t *testing.T) {
	s, _, _ := booked(t)
	b, hers := s.as(surgeon), s.as(nurse)
	fresh := "eleven slow barges at noon"
	if got := b.post("/clinic/people/password", url.Values{"who": {nurse}, "new": {fresh}, "again": {"another"}}); got.status != http.StatusUnprocessableEntity || strings.Contains(got.body, fresh) {
		t.Errorf("two that differ: %d\n%s", got.status, got.main())
	}
	got := b.post("/clinic/people/password", url.Values{"who": {nurse}, "own": {password}, "new": {fresh}, "again": {fresh}})
	wantGoodPage(t, got.body)
	if got.status != http.StatusOK || !got.says("The password of "+nurse+" is set") || strings.Contains(got.body, fresh) {
		t.Errorf("not set: %d\n%s", got.status, got.main())
	}
	if got := hers.get("/clinic"); got.status != http.StatusUnauthorized {
		t.Errorf("her session goes on: %d", got.status)
	}
	if got := b.post("/clinic/people/password", url.Values{"who": {surgeon}, "new": {fresh}, "again": {fresh}}); got.status != http.StatusUnprocessableEntity {
		t.Errorf("the own password without the old one: %d", got.status)
	}
	if got := b.post("/clinic/people/end", url.Values{"who": {nurse}}); !got.says("The sign-in ended on") {
		t.Errorf("not ended:\n%s", got.main())
	}
	late := s.as("")
	if got := late.post("/clinic/people/password", url.Values{"who": {nurse}, "new": {fresh}, "again": {fresh}}); strings.Contains(got.body, fresh) {
		t.Errorf("a sign-in that ran out shows the password typed:\n%s", got.main())
	}
}
