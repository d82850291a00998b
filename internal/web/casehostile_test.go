package web_test

import (
	"net/url"
	"strings"
	"testing"

	"graftclock/internal/graft"
)

// hostile is what nobody types by accident.
var hostile = map[string]string{
	"a tag":         `"><script>alert(1)</script><b x='`,
	"an attribute":  `' onmouseover=alert(1) x="`,
	"line breaks":   "one\r\ntwo\nX-Header: three\tfour",
	"too long":      strings.Repeat("long ", 20_000),
	"NUL":           "before\x00after\x1b[31m",
	"no UTF-8":      "\xff\xfe\xc3(",
	"turned":        "left \u202e right",
	"another case":  "HR-2052",
	"a path":        "../../../../etc/passwd",
	"a template":    `{{.Seen}} ${x} %s%d%n`,
	"an empty line": "   ",
}

// hostileForms are all forms of a case with the fields that they have.
var hostileForms = map[string][]string{
	"book":     {"id", "day", "time", "room", "person", "why", "seen"},
	"move":     {"id", "day", "time", "room", "person", "why", "seen"},
	"hold":     {"id", "why", "seen"},
	"cancel":   {"id", "why", "seen"},
	"missed":   {"id", "why", "seen"},
	"attended": {"id", "day", "why", "seen"},
	"contact":  {"id", "outcome", "says", "seen"},
	"override": {"id", "day", "why", "none", "keep", "again", "seen"},
	"finding":  {"what", "day", "tooth", "isq", "result", "shows", "side", "size_mm", "repaired", "id", "why", "keep", "again", "seen"},
	"settle":   {"why", "seen"},
	"approve":  {"seen"},
	"feed":     {"seen"},
}

// switches are fields whose words go nowhere.
var switches = map[string]bool{"seen": true, "keep": true, "again": true, "none": true}

// sound is a form that would be taken, to be spoilt in one field.
func (s *served) sound(act string) url.Values {
	switch act {
	case "finding":
		return s.acting(fenwick, "", "what", "stability", "day", "2027-01-25", "tooth", "17", "isq", "62")
	case "contact":
		return s.acting(fenwick, late, "outcome", "no answer")
	case "override":
		return s.acting(fenwick, uncovering, "day", "2027-09-06", "why", "x")
	case "attended", "missed":
		return s.acting(fenwick, wound, "day", "2027-01-25")
	}
	return s.acting(fenwick, late, "day", "2027-02-11", "time", "10:00")
}

// TestNothingTypedBreaksAPage spoils every field of every form in every way. The server
// has no fault, the page that answers is sound and shows what was typed as words, and so
// is the case afterwards.
func TestNothingTypedBreaksAPage(t *testing.T) {
	s := serve(t, "2027-01-25 08:30")
	s.admit("fenwick")
	s.admit("doyle")
	b := s.as(surgeon)
	for act, fields := range hostileForms {
		for _, field := range fields {
			for name, value := range hostile {
				if switches[field] && name != "a tag" {
					continue
				}
				form := s.sound(act)
				form.Set(field, value)
				got := b.post("/case/HR-2041/"+act, form)
				if got.status >= 500 || got.status < 200 {
					t.Fatalf("%s, %s is %s: %d\n%s", act, field, name, got.status, got.body)
				}
				wantHarmless(t, got.body)
				if t.Failed() {
					t.Fatalf("%s, %s is %s: %d", act, field, name, got.status)
				}
			}
		}
	}
	for _, path := range []string{"/case/HR-2041", "/case/HR-2041/history", stepOf(fenwick, late)} {
		got := b.get(path)
		wantHarmless(t, got.body)
		if len(got.body) > 1<<20 {
			t.Errorf("%s has %d bytes", path, len(got.body))
		}
	}
	if log := s.log.String(); strings.Contains(log, "alert") || strings.Contains(log, "passwd") || strings.Contains(log, "fault of the program") {
		t.Errorf("the log says\n%s", log)
	}
}

// wantHarmless wants what was typed to be words of the page.
func wantHarmless(t testing.TB, page string) {
	t.Helper()
	for _, e := range elements(t, page) {
		for name := range e.attr {
			if name == "style" || strings.HasPrefix(name, "on") && name != "one" {
				t.Errorf("<%s> has %s", e.tag, name)
			}
		}
		if e.tag == "script" && e.attr["src"] == "" {
			t.Error("a script stands in the page")
		}
	}
	if strings.ContainsAny(page, "\x00\x1b\u202e") {
		t.Error("signs that no reader sees went through")
	}
}

// TestAddressesThatAreNoneAreNotFound asks for and posts to odd cases and steps.
func TestAddressesThatAreNoneAreNotFound(t *testing.T) {
	s := serve(t, "2027-01-25 08:30")
	s.admit("fenwick")
	s.admit("doyle")
	b := s.as(surgeon)
	for name, value := range hostile {
		if name == "too long" {
			value = value[:2000]
		}
		odd := url.PathEscape(value)
		for _, path := range []string{"/case/" + odd, "/case/" + odd + "/step?id=" + odd, "/case/HR-2041/step?id=" + url.QueryEscape(value), "/case/HR-2041/file/" + odd, "/case/HR-2041/finding?what=" + url.QueryEscape(value)} {
			got := b.get(path)
			if got.status >= 500 || got.status < 400 && !strings.Contains(path, "finding?") && name != "another case" {
				t.Errorf("%s: %d", path, got.status)
			}
			wantHarmless(t, got.body)
		}
	}
	var foreign graft.MilestoneID
	for _, m := range s.live("HR-2052").Timeline.Milestones {
		if _, there := s.live(fenwick).Timeline.Find(m.ID); !there {
			foreign = m.ID
		}
	}
	if foreign == "" {
		t.Fatal("both cases have the same steps")
	}
	before := s.live("HR-2052").Kept.Head
	for _, act := range []string{"book", "hold", "cancel", "attended", "missed", "override"} {
		got := b.post("/case/HR-2041/"+act, s.acting(fenwick, foreign, "day", "2027-01-25", "time", "09:00", "why", "x"))
		if got.status != 404 {
			t.Errorf("%s of a step of another case: %d\n%s", act, got.status, got.body)
		}
	}
	if s.live("HR-2052").Kept.Head != before {
		t.Error("the other case was changed")
	}
}

// TestAFormThatIsTooLongIsRefused sends more than a page takes, and what is no form.
func TestAFormThatIsTooLongIsRefused(t *testing.T) {
	s := serve(t, "2027-01-25 08:30")
	s.admit("fenwick")
	b := s.as(front)
	head := s.live(fenwick).Kept.Head
	got := b.post("/case/HR-2041/hold", s.acting(fenwick, review, "why", strings.Repeat("x", 5<<20)))
	if got.status != 413 {
		t.Errorf("%d", got.status)
	}
	got = b.answer(b.client.Post(b.url+"/case/HR-2041/hold", "application/x-www-form-urlencoded", strings.NewReader("id=%zz&seen=1")))
	if got.status != 422 {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	got = b.answer(b.client.Post(b.url+"/case/HR-2041/hold", "application/json", strings.NewReader(`{"id": "late-check//"}`)))
	if got.status != 400 {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	if s.live(fenwick).Kept.Head != head {
		t.Error("something was done")
	}
}

// TestAReasonIsNoBook refuses a reason that is too long, at its field, and keeps what was
// typed; one character less is taken.
func TestAReasonIsNoBook(t *testing.T) {
	s := serve(t, "2027-01-25 08:30")
	s.admit("fenwick")
	b := s.as(front)
	why := strings.Repeat("ü", 501)
	got := b.post("/case/HR-2041/hold", s.acting(fenwick, review, "why", why))
	if field := fieldOf(t, got, "hold-why"); got.status != 422 || field.attr["aria-invalid"] != "true" || field.attr["value"] != why || !got.says("501 characters are too many; at most 500") {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	if e := s.lastEntry(fenwick); e.What != "admit" {
		t.Errorf("the history says %+v", e)
	}
	if got = b.post("/case/HR-2041/hold", s.acting(fenwick, review, "why", why[2:])); got.status != 200 || s.lastEntry(fenwick).Why != why[2:] {
		t.Errorf("%d\n%s", got.status, got.body)
	}
}
