package web_test

import (
	"html"
	"maps"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/casefile"
	"graftclock/internal/graft"
	"graftclock/internal/reference"
)

// What the tests read of a page, with a browser's eyes.
var (
	recordTag = regexp.MustCompile(`(?s)<form[^>]*class="record".*?</form>`)
	fieldTag  = regexp.MustCompile(`<(input|select|option|/select)\b([^>]*)>`)
	attribute = regexp.MustCompile(`([a-z-]+)(?:="([^"]*)")?`)
	faultTag  = regexp.MustCompile(`(?s)<div id="([^"]*)-fault">(.*?)</div>`)
	faultText = regexp.MustCompile(`<p class="fault">(.*?)</p>`)
)

func attributes(tag string) map[string]string {
	all := map[string]string{}
	for _, m := range attribute.FindAllStringSubmatch(tag, -1) {
		all[m[1]] = html.UnescapeString(m[2])
	}
	return all
}

// typed is what the form of a page would send, as a browser fills it in.
func (a answer) typed(t testing.TB) url.Values {
	t.Helper()
	form := recordTag.FindString(a.body)
	if form == "" {
		t.Fatalf("no form of a record (%d):\n%s", a.status, a.body)
	}
	sent := url.Values{}
	choice := ""
	for _, m := range fieldTag.FindAllStringSubmatch(form, -1) {
		is := attributes(m[2])
		_, chosen := is["selected"]
		_, ticked := is["checked"]
		switch {
		case m[1] == "select":
			choice = is["name"]
			sent[choice] = []string{""}
		case m[1] == "/select":
			choice = ""
		case m[1] == "option" && choice != "" && chosen:
			sent[choice] = []string{is["value"]}
		case m[1] == "input" && is["type"] == "checkbox" && !ticked, m[1] == "option":
		default:
			sent.Add(is["name"], is["value"])
		}
	}
	return sent
}

// faults are those that stand at the fields of a page, by the field's id.
func (a answer) faults() map[string][]string {
	all := map[string][]string{}
	for _, m := range faultTag.FindAllStringSubmatch(a.body, -1) {
		for _, says := range faultText.FindAllStringSubmatch(m[2], -1) {
			all[m[1]] = append(all[m[1]], html.UnescapeString(says[1]))
		}
	}
	return all
}

// idOf is the id of the field of a path.
func idOf(path string) string { return (&casefile.Part{Path: path}).ID() }

// with is a copy of a form with changes, each NAME, VALUE.
func with(form url.Values, changes ...string) url.Values {
	changed := url.Values(maps.Clone(form))
	for n := 0; n < len(changes); n += 2 {
		changed[changes[n]] = []string{changes[n+1]}
	}
	return changed
}

// demo is a canonical record of the demo clinic.
func demo(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	text, _, faults := casefile.Canonical(name, data)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return text
}

// demoNames are the records of the demo clinic.
var demoNames = []string{"doyle", "fenwick", "lindqvist", "marsh", "okafor", "petrov"}

// record is the record of a case as the ledger has it.
func (s *served) record(id graft.CaseID) string {
	s.t.Helper()
	r, err := s.keeper.Record(id, 0)
	if err != nil {
		s.t.Fatal(err)
	}
	return string(r.Record)
}

// typing types a whole record into the empty form: as its fields, with the entries
// that the form does not show added by the buttons.
func (b *browser) typing(record []byte) url.Values {
	b.t.Helper()
	want := url.Values(casefile.FormOf(record))
	form := b.get("/record").typed(b.t)
	for _, list := range listsOf(want) {
		for range 20 {
			if slices.ContainsFunc(slices.Collect(maps.Keys(form)), func(name string) bool { return strings.HasPrefix(name, list) }) {
				break
			}
			at := list[:strings.LastIndexByte(list, '[')]
			form = b.post("/record", with(form, "act", "add:"+at)).typed(b.t)
		}
	}
	for name, texts := range want {
		if from, to, several := strings.Cut(texts[0], ".."); several {
			form[name], form[name+".to"] = []string{from}, []string{to}
			continue
		}
		if _, there := form[name]; !there && name != "patient.flags" {
			b.t.Fatalf("the form has no field %s", name)
		}
		form[name] = texts
	}
	return form
}

// listsOf are the entries of all lists in the fields of a record, outer ones first.
func listsOf(form url.Values) []string {
	all := map[string]bool{}
	for name := range form {
		for n := range name {
			if name[n] == ']' {
				all[name[:n+1]] = true
			}
		}
	}
	return slices.SortedFunc(maps.Keys(all), func(a, b string) int {
		if n := strings.Count(a, "[") - strings.Count(b, "["); n != 0 {
			return n
		}
		return strings.Compare(a, b)
	})
}
