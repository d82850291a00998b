package web_test

import (
	"net/http"
	"net/url"
	"testing"
)

// TestTheRecordPagesAreGoodPages in every state: empty, filled in, faulty, out of date,
// read in, taken in.
func TestTheRecordPagesAreGoodPages(t *testing.T) {
	s := serve(t, "2027-02-14 09:00")
	quill := s.as(surgeon)
	wantGoodPage(t, quill.get("/record").body)
	for _, name := range demoNames {
		form := quill.typing(demo(t, name))
		wantGoodPage(t, quill.post("/record", with(form, "act", "show", "what_if", "yes")).body)
		for field := range form {
			form[field] = []string{"<odd>"}
		}
		wantGoodPage(t, quill.post("/record", with(form, "act", "save")).body)
	}
	quill.post("/record", url.Values{"act": {"drop"}})
	got := quill.post("/record", with(quill.get("/record").typed(t), "act", "save"))
	if got.status != http.StatusUnprocessableEntity {
		t.Fatal(got.status)
	}
	wantGoodPage(t, got.body)
	id := s.admit("fenwick")
	path := "/case/" + string(id) + "/record"
	if _, err := s.keeper.AddFinding(s.actor(surgeon), id, map[string]string{"day": "2027-02-13", "what": "infection"}, ""); err != nil {
		t.Fatal(err)
	}
	form := quill.get(path).typed(t)
	wantGoodPage(t, quill.get(path).body)
	if _, err := s.keeper.Set(s.actor(front), id, []string{"patient.unavailable+=2027-03-01"}, ""); err != nil {
		t.Fatal(err)
	}
	wantGoodPage(t, quill.post(path, with(form, "act", "save", "surgery.day", "2027-01-15")).body)
	wantGoodPage(t, quill.get("/record/import").body)
	for _, text := range []string{string(arrivals(t)), "colour: green\n", "record: 1\nsurgery: {day: 2027-02-30}\n"} {
		page := quill.send("/record/import", "arrivals", []byte(text), nil)
		wantGoodPage(t, page.body)
		wantGoodPage(t, quill.send("/record/import/take", "", nil, hiddenFields(page.body)).body)
	}
}
