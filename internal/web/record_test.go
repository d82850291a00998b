package web_test

import (
	"html"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// TestEveryDemoRecordIsTypedIn types each record of the demo clinic into the empty
// form: the ledger gets it to the byte.
func TestEveryDemoRecordIsTypedIn(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	for _, name := range demoNames {
		want := demo(t, name)
		_, c, _ := casefile.Canonical(name, want)
		got := quill.post("/record", with(quill.typing(want), "act", "save"))
		if got.path != "/case/"+string(c.ID) {
			t.Fatalf("%s ended at %s (%d): %v\n%s", name, got.path, got.status, got.faults(), got.body)
		}
		if diff := cmp.Diff(string(want), s.record(c.ID)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// TestAKeptRecordComesBackAsItIs opens each record and keeps it as it came: there is
// nothing to change.
func TestAKeptRecordComesBackAsItIs(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	for _, name := range demoNames {
		id := s.admit(name)
		path := "/case/" + string(id) + "/record"
		form := quill.get(path).typed(t)
		got := quill.post(path, with(form, "act", "save"))
		if got.status != http.StatusConflict || !got.says("The record says that already.") {
			t.Errorf("%s: %d at %s: %v", name, got.status, got.path, got.faults())
		}
		if changed := quill.post(path, with(form, "act", "save", "surgery.referrer", "Dr Orla Finch the younger")); changed.path != "/case/"+string(id) {
			t.Errorf("%s: changed, ended at %s (%d)", name, changed.path, changed.status)
		}
	}
}

// TestFindingsSurviveTheForm: what no form types no form loses.
func TestFindingsSurviveTheForm(t *testing.T) {
	s := serve(t, "2027-02-14 09:00")
	id := s.admit("fenwick")
	if _, err := s.keeper.AddFinding(s.actor(surgeon), id, map[string]string{"day": "2027-02-13", "what": "infection"}, ""); err != nil {
		t.Fatal(err)
	}
	quill := s.as(surgeon)
	path := "/case/" + string(id) + "/record"
	page := quill.get(path)
	if !page.says("day: Sat 13 February 2027, what: infection") {
		t.Error("the form does not show the finding")
	}
	form := with(page.typed(t), "patient.name", "Nora Fenwick-Rey", "findings[0].what", "image")
	if got := quill.post(path, with(form, "act", "save")); got.status != http.StatusUnprocessableEntity || !got.says("findings[0].what: no field of this form") {
		t.Errorf("a typed finding: %d", got.status)
	}
	form.Del("findings[0].what")
	if got := quill.post(path, with(form, "act", "save")); got.path != "/case/"+string(id) {
		t.Fatalf("ended at %s: %v", got.path, got.faults())
	}
	if record := s.record(id); !strings.Contains(record, "Fenwick-Rey") || !strings.Contains(record, "infection") {
		t.Errorf("the record is now\n%s", record)
	}
	form = quill.get(path).typed(t)
	for name := range form {
		if strings.HasPrefix(name, "sinuses[0].implants[1]") {
			delete(form, name)
		}
	}
	if got := quill.post(path, with(form, "act", "save", "sinuses[0].side", "left")); got.status != http.StatusUnprocessableEntity {
		t.Errorf("a side without its implants: %d", got.status)
	}
}

// TestFaultsStandAtTheirFieldsInTheWordsOfTheFile spoils a record in many places.
func TestFaultsStandAtTheirFieldsInTheWordsOfTheFile(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	for _, c := range []struct{ name, field, value string }{
		{"nothing", "patient.name", ""},
		{"a word misspelt", "patient.print", "Large"},
		{"a day that is none", "surgery.day", "2027-02-29"},
		{"a day told otherwise", "surgery.day", "14.01.2027"},
		{"a language", "patient.language", "english"},
		{"a decimal comma", "sinuses[0].widths[0].mm", "12,5"},
		{"centimetres", "sinuses[0].widths[1].mm", "1.4"},
		{"two levels", "sinuses[0].widths[0].above_crest_mm", "8"},
		{"a level again", "sinuses[0].widths[0].above_floor_mm", "9"},
		{"another side", "sinuses[0].side", "left"},
		{"a wide window", "sinuses[0].window.to_mm", "4"},
		{"no window here", "sinuses[0].approach", "transcrestal"},
		{"no torque", "sinuses[0].implants[1].insertion_torque_ncm", ""},
		{"a torque in words", "sinuses[0].implants[1].insertion_torque_ncm", "notyet"},
		{"implants in one place", "sinuses[0].implants[1].at_mm", "9.6"},
		{"an axis outside", "sinuses[0].implants[0].off_midline_mm", "7.2"},
		{"a torn membrane without its size", "sinuses[0].perforation", ""},
		{"days backwards", "patient.unavailable[0]", "2027-07-30"},
		{"an unknown flag", "patient.flags", "smokr"},
		{"mail half told", "patient.mail.letter", ""},
		{"a telephone with words", "patient.phone", "555 0141 at home"},
		{"a name on two lines", "patient.name", "Nora\nFenwick"},
		{"another version", "record", "2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			form := with(quill.typing(demo(t, "fenwick")), c.field, c.value)
			got := quill.post("/record", with(form, "act", "save"))
			read, err := casefile.ReadForm(withoutBesides(form), nil)
			if err != nil {
				t.Fatal(err)
			}
			want := faultsOfFile(t, read)
			if got.status != http.StatusUnprocessableEntity || len(want) == 0 {
				t.Fatalf("%d with %d faults", got.status, len(want))
			}
			at := got.faults()
			for _, fault := range want {
				says := strings.TrimPrefix(table.Fault{Found: fault.Found, Allowed: fault.Allowed, Hint: fault.Hint}.String(), ": ")
				id := idOf(strings.TrimSuffix(fault.Path, "[0]"))
				if !slices.Contains(at[id], says) && !slices.Contains(at[idOf(fault.Path)], says) {
					t.Errorf("no %q at %s: %v", says, fault.Path, at)
				}
				if !strings.Contains(html.UnescapeString(got.body), ": "+says+"</li>") {
					t.Errorf("%q is not on top", says)
				}
			}
			if again := got.typed(t); again.Get(c.field) != c.value && c.field != "patient.unavailable[0]" && !strings.Contains(c.value, "\n") {
				t.Errorf("what was typed is lost: %q", again.Get(c.field))
			}
		})
	}
}

// withoutBesides are the fields of the record alone.
func withoutBesides(form url.Values) url.Values {
	left := with(form)
	for _, name := range []string{"act", "of", "seen", "revision", "why", "what_if"} {
		delete(left, name)
	}
	return left
}

// faultsOfFile writes what a form says as a file and reads that.
func faultsOfFile(t *testing.T, f *casefile.Form) table.Faults {
	t.Helper()
	_, faults := casefile.ReadCase("the form", casefile.Write(f.Value()))
	return faults
}

func TestEntriesAreAddedAndTakenAway(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	form := quill.typing(demo(t, "petrov"))
	fields := func(form url.Values, prefix string) (n int) {
		for name := range form {
			if strings.HasPrefix(name, prefix) {
				n++
			}
		}
		return n
	}
	less := quill.post("/record", with(form, "act", "take:sinuses[0].implants[0]")).typed(t)
	if less.Get("sinuses[0].implants[0].tooth") != "17" || fields(less, "sinuses[0].implants[1]") != 0 || less.Get("sinuses[1].implants[0].tooth") != "26" || less.Get("patient.name") != "Mila Petrov" {
		t.Errorf("an implant is taken away: %v", less)
	}
	left := quill.post("/record", with(form, "act", "take:sinuses[0]")).typed(t)
	if left.Get("sinuses[0].side") != "left" || fields(left, "sinuses[1]") != 0 {
		t.Errorf("a sinus is taken away: %v", left)
	}
	page := quill.post("/record", with(left, "act", "add:sinuses"))
	more := page.typed(t)
	if fields(more, "sinuses[1].widths[0]") == 0 || fields(more, "sinuses[1].implants[0]") == 0 || more.Get("sinuses[0].side") != "left" {
		t.Errorf("a sinus is added: %v", more)
	}
	if !strings.Contains(page.body, `name="sinuses[1].side" aria-required="true" aria-describedby="at-sinuses-1-side-hint" autofocus`) {
		t.Error("the person does not go on in the new sinus")
	}
	for _, list := range []string{"patient.unavailable", "sinuses[0].septa", "sinuses[0].widths", "sinuses[0].implants"} {
		was := fields(more, list+"[")
		got := quill.post("/record", with(more, "act", "add:"+list))
		if now := fields(got.typed(t), list+"["); now <= was || !strings.Contains(got.body, "autofocus") {
			t.Errorf("%s: %d fields, then %d", list, was, now)
		}
	}
	for _, nonsense := range []string{"patient.flags", "findings", "patient", "sinuses[0]x.implants", "sinuses[200].implants", "", "patient.unavailable[0]"} {
		if got := quill.post("/record", with(more, "act", "add:"+nonsense)); !got.says("is no list of the record") || got.typed(t).Get("sinuses[0].side") != "left" {
			t.Errorf("%q: %d", nonsense, got.status)
		}
	}
}

// TestABlankEntryIsLeftOut: an entry that was added and never filled in is none.
func TestABlankEntryIsLeftOut(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	want := demo(t, "okafor")
	form := quill.typing(want)
	for _, list := range []string{"patient.unavailable", "sinuses", "sinuses[0].septa", "sinuses[0].widths", "sinuses[0].implants"} {
		form = quill.post("/record", with(form, "act", "add:"+list)).typed(t)
	}
	if got := quill.post("/record", with(form, "act", "save")); got.path != "/case/HR-2044" {
		t.Fatalf("ended at %s: %v", got.path, got.faults())
	}
	if diff := cmp.Diff(string(want), s.record(graft.CaseID("HR-2044"))); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
