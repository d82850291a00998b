package web_test

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/ledger"
)

// overwriteNothing are the acts on a case that need not say what their page showed: a
// note of a call stands beside the others, and a file is given out as the case stands.
var overwriteNothing = []string{"/case/{case}/contact", "/case/{case}/file/{name}"}

// TestEveryActSaysWhatItsPageShowed posts to every address of a case, in a form that
// would do the act, without the number of what the page showed: nothing is done, and
// nothing is written down. What adds only is done.
func TestEveryActSaysWhatItsPageShowed(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-25 11:00")
	id := s.admit("fenwick")
	if _, _, err := s.keeper.Book(s.actor(front), id, desk.ChoiceOf(wound), slotOf("2027-01-25", "10:00"), ""); err != nil {
		t.Fatal(err)
	}
	form := url.Values{
		"id": {string(wound)}, "day": {"2027-01-26"}, "time": {"10:00"}, "outcome": {"no answer"}, "what": {"infection"}, "why": {"because"}, "keep": {"yes"},
		"act": {"save"},
	}
	for name, texts := range s.as(surgeon).get("/case/" + string(id) + "/record").typed(t) {
		if name != "seen" && name != "act" {
			form[name] = texts
		}
	}
	form.Set("patient.print", "large")
	b, head, written := s.as(surgeon), s.live(id).Kept.Head, len(s.history())
	tried := 0
	for _, a := range s.addresses() {
		if a.Method != http.MethodPost || !strings.Contains(a.Pattern, "{case}") {
			continue
		}
		if a.Overwrites == slices.Contains(overwriteNothing, a.Pattern) {
			t.Errorf("%s: asks for what its page showed: %v", a.Pattern, a.Overwrites)
		}
		if !a.Overwrites {
			continue
		}
		tried++
		path := filled(a.Pattern, string(id))
		for _, seen := range []string{"none", "", "0", "-1", "x", "99999999999999999999"} {
			sent := with(form, "seen", seen)
			if seen == "none" {
				delete(sent, "seen")
			}
			for how, got := range map[string]answer{"a form": b.post(path, sent), "a form of parts": b.send(path, "", nil, sent)} {
				if got.status != http.StatusBadRequest || !got.says("does not say what its page showed of the case. Nothing was changed.") {
					t.Errorf("%s, seen %s, %s: %d", a.Pattern, seen, how, got.status)
				}
			}
		}
		if now := len(s.history()); now != written || s.live(id).Kept.Head != head {
			t.Fatalf("%s: something is changed, or written down", a.Pattern)
		}
		if got := b.post(path, with(form, "seen", strconv.FormatInt(head, 10))); got.status == http.StatusBadRequest {
			t.Errorf("%s: refused though it says what was seen", a.Pattern)
		}
		head, written = s.live(id).Kept.Head, len(s.history())
	}
	if tried < 12 {
		t.Errorf("only %d addresses were tried", tried)
	}
	if got := b.post("/case/"+string(id)+"/contact", form); got.status != http.StatusOK || len(s.live(id).Contacts) != 1 {
		t.Errorf("a note of a call: %d\n%s", got.status, got.body)
	}
	if got := b.post("/case/"+string(id)+"/file/desk.ics", nil); got.status != http.StatusOK || !strings.Contains(got.body, "BEGIN:VCALENDAR") {
		t.Errorf("a file: %d\n%s", got.status, got.body)
	}
}

// history is every entry of the ledger.
func (s *served) history() []ledger.Entry {
	s.t.Helper()
	var all []ledger.Entry
	err := s.store.View(func(l desk.Ledger) (err error) {
		all, err = l.History("")
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return all
}
