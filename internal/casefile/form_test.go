package casefile_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/reference"
	"graftclock/internal/table"
)

// demoRecords are all records of the demo clinic, and the example, by name.
func demoRecords(t *testing.T) map[string][]byte {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(reference.Root(), "testdata", "demo", "*.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	all := map[string][]byte{"case.yaml": []byte(example(t, "case.yaml"))}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(string(data), "clinic:") {
			all[filepath.Base(path)] = data
		}
	}
	arrivals, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", "arrivals.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range casefile.ReadCSV("arrivals.csv", arrivals) {
		if len(row.Faults) == 0 {
			all[fmt.Sprintf("arrivals.csv:%d", row.Line)] = row.Canonical
		}
	}
	const least = 8
	if len(all) < least {
		t.Fatalf("%d records only", len(all))
	}
	return all
}

// readForm reads a form and fails where it is refused.
func readForm(t *testing.T, typed map[string][]string, kept []byte) *casefile.Form {
	t.Helper()
	f, err := casefile.ReadForm(typed, kept)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestARecordComesThroughTheFormUnchanged, its findings too, which no form types.
func TestARecordComesThroughTheFormUnchanged(t *testing.T) {
	for name, data := range demoRecords(t) {
		finding := "findings: [{day: 2027-12-01, what: left out, step: healing-review}]\n"
		for _, added := range []string{"", finding} {
			if added != "" {
				data = []byte(strings.Replace(string(data), "findings: []", "", 1) + "\n" + added)
			}
			want, _, faults := casefile.Canonical(name, data)
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			f := readForm(t, casefile.FormOf(want), want)
			got, _, faultless := f.Record("the form")
			if !faultless {
				t.Errorf("%s: %v", name, f.Faults())
			}
			if diff := cmp.Diff(string(want), string(got)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", name, diff)
			}
		}
	}
}

// keysOfRecord lists the paths of every key of the format, entries of lists as [0].
func keysOfRecord(s table.Shape, path string) []string {
	var all []string
	switch s.Kind {
	case table.KindMap:
		for _, f := range s.Fields {
			all = append(all, keysOfRecord(f.Shape, strings.TrimPrefix(path+"."+f.Key, "."))...)
		}
		return all
	case table.KindList:
		if s.Of.Kind == table.KindWord {
			return []string{path}
		}
		return keysOfRecord(*s.Of, path+"[0]")
	case table.KindEither:
		for _, option := range s.Either {
			if option.Kind == table.KindMap {
				all = keysOfRecord(option, path)
			}
		}
	}
	return append(all, path)
}

// TestEveryKeyHasAField is policy: who adds a key to the record adds its field and
// the word for it.
func TestEveryKeyHasAField(t *testing.T) {
	typed := map[string][]string{}
	var want []string
	for _, path := range keysOfRecord(casefile.Record(), "") {
		if !strings.HasPrefix(path, "findings") {
			want = append(want, path)
			typed[path] = []string{""}
		}
	}
	f := readForm(t, typed, nil)
	for _, path := range want {
		p := f.Find(path)
		switch {
		case p == nil:
			t.Errorf("%s has no field", path)
		case p.Label == "":
			t.Errorf("%s has no label", path)
		case p.Control == casefile.Group || p.Control == casefile.List:
			t.Errorf("%s is shown as %s", path, p.Control)
		}
		for ; strings.ContainsAny(path, ".["); path = path[:strings.LastIndexAny(path, ".[")] {
			if above := f.Find(path); above == nil || above.Label == "" {
				t.Errorf("%s has no label", path)
			}
		}
	}
	if len(want) < 40 {
		t.Errorf("%d keys only", len(want))
	}
	if list := f.Find("sinuses[0].implants"); list.Entry == "" {
		t.Error("a list without a word for its entries")
	}
}

// typedAs is a record, faulty or not, as the names and texts of a form.
func typedAs(typed map[string][]string, path string, value any) {
	switch value := value.(type) {
	case map[string]any:
		for key, below := range value {
			typedAs(typed, strings.TrimPrefix(path+"."+key, "."), below)
		}
	case []any:
		for n, entry := range value {
			at := fmt.Sprintf("%s[%d]", path, n)
			if path == "patient.flags" {
				at = path
			}
			typedAs(typed, at, entry)
		}
	case string:
		typed[path] = append(typed[path], value)
	}
}

// notTyped names the spoils that a form cannot hold: an empty field is a missing one,
// a list or a map has a field for each of its parts, and there is no field for a key
// that the record does not have.
var notTyped = append(slices.Clone(formless), "unknown key", "key of the e-mail misspelt", "e-mail address alone", "e-mail without value", "telephone number without value",
	"perforation without value", "material without value", "torque without value", "restoration blank", "no widths in the list", "no sinus at all",
	"width with a decimal comma", "a list for a number")

// TestSpoiltRecordIsFaultyAtItsField types every spoilt record into the form: each
// fault stands at the part of its path, in the words of the file's reader.
func TestSpoiltRecordIsFaultyAtItsField(t *testing.T) {
	valid := example(t, "case.yaml")
	for _, s := range recordSpoils {
		if slices.Contains(notTyped, s.name) || strings.Contains(s.to, "findings") {
			continue
		}
		t.Run(s.name, func(t *testing.T) {
			data := spoilt(t, valid, s)
			typed := map[string][]string{}
			typedAs(typed, "", decoded(t, data, inWords))
			f := readForm(t, typed, nil)
			f.Record("the form")
			_, faults := casefile.ReadCase("case", data)
			for _, fault := range faults {
				says := strings.TrimPrefix(table.Fault{Found: fault.Found, Allowed: fault.Allowed, Hint: fault.Hint}.String(), ": ")
				if !slices.ContainsFunc(f.Faults(), func(told casefile.Told) bool {
					return told.Says == says && told.Part != nil && (told.Part.Path == fault.Path || told.Part.Control == casefile.Ticks && strings.HasPrefix(fault.Path, told.Part.Path))
				}) {
					t.Errorf("no %s: %s in\n%v", fault.Path, says, f.Faults())
				}
			}
			if len(f.Faults()) != len(faults) {
				t.Errorf("%d faults in the form, %d in the file: %v", len(f.Faults()), len(faults), f.Faults())
			}
		})
	}
}
