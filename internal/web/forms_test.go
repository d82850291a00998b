package web_test

import (
	"net/url"
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// graftSpan is the window of a step, for what asks for days.
var graftSpan day.Span

func mustFind(t testing.TB, live desk.Live, id graft.MilestoneID) graft.Milestone {
	t.Helper()
	m, ok := live.Timeline.Find(id)
	if !ok {
		t.Fatalf("no step %s", id)
	}
	return m
}

// sentForm is a form of a page with what a browser would send of it.
type sentForm struct {
	to     string
	fields url.Values
	ids    map[string]bool // of its fields
}

// forms lists the forms of a page that post, with what stands in them.
func forms(t testing.TB, page answer) []sentForm {
	t.Helper()
	var list []sentForm
	for _, part := range strings.Split(page.body, "<form ")[1:] {
		part, _, _ = strings.Cut(part, "</form>")
		f := sentForm{fields: url.Values{}, ids: map[string]bool{}}
		choosing := ""
		for _, e := range elements(t, "<form "+part+"</form>") {
			name, value := e.attr["name"], e.attr["value"]
			f.ids[e.attr["id"]] = true
			switch {
			case e.tag == "form":
				f.to = e.attr["action"]
			case e.tag == "input" && e.attr["type"] != "checkbox":
				f.fields.Set(name, value)
			case e.tag == "select":
				choosing = name
			case e.tag == "option":
				if _, given := e.attr["value"]; !given {
					value = e.text
				}
				if _, chosen := e.attr["selected"]; chosen || !f.fields.Has(choosing) {
					f.fields.Set(choosing, value)
				}
			}
		}
		list = append(list, f)
	}
	return list
}

// offerForm is the form of the first offer of a step's page.
func offerForm(t testing.TB, page answer) (url.Values, string) {
	t.Helper()
	for _, f := range forms(t, page) {
		if f.ids["offer-1"] {
			return f.fields, f.to
		}
	}
	t.Fatalf("no offer\n%s", page.body)
	return nil, ""
}

// formTo is the form of a page that goes to an address and has a field of an id.
func formTo(t testing.TB, page answer, to, id string) url.Values {
	t.Helper()
	for _, f := range forms(t, page) {
		if f.to == to && (id == "" || f.ids[id]) {
			return f.fields
		}
	}
	t.Fatalf("no form to %s with %s\n%s", to, id, page.body)
	return nil
}

// fieldOf is the element of an id.
func fieldOf(t testing.TB, page answer, id string) *element {
	t.Helper()
	for _, e := range elements(t, page.body) {
		if e.attr["id"] == id {
			return e
		}
	}
	t.Fatalf("no %s\n%s", id, page.body)
	return nil
}
