package web_test

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
)

// nasty are texts that somebody may type, or send without a browser.
var nasty = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onfocus='alert(1)`, "{{.}}", "a\nb", "a\r\nBcc: x@example.org", "a\x00b", "\xff\xfe", "\u202eabc", strings.Repeat("x", 100<<10), "-1e308", "NaN", "0x10", "9999-12-31", "0001-01-01", "&amp;", "%00", "null", "~", "!!binary x", "*a", "[1, 2]",
}

// TestHostileTextInEveryField never breaks the page, is never lost without a word and
// never kept where it is a fault.
func TestHostileTextInEveryField(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	whole := casefile.FormOf(demo(t, "fenwick"))
	for _, text := range nasty {
		form := url.Values(maps.Clone(whole))
		for name := range form {
			form[name] = []string{text}
		}
		for _, path := range []string{"/record/live", "/record"} {
			got := quill.post(path, with(form, "act", "save"))
			if len(text)*len(form) > 4<<20 {
				if got.status != http.StatusRequestEntityTooLarge || !got.says("more than this page takes (4 MB)") {
					t.Errorf("%d bytes at %s: %d", len(text)*len(form), path, got.status)
				}
				continue
			}
			if got.status != http.StatusOK && got.status != http.StatusUnprocessableEntity {
				t.Errorf("%.40q at %s: %d", text, path, got.status)
			}
			for _, mark := range []string{"<script>alert", "<img", " onfocus='", " onerror=alert(1)>"} {
				if strings.Contains(got.body, mark) {
					t.Errorf("%.40q at %s comes out as markup", text, path)
				}
			}
			if path == "/record" && len(got.faults()) < 10 {
				t.Errorf("%.40q: %d faults", text, len(got.faults()))
			}
		}
	}
}

// TestHostileTextInOneFieldEach is refused, or kept as the text that it is.
func TestHostileTextInOneFieldEach(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	whole := casefile.FormOf(demo(t, "okafor"))
	n := 0
	for _, name := range slices.Sorted(maps.Keys(whole)) {
		for _, text := range []string{nasty[0], nasty[6]} {
			n++
			id := fmt.Sprintf("X-%d", n)
			form := with(whole, "case", id, name, text, "act", "save")
			if got := quill.post("/record", form); got.status == http.StatusUnprocessableEntity {
				continue
			}
			if name == "case" {
				id = text
			}
			if kept := s.record(graft.CaseID(id)); text != nasty[0] || !strings.Contains(kept, text) {
				t.Errorf("%s = %.40q was kept:\n%s", name, text, kept)
			}
		}
	}
}

// TestMoreThanARecordHoldsIsRefused: entries without end, numbers out of bounds, the
// same field twice.
func TestMoreThanARecordHoldsIsRefused(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	whole := casefile.FormOf(demo(t, "okafor"))
	many := with(whole)
	for n := range 10_000 {
		many.Set(fmt.Sprintf("sinuses[0].implants[%d].tooth", n), "26")
	}
	some := with(whole)
	for n := range 2000 {
		some.Set(fmt.Sprintf("sinuses[0].implants[%d].tooth", n), "26")
	}
	for _, path := range []string{"/record", "/record/live"} {
		if got := quill.post(path, with(many, "act", "save")); got.status != http.StatusUnprocessableEntity || !got.says("has more fields than any of them") {
			t.Errorf("10,000 implants at %s: %d", path, got.status)
		}
		if got := quill.post(path, with(some, "act", "save")); got.status != http.StatusUnprocessableEntity || !got.says("is no record: at most 1500") {
			t.Errorf("2,000 implants at %s: %d", path, got.status)
		}
	}
	for name, says := range map[string]string{
		"sinuses[-1].side":                 "is no number of an entry; allowed: [0] to [99]",
		"sinuses[100].side":                "is no number of an entry; allowed: [0] to [99]",
		"sinuses[07].side":                 "is no number of an entry; allowed: [0] to [99]",
		"sinuses[0].side[0]":               "side has no numbered entries",
		"sinuses[99999999999999999].side":  "is no number of an entry",
		"sinuses.side":                     "side",
		"patient.nam":                      "unknown key",
		"__proto__":                        "unknown key",
		"sinuses[0].implants[0].tooth.x":   "a key below one that has none",
		"findings[0].what":                 "no field of this form",
		"patient[0].name":                  "patient has no numbered entries",
		"patient.flags[0]":                 "flags has no numbered entries",
		"sinuses[0].perforation.size_mm.x": "a key below one that has none",
	} {
		got := quill.post("/record", with(whole, name, "right", "act", "save"))
		if got.status != http.StatusUnprocessableEntity || !got.says(says) {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	twice := with(whole)
	twice["sinuses[0].side"] = []string{"left", "right"}
	if got := quill.post("/record", with(twice, "act", "save")); got.status != http.StatusUnprocessableEntity || !slices.Contains(got.faults()[idOf("sinuses[0].side")], "two values for one field; allowed: each key once") {
		t.Errorf("a field twice: %d: %v", got.status, got.faults())
	}
	gap := with(whole)
	for name, texts := range whole {
		if after, of := strings.CutPrefix(name, "sinuses[0]"); of {
			delete(gap, name)
			gap["sinuses[7]"+after] = texts
		}
	}
	if got := quill.post("/record", with(gap, "act", "save")); got.path != "/case/HR-2044" || s.record("HR-2044") != string(demo(t, "okafor")) {
		t.Errorf("a gap in the numbers: %d at %s: %v", got.status, got.path, got.faults())
	}
}

// TestTheFormTellsNothingInItsAddress: no field of a patient stands in an address, and
// none in the log.
func TestTheFormTellsNothingInTheLog(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	quill := s.as(surgeon)
	form := casefile.FormOf(demo(t, "fenwick"))
	quill.post("/record/live", form)
	quill.post("/record", with(form, "act", "show"))
	quill.post("/record", with(form, "act", "save"))
	quill.get("/case/HR-2041/record")
	quill.send("/record/import", "fenwick.yaml", demo(t, "fenwick"), nil)
	for _, secret := range []string{"Fenwick", "HR-2041", "example.org", "0141"} {
		if strings.Contains(s.log.String(), secret) {
			t.Errorf("%s is in the log", secret)
		}
	}
}

// TestNobodyWithoutASignInSeesTheForm.
func TestNobodyWithoutASignInSeesTheForm(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	id := s.admit("fenwick")
	nobody := s.as("")
	for _, path := range []string{"/record", "/case/" + string(id) + "/record", "/record/import"} {
		if got := nobody.get(path); got.status != http.StatusUnauthorized || got.says("Nora") {
			t.Errorf("%s: %d", path, got.status)
		}
	}
	form := with(casefile.FormOf(demo(t, "okafor")), "act", "save")
	for _, path := range []string{"/record", "/case/" + string(id) + "/record", "/record/live", "/record/import/take"} {
		if got := nobody.post(path, form); got.status != http.StatusUnauthorized {
			t.Errorf("POST %s: %d", path, got.status)
		}
	}
	if _, err := s.keeper.Record("HR-2044", 0); err == nil {
		t.Error("taken in by nobody")
	}
}
