package web_test

import (
	"html"
	"net/http"
	"strings"
	"testing"
)

// TestARoleThatMayNotChangesNothing wants the desk and the nurse to change what is the patient's and
// nothing else.
func TestARoleThatMayNotChangesNothing(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	id := s.admit("fenwick")
	before := s.record(id)
	path := "/case/" + string(id) + "/record"
	for _, name := range []string{front, nurse} {
		desk := s.as(name)
		form := desk.get(path).typed(t)
		for _, change := range [][]string{
			{"surgery.sutures", "resorbable"}, {"surgery.referrer", ""}, {"sinuses[0].implants[0].residual_bone_mm", "5"}, {"sinuses[0].graft.additive", "rhPDGF-BB"},
			{"patient.name", "Nora F.", "sinuses[0].health", "not clear"},
		} {
			got := desk.post(path, with(with(form, change...), "act", "save"))
			if got.status != http.StatusUnprocessableEntity || !got.says("needs a surgeon; "+name) {
				t.Errorf("%s changed %v: %d at %s", name, change, got.status, got.path)
			}
			if again := got.typed(t); again.Get(change[0]) != change[1] {
				t.Errorf("what %s typed is lost", name)
			}
		}
	}
	if s.record(id) != before {
		t.Error("the record was changed")
	}
	ida := s.as(front)
	ida.post(path, with(formTo(t, ida.get(path), path, ""), "act", "drop"))
	if got := ida.post(path, with(ida.get(path).typed(t), "act", "save", "patient.phone", "+353 1 555 0999")); got.path != "/case/"+string(id) {
		t.Errorf("the patient's telephone: %d at %s", got.status, got.path)
	}
	if record := s.record(id); !strings.Contains(record, "0999") || !strings.Contains(record, "removable") {
		t.Errorf("the record is now\n%s", record)
	}
}

func TestACaseNumberTwiceIsRefused(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	id := s.admit("fenwick")
	before := s.record(id)
	ida := s.as(front)
	form := with(ida.typing(demo(t, "okafor")), "case", "HR-2041")
	got := ida.post("/record", with(form, "act", "save"))
	if got.status != http.StatusConflict || !got.says("Case HR-2041 is kept already, for Nora Fenwick") || got.typed(t).Get("patient.name") != "Teni Okafor" {
		t.Errorf("%d at %s", got.status, got.path)
	}
	if s.record(id) != before {
		t.Error("the record of another patient was changed")
	}
	if got := ida.post("/record", with(form, "act", "save", "case", "HR-2044")); got.path != "/case/HR-2044" {
		t.Errorf("with a number of its own: %d at %s", got.status, got.path)
	}
}

// TestAnOutOfDateFormIsRefusedAndKept: somebody else changed the case meanwhile.
func TestAnOutOfDateFormIsRefusedAndKept(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	id := s.admit("fenwick")
	path := "/case/" + string(id) + "/record"
	quill := s.as(surgeon)
	form := with(quill.get(path).typed(t), "surgery.sutures", "resorbable")
	if _, err := s.keeper.Set(s.actor(front), id, []string{"patient.phone=+353 1 555 0777"}, ""); err != nil {
		t.Fatal(err)
	}
	got := quill.post(path, with(form, "act", "save"))
	if got.status != http.StatusConflict || !got.says("changed meanwhile (Ida Marlow: set") {
		t.Fatalf("%d at %s", got.status, got.path)
	}
	for _, want := range []string{
		`<li>patient.phone: "+353 1 555 0141" -> "+353 1 555 0777"</li>`, // what Ida did
		`<li>patient.phone: "+353 1 555 0777" -> "+353 1 555 0141"</li>`, // what keeping would undo
		`<li>surgery.sutures: removable -> resorbable</li>`,
	} {
		if !strings.Contains(html.UnescapeString(got.body), want) {
			t.Errorf("the page does not say %s", want)
		}
	}
	again := got.typed(t)
	if again.Get("surgery.sutures") != "resorbable" {
		t.Error("what was typed is lost")
	}
	if got := quill.post(path, with(again, "act", "save", "patient.phone", "+353 1 555 0777")); got.path != "/case/"+string(id) {
		t.Fatalf("decided anew: %d at %s", got.status, got.path)
	}
	if record := s.record(id); !strings.Contains(record, "resorbable") || !strings.Contains(record, "0777") {
		t.Errorf("the record is now\n%s", record)
	}
}
