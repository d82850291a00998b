package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestWhatIsTypedOutlivesTheServer types half a record, stops the program, and goes on.
func TestWhatIsTypedOutlivesTheServer(t *testing.T) {
	s := serve(t, "2027-01-14 10:05")
	quill := s.as(surgeon)
	form := with(quill.get("/record").typed(t), "patient.name", "Nora Fen", "sinuses[0].widths[0].mm", "12,5", "what_if", "yes")
	quill.post("/record/live", form)
	s.clock.set("2027-01-14 10:40")
	s.start()
	quill.url = s.url
	page := quill.get("/record")
	if !page.says("Typed on Thu 14 January 2027 at 10:05, not kept yet.") {
		t.Error("the page does not say since when what is typed waits")
	}
	got := page.typed(t)
	for _, field := range []string{"patient.name", "sinuses[0].widths[0].mm", "what_if"} {
		if got.Get(field) != form.Get(field) {
			t.Errorf("%s is now %q", field, got.Get(field))
		}
	}
	if got := quill.post("/record", url.Values{"act": {"drop"}}); got.typed(t).Get("patient.name") != "" || got.says("not kept yet") {
		t.Error("what was dropped is there again")
	}
}

// TestWhatIsTypedOutlivesTheSignIn keeps it in the ledger and through the sign-in page.
func TestWhatIsTypedOutlivesTheSignIn(t *testing.T) {
	s := serve(t, "2027-01-14 10:05")
	quill := s.as(surgeon)
	want := demo(t, "okafor")
	form := quill.typing(want)
	s.clock.set("2027-01-14 12:05")
	if got := quill.post("/record/live", form); got.status != http.StatusUnauthorized {
		t.Fatalf("signed in after two hours: %d", got.status)
	}
	page := quill.post("/record", with(form, "act", "save"))
	if page.status != http.StatusUnauthorized || !page.says("What you typed is kept: sign in, and send it.") {
		t.Fatalf("%d: %s", page.status, page.body)
	}
	carried := hiddenFields(page.body)
	page = quill.post("/sign-in", with(carried, "name", surgeon, "password", password))
	sent := hiddenFields(page.body)
	if got := quill.post("/record", sent); got.path != "/case/HR-2044" {
		t.Fatalf("sent after signing in, ended at %s (%d): %v", got.path, got.status, got.faults())
	}
	if s.record("HR-2044") != string(want) {
		t.Error("another record than the one typed")
	}
}

// hiddenFields are the hidden fields of a page.
func hiddenFields(page string) url.Values {
	fields := url.Values{}
	for _, m := range fieldTag.FindAllStringSubmatch(page, -1) {
		if is := attributes(m[2]); is["type"] == "hidden" {
			fields.Add(is["name"], is["value"])
		}
	}
	return fields
}

// TestADraftIsItsPersonsOwn: nobody sees what another types, and nobody writes over it.
func TestADraftIsItsPersonsOwn(t *testing.T) {
	s := serve(t, "2027-01-14 10:05")
	id := s.admit("fenwick")
	path := "/case/" + string(id) + "/record"
	quill, ida := s.as(surgeon), s.as(front)
	for _, address := range []string{"/record", path} {
		quill.post(address, with(quill.get(address).typed(t), "act", "show", "patient.name", "typed by the surgeon"))
		if page := ida.get(address); page.says("typed by the surgeon") || page.says("not kept yet") {
			t.Errorf("%s shows another's draft", address)
		}
		ida.post(address, with(ida.get(address).typed(t), "act", "show", "patient.name", "typed at the desk"))
		if got := quill.get(address).typed(t).Get("patient.name"); got != "typed by the surgeon" {
			t.Errorf("%s: the surgeon's draft is now %q", address, got)
		}
	}
	if got := quill.get("/record").typed(t).Get("sinuses[0].side"); got != "" {
		t.Errorf("the draft of one form is in another: %q", got)
	}
}

// TestTypingIsKeptNowAndThen: every few seconds while somebody types, and in any case
// when the page is left.
func TestTypingIsKeptNowAndThen(t *testing.T) {
	s := serve(t, "2027-01-14 10:05")
	quill := s.as(surgeon)
	form := quill.get("/record").typed(t)
	kept := func(name string, more ...string) string {
		quill.post("/record/live", with(with(form, "patient.name", name), more...))
		return quill.get("/record").typed(t).Get("patient.name")
	}
	if got := kept("a"); got != "a" {
		t.Errorf("first: %q", got)
	}
	inLedger := func() string {
		d, err := s.keeper.Draft(s.actor(surgeon), "record")
		if err != nil {
			t.Fatal(err)
		}
		fields, _ := url.ParseQuery(string(d.Fields))
		return fields.Get("patient.name")
	}
	if got := kept("ab"); got != "ab" || inLedger() != "a" {
		t.Errorf("at once: %q, and %q in the ledger", got, inLedger())
	}
	if got := kept("abc", "leaving", "yes"); got != "abc" || inLedger() != "abc" {
		t.Errorf("the page is left: %q, and %q in the ledger", got, inLedger())
	}
	s.clock.set("2027-01-14 10:06")
	if got := kept("abcd"); got != "abcd" || inLedger() != "abcd" {
		t.Errorf("a minute later: %q, and %q in the ledger", got, inLedger())
	}
	kept("abcde")
	if got := quill.post("/record", url.Values{"act": {"drop"}}); got.typed(t).Get("patient.name") != "" {
		t.Error("what was dropped is there again")
	}
}

// TestWhatIsTooLongForADraftIsTold, and stays in the form.
func TestWhatIsTooLongForADraftIsTold(t *testing.T) {
	s := serve(t, "2027-01-14 10:05")
	quill := s.as(surgeon)
	long := strings.Repeat("Nora ", 20_000)
	got := quill.post("/record", with(quill.get("/record").typed(t), "act", "show", "patient.name", long))
	if !got.says("is too long to keep") || got.typed(t).Get("patient.name") != strings.TrimSpace(long) || got.says("not kept yet") {
		t.Errorf("%d", got.status)
	}
}

// TestASavedRecordLeavesNoDraft, not even when a last live request comes after it.
func TestASavedRecordLeavesNoDraft(t *testing.T) {
	s := serve(t, "2027-01-14 10:05")
	quill := s.as(surgeon)
	form := quill.typing(demo(t, "okafor"))
	quill.post("/record", with(form, "act", "show"))
	quill.post("/record", with(form, "act", "save"))
	if again := quill.post("/record", with(form, "act", "save")); again.path != "/case/HR-2044" {
		t.Errorf("sent twice, it ended at %s (%d)", again.path, again.status)
	}
	if d, err := s.keeper.Draft(s.actor(surgeon), "record"); err == nil {
		t.Errorf("a draft of what is kept: %s", d.Fields)
	}
	quill.post("/record/live", with(form, "leaving", "yes"))
	if page := quill.get("/record"); page.says("not kept yet") || page.typed(t).Get("patient.name") != "" {
		t.Error("a draft that came late")
	}
}

// TestAFaultyRecordIsKeptAsADraft: what was refused is not lost either.
func TestAFaultyRecordIsKeptAsADraft(t *testing.T) {
	s := serve(t, "2027-01-14 10:05")
	quill := s.as(surgeon)
	quill.post("/record", with(quill.get("/record").typed(t), "act", "save", "patient.name", "Nora"))
	page := quill.get("/record")
	if page.typed(t).Get("patient.name") != "Nora" {
		t.Error("lost")
	}
	if len(page.faults()) > 0 || strings.Contains(page.body, `id="faults"`) {
		t.Error("who comes back is told what is missing before they are done")
	}
}

// TestADraftOfAnOlderRevisionSaysSo when somebody comes back to it.
func TestADraftOfAnOlderRevisionSaysSo(t *testing.T) {
	s := serve(t, "2027-01-14 10:05")
	id := s.admit("fenwick")
	path := "/case/" + string(id) + "/record"
	quill := s.as(surgeon)
	quill.post(path, with(quill.get(path).typed(t), "act", "show", "surgery.sutures", "resorbable"))
	if _, err := s.keeper.Set(s.actor(front), id, []string{"patient.print=large"}, ""); err != nil {
		t.Fatal(err)
	}
	page := quill.get(path)
	if !page.says("<li>patient.print: normal -> large</li>") || page.typed(t).Get("surgery.sutures") != "resorbable" {
		t.Errorf("the change of another is not told, or the draft is lost:\n%s", page.body)
	}
}
