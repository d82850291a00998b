package evidence

import (
	"strings"
	"testing"
)

// sound is a valid bibliography of three entries; tests spoil one thing in it.
const sound = `- id: a-trial-2020
  kind: trial
  title: "A trial"
  journal: "A Journal"
  year: 2020
  volume: "1:2-3"
  doi: 10.1000/abc.1
  pmid: 123
  pmc: PMC456
  read: abstract
  read_on: 2026-11
  note: "Small."
- id: custom
  kind: practice
  title: "A custom"
  read: none
  note: "No text."
- id: recalled
  kind: opinion
  title: "An opinion"
  read: memory
  note: "Not seen."
`

func TestReadSound(t *testing.T) {
	list, err := read("s.yaml", []byte(sound))
	if err != nil {
		t.Fatal(err)
	}
	want := Source{
		ID: "a-trial-2020", Kind: Trial, Title: "A trial", Journal: "A Journal", Year: 2020, Volume: "1:2-3",
		DOI: "10.1000/abc.1", PMID: "123", PMC: "PMC456", Read: Abstract, ReadOn: "2026-11", Note: "Small.",
	}
	if len(list) != 3 || list[0] != want {
		t.Errorf("got %+v", list)
	}
}

func TestReadComplains(t *testing.T) {
	tests := []struct {
		name     string
		old, new string
		want     string // with the line
	}{
		{"unknown key", "  volume:", "  vol:", `s.yaml:6: unknown key "vol"`},
		{"duplicate key", "  year: 2020\n", "  year: 2020\n  year: 2021\n", `s.yaml:6: key "year" given twice, first on line 5`},
		{"duplicate id", "id: recalled", "id: custom", "s.yaml:18: id custom given twice, first on line 13"},
		{"duplicate doi", "  title: \"A custom\"\n", "  title: \"A custom\"\n  doi: 10.1000/ABC.1\n", "s.yaml:16: doi 10.1000/abc.1 given twice, first on line 7"},
		{"ids out of order", "id: recalled", "id: b", "s.yaml:18: b stands after custom"},
		{"missing id", "- id: custom\n  kind", "- kind", `s.yaml:13: an entry without an id lacks "id"`},
		{"missing kind", "  kind: trial\n", "", `s.yaml:1: a-trial-2020 lacks "kind"`},
		{"missing title", "  title: \"A trial\"\n", "", `s.yaml:1: a-trial-2020 lacks "title"`},
		{"missing status", "  read: abstract\n", "", `s.yaml:1: a-trial-2020 lacks "read"`},
		{"missing note", "  note: \"Small.\"\n", "", `s.yaml:1: a-trial-2020 lacks "note"`},
		{"missing month", "  read_on: 2026-11\n", "", `s.yaml:1: a-trial-2020 lacks "read_on"`},
		{"bad kind", "kind: trial", "kind: rumour", `s.yaml:2: kind "rumour" is not one of`},
		{"bad status", "read: abstract", "read: whole", `s.yaml:10: read "whole" is not one of`},
		{"bad id", "id: a-trial-2020", "id: A_Trial", `s.yaml:1: id "A_Trial" is not well formed`},
		{"bad year", "year: 2020", "year: 20", `s.yaml:5: year "20" is not well formed`},
		{"bad doi", "doi: 10.1000/abc.1", "doi: doi.org/10.1000/abc", `s.yaml:7: doi "doi.org/10.1000/abc" is not well formed`},
		{"bad pmid", "pmid: 123", "pmid: PM123", `s.yaml:8: pmid "PM123" is not well formed`},
		{"bad pmc", "pmc: PMC456", "pmc: 456", `s.yaml:9: pmc "456" is not well formed`},
		{"bad month", "2026-11", "2026-13", `s.yaml:11: read_on "2026-13" is not well formed`},
		{"empty value", "title: \"A custom\"", "title:", `s.yaml:15: key "title" wants one line of text`},
		{"list as value", "title: \"A custom\"", "title: [a, b]", `s.yaml:15: key "title" wants one line of text`},
		{"two lines", "title: \"A custom\"", "title: |\n    A\n    custom", `s.yaml:15: key "title" wants one line of text`},
		{"alias as value", "title: \"A trial\"", "title: &t A\n  journal2: *t", `s.yaml:4: key "journal2" wants one line of text`},
		{"memory with a month", "  read: memory\n", "  read: memory\n  read_on: 2026-11\n", "s.yaml:22: recalled: read memory has no read_on"},
		{"custom with a month", "  read: none\n", "  read: none\n  read_on: 2026-11\n", "s.yaml:17: custom: read none has no read_on"},
		{"trial with nothing to read", "  read: abstract\n  read_on: 2026-11\n", "  read: none\n", "s.yaml:1: a-trial-2020: read none is for practice and house only"},
		{"house with a text", "  kind: practice\n  title: \"A custom\"\n  read: none\n", "  kind: house\n  title: \"A custom\"\n  read: memory\n", "s.yaml:13: custom: a house choice has nothing to read"},
		{"entry is text", "- id: recalled", "- recalled\n- id: recalled", "s.yaml:18: an entry that is no set of keys"},
		{"second document", "- id: recalled", "---\n- id: recalled", "a second document"},
		{"not a list", sound, "id: a\n", "s.yaml:1: not a list of sources"},
		{"empty file", sound, "", "read s.yaml: EOF"},
		{"no YAML", sound, "- [", "read s.yaml: yaml:"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if !strings.Contains(sound, test.old) {
				t.Fatalf("nothing to spoil: %q", test.old)
			}
			_, err := read("s.yaml", []byte(strings.Replace(sound, test.old, test.new, 1)))
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("got %v\nwant %s", err, test.want)
			}
		})
	}
}

func TestReadReportsAllComplaints(t *testing.T) {
	text := strings.NewReplacer("kind: trial", "kind: rumour", "read: none", "read: all").Replace(sound)
	_, err := read("s.yaml", []byte(text))
	if err == nil {
		t.Fatal("no complaint")
	}
	for _, want := range []string{`kind "rumour"`, `read "all"`} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v\nlacks %s", err, want)
		}
	}
}
