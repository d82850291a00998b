package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
)

// TestEveryFormOfTheClinic opens each form, fills it, and keeps what it previews.
func TestEveryFormOfTheClinic(t *testing.T) {
	s, _, slot := booked(t)
	b := s.as(surgeon)
	far := day.New(2027, time.May, 4)
	acts := []struct {
		name string
		get  string // what the address of its form says
		form url.Values
		says string
	}{
		{"close", "", closing(far, far.AddDays(59), "Works"), "60 days"},
		{"reopen", "-", closing(far, far.AddDays(59), "Works"), "nothing of the kind"},
		{"half-day", "", url.Values{"day": {far.String()}, "hours": {"08:30-10:00"}, "name": {"Outing"}}, "half day"},
		{"whole-day", "-", url.Values{"day": {far.String()}}, "nothing of the kind"},
		{"hours", "?weekday=fri", url.Values{"weekday": {"fri"}, "hours": {"08:00-12:00, 13:00-16:00"}}, "open on Fridays 08:00 to 12:00, 13:00 to 16:00"},
		{"away", "?who=Nurse+Wyn+Tate", url.Values{"who": {nurse}, "from": {slot.Day.String()}, "name": {"course"}}, "1 booked visit could not"},
		{"back", "-", url.Values{"who": {nurse}, "from": {slot.Day.String()}, "to": {slot.Day.String()}, "name": {"course"}}, "nothing of the kind"},
		{"out-of-use", "?who=Surgery+1", url.Values{"who": {"Surgery 1"}, "from": {slot.Day.String()}, "name": {"repair"}}, "1 booked visit could not"},
		{"in-use", "-", url.Values{"who": {"Surgery 1"}, "from": {slot.Day.String()}, "to": {slot.Day.String()}, "name": {"repair"}}, "nothing of the kind"},
		{"room", "", url.Values{"name": {"Surgery 2"}, "for": {"surgery", "check"}, "days": {"mon", "tue"}}, "Surgery 2 for surgery, check"},
		{"person", "", url.Values{"name": {"Sorrel Finch"}, "role": {"hygienist"}, "days": {"mon", "wed"}}, "Sorrel Finch (hygienist)"},
		{"person-days", "?who=Sorrel+Finch", url.Values{"who": {"Sorrel Finch"}, "days": {"tue"}}, "in on Tue"},
		{"leave", "?who=Sorrel+Finch", url.Values{"who": {"Sorrel Finch"}, "from": {far.String()}, "name": {"has left"}}, "on, for good"},
		{"remove-person", "-", url.Values{"who": {"Sorrel Finch"}}, "nothing of the kind"},
		{"after-care", "?key=flying", url.Values{"key": {"flying"}, "days": {"21"}}, "flying: 21 days"},
	}
	for _, a := range acts {
		t.Run(a.name, func(t *testing.T) {
			to := "/clinic/change/" + a.name
			if a.get != "-" {
				form := b.get(to + a.get)
				if form.status != http.StatusOK {
					t.Fatal(form.main())
				}
				wantGoodPage(t, form.body)
			}
			text := s.clinicText()
			preview := b.post(to, a.form)
			wantGoodPage(t, preview.body)
			if preview.status != http.StatusOK || !preview.says(a.says) || s.clinicText() != text {
				t.Fatalf("preview: %d, wants %q\n%s", preview.status, a.says, preview.main())
			}
			again := formTo(t, preview, to, "why")
			again.Set("again", "yes")
			if form := b.post(to, again); form.status != http.StatusOK || form.says("Nothing is kept yet") {
				t.Errorf("change it: %d\n%s", form.status, form.main())
			} else {
				wantGoodPage(t, form.body)
			}
			if a.form.Has("days") || a.form.Has("for") { // ticks: a form has each as often as it was ticked
				a.form.Set("keep", "yes")
				a.form.Set("seen", formTo(t, preview, to, "why").Get("seen"))
				if got := b.post(to, a.form); got.status != http.StatusOK || !got.says("Kept:") {
					t.Errorf("not kept: %d\n%s", got.status, got.main())
				}
			} else if got := keep(t, b, preview, to); got.status != http.StatusOK || !got.says("Kept:") {
				t.Errorf("not kept: %d\n%s", got.status, got.main())
			}
			if s.clinicText() == text {
				t.Error("the clinic file is as before")
			}
		})
	}
	page := b.get("/clinic")
	wantGoodPage(t, page.body)
	if !page.says("Surgery 2") || page.says("Sorrel Finch") || !page.says("21 days") {
		t.Errorf("the clinic:\n%s", page.main())
	}
}

// TestAFormOpensWithWhatStandsNow wants a change to begin from what it changes.
func TestAFormOpensWithWhatStandsNow(t *testing.T) {
	s := serve(t, "2027-01-15 08:30")
	b := s.as(front)
	for address, values := range map[string]string{
		"hours?weekday=fri":              `value="08:30-13:00"`,
		"after-care?key=flying":          `value="14"`,
		"room?name=Imaging":              `value="imaging" checked`,
		"person-days?who=Nurse+Wyn+Tate": `value="fri" checked`,
		"away?who=Nurse+Wyn+Tate":        `value="Nurse Wyn Tate" selected`,
	} {
		if got := b.get("/clinic/change/" + address); !strings.Contains(got.body, values) {
			t.Errorf("%s has no %s:\n%s", address, values, got.main())
		}
	}
	if got := s.as(nurse).get("/clinic/change/close"); got.status != http.StatusUnprocessableEntity {
		t.Errorf("a nurse gets the form: %d", got.status)
	}
}

// TestAMistypedDayIsReadBack wants what a form refuses to stand at its field, with what
// was typed in it.
func TestAMistypedDayIsReadBack(t *testing.T) {
	s, _, _ := booked(t)
	b := s.as(front)
	cases := []struct {
		name, to string
		form     url.Values
		field    string
		says     string
	}{
		{"not as the field sends it", "close", url.Values{"from": {"03/04/2027"}, "name": {"x"}}, "close-from", "03/04/2027"},
		{"no such day", "close", url.Values{"from": {"2027-02-30"}, "name": {"x"}}, "close-from", "February 2027 has 28 days"},
		{"none", "close", url.Values{"name": {"x"}}, "close-from", "A day is needed"},
		{"ends before it begins", "close", url.Values{"from": {"2027-03-04"}, "to": {"2027-03-03"}, "name": {"x"}}, "close-to", "Wed 3 March 2027 is before the first day, Thu 4 March 2027"},
		{"no name", "close", url.Values{"from": {"2027-03-04"}}, "close-name", "A name for it is needed"},
		{"hours out of order", "hours", url.Values{"weekday": {"mon"}, "hours": {"13:00-17:00, 08:00-14:00"}}, "hours-hours", "starts before"},
		{"no hours", "hours", url.Values{"weekday": {"mon"}, "hours": {"all day"}}, "hours-hours", "is no stretch of hours"},
		{"too many days", "after-care", url.Values{"key": {"flying"}, "days": {"4000"}}, "after-care-days", "365"},
		{"no number", "after-care", url.Values{"key": {"flying"}, "days": {"-3"}}, "after-care-days", "is no number of days"},
		{"a stranger", "away", url.Values{"who": {"Nobody"}, "from": {"2027-03-04"}, "name": {"x"}}, "", "no person Nobody"},
		{"in already", "person", url.Values{"name": {"ida marlow"}, "role": {"nurse"}, "days": {"mon"}}, "person-name", "a second time"},
		{"a closure that is not there", "reopen", url.Values{"from": {"2027-03-04"}, "to": {"2027-03-04"}, "name": {"x"}}, "", "no closure"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := b.post("/clinic/change/"+c.to, c.form)
			wantGoodPage(t, got.body)
			if got.status != http.StatusUnprocessableEntity || !got.says(c.says) {
				t.Fatalf("%d, wants %q\n%s", got.status, c.says, got.main())
			}
			if c.field == "" {
				return
			}
			f := fieldOf(t, got, c.field)
			if f.attr["aria-invalid"] != "true" || f.attr["value"] != c.form.Get(strings.TrimPrefix(c.field, c.to+"-")) {
				t.Errorf("the field is %v", f.attr)
			}
		})
	}
	past := b.post("/clinic/change/close", closing(day.New(2026, time.December, 1), day.New(2026, time.December, 1), "x"))
	if !past.says("It lies in the past: today is Fri 15 January 2027") {
		t.Errorf("a closure in the past:\n%s", past.main())
	}
}

// TestHostileInputStaysText sends what breaks pages and files through every field, and
// wants it refused or shown and kept as the text that it is.
func TestHostileInputStaysText(t *testing.T) {
	s, _, _ := booked(t)
	b := s.as(surgeon)
	bads := []string{`<script>alert(1)</script>"><img src=x onerror=alert(1)>' {{.}} &amp;`, "a: b #c !!binary |\r\n- y: z\x00w", "\u202e[\"evil", "\xff\xfe", strings.Repeat("x", 100_000)}
	forms := map[string]url.Values{
		"close":      {"from": {"2027-06-01"}, "to": {"2027-06-02"}, "name": {"x"}},
		"half-day":   {"day": {"2027-06-08"}, "hours": {"08:30-10:00"}, "name": {"x"}},
		"hours":      {"weekday": {"fri"}, "hours": {"08:30-12:00"}},
		"away":       {"who": {nurse}, "from": {"2027-06-01"}, "to": {"2027-06-02"}, "name": {"x"}},
		"leave":      {"who": {nurse}, "from": {"2030-06-01"}, "name": {"x"}},
		"out-of-use": {"who": {"Imaging"}, "from": {"2027-06-01"}, "to": {"2027-06-02"}, "name": {"x"}},
		"room":       {"name": {"Surgery 3"}, "for": {"check"}, "days": {"mon"}},
		"person":     {"name": {"Sorrel Finch"}, "role": {"nurse"}, "days": {"mon"}},
		"after-care": {"key": {"flying"}, "days": {"9"}},
		"reopen":     {"from": {"2027-08-02"}, "to": {"2027-08-20"}, "name": {"x"}},
	}
	for name, form := range forms {
		for field := range form {
			for _, bad := range bads {
				sent := url.Values{}
				for key, values := range form {
					sent[key] = values
				}
				sent.Set(field, bad)
				wantText(t, b, s, "/clinic/change/"+name, sent, bad)
			}
		}
	}
	for _, bad := range bads {
		wantText(t, b, s, "/clinic/rules/staged-uncovering/adopt", url.Values{"value": {bad}, "why": {"x"}}, bad)
		wantText(t, b, s, "/clinic/rules/staged-uncovering/adopt", url.Values{"value": {"3mo"}, "why": {bad}}, bad)
		for _, to := range []string{"/clinic/feeds", "/clinic/feeds/revoke", "/clinic/people/password", "/clinic/people/end"} {
			wantText(t, b, s, to, url.Values{"who": {bad}, "new": {password}, "again": {password}}, bad)
		}
	}
	for _, page := range []string{"/clinic", "/clinic/rules", "/clinic/rules/staged-uncovering", "/clinic/history", "/clinic/feeds"} {
		got := b.get(page)
		if elements(t, got.body); strings.Contains(got.body, "<script>alert") || strings.Contains(got.body, "<img src=x") {
			t.Errorf("%s shows what was typed as a part of the page", page)
		}
	}
}

// wantText sends a form, and once more to be kept if it was previewed: no page breaks,
// and the clinic's files can still be read.
func wantText(t *testing.T, b *browser, s *served, to string, sent url.Values, bad string) {
	t.Helper()
	got := b.post(to, sent)
	if got.status >= http.StatusInternalServerError || strings.Contains(got.body, "<script>alert") || strings.Contains(got.body, "<img src=x") {
		t.Fatalf("%s %.40q: %d\n%.2000s", to, bad, got.status, got.main())
	}
	elements(t, got.body)
	if got.status != http.StatusOK || !got.says("Nothing is kept yet") {
		return
	}
	sent.Set("keep", "yes")
	sent.Set("seen", s.house().Seen())
	if kept := b.post(to, sent); kept.status != http.StatusOK {
		t.Fatalf("%s %.40q: previewed and not kept: %d\n%.2000s", to, bad, kept.status, kept.main())
	}
	s.house()
}
