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
	list, faults := read("s.yaml", []byte(sound))
	if len(faults) > 0 {
		t.Fatal(faults)
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
		{"unknown key", "  volume:", "  vol:", `s.yaml:6:3: [0].vol: unknown key`},
		{"duplicate key", "  year: 2020\n", "  year: 2020\n  year: 2021\n", `s.yaml:6:3: [0].year: this key stands on line 5 already`},
		{"duplicate id", "id: recalled", "id: custom", "s.yaml:18:7: [2].id: id custom stands on line 13 already"},
		{"duplicate doi", "  title: \"A custom\"\n", "  title: \"A custom\"\n  doi: 10.1000/ABC.1\n", "s.yaml:16:8: [1].doi: doi 10.1000/abc.1 stands on line 7 already"},
		{"ids out of order", "id: recalled", "id: b", "s.yaml:18:7: [2].id: b stands after custom"},
		{"missing id", "- id: custom\n  kind", "- kind", `s.yaml:13:3: [1].id: missing`},
		{"missing kind", "  kind: trial\n", "", `s.yaml:1:3: [0].kind: missing`},
		{"missing title", "  title: \"A trial\"\n", "", `s.yaml:1:3: [0].title: missing`},
		{"missing status", "  read: abstract\n", "", `s.yaml:1:3: [0].read: missing`},
		{"missing note", "  note: \"Small.\"\n", "", `s.yaml:1:3: [0].note: missing`},
		{"missing month", "  read_on: 2026-11\n", "", `s.yaml:1:3: [0].read_on: missing`},
		{"bad kind", "kind: trial", "kind: rumour", `s.yaml:2:9: [0].kind: "rumour"; allowed: guideline`},
		{"bad status", "read: abstract", "read: whole", `s.yaml:10:9: [0].read: "whole"; allowed: abstract`},
		{"bad id", "id: a-trial-2020", "id: A_Trial", `s.yaml:1:7: [0].id: "A_Trial" is not an id`},
		{"bad year", "year: 2020", "year: 20", `s.yaml:5:9: [0].year: 20; allowed: a whole number from 1900 to 2099`},
		{"bad doi", "doi: 10.1000/abc.1", "doi: doi.org/10.1000/abc", `s.yaml:7:8: [0].doi: "doi.org/10.1000/abc" is not a DOI`},
		{"bad pmid", "pmid: 123", "pmid: PM123", `s.yaml:8:9: [0].pmid: "PM123" is not a PubMed number`},
		{"bad pmc", "pmc: PMC456", "pmc: 456", `s.yaml:9:8: [0].pmc: "456" is not a PubMed Central number`},
		{"bad month", "2026-11", "2026-13", `s.yaml:11:12: [0].read_on: "2026-13" is not a month`},
		{"empty value", "title: \"A custom\"", "title:", `s.yaml:15:9: [1].title: no value`},
		{"list as value", "title: \"A custom\"", "title: [a, b]", `s.yaml:15:10: [1].title: a list`},
		{"two lines", "title: \"A custom\"", "title: |\n    A\n    custom", `s.yaml:15:10: [1].title: a line break`},
		{"alias as value", "title: \"A trial\"", "title: &t A\n  journal: *t", `s.yaml:3:10: [0].title: a YAML anchor or alias`},
		{"memory with a month", "  read: memory\n", "  read: memory\n  read_on: 2026-11\n", "s.yaml:18:3: [2].read_on: a month, though nothing was read"},
		{"custom with a month", "  read: none\n", "  read: none\n  read_on: 2026-11\n", "s.yaml:13:3: [1].read_on: a month, though nothing was read"},
		{"trial with nothing to read", "  read: abstract\n  read_on: 2026-11\n", "  read: none\n", "s.yaml:10:9: [0].read: none for a source of kind trial"},
		{"house with a text", "  kind: practice\n  title: \"A custom\"\n  read: none\n", "  kind: house\n  title: \"A custom\"\n  read: memory\n", "s.yaml:16:9: [1].read: memory for a house choice"},
		{"entry is text", "- id: recalled", "- recalled\n- id: recalled", `s.yaml:18:3: [2]: "recalled"`},
		{"second document", "- id: recalled", "---\n- id: recalled", "a second document"},
		{"not a list", sound, "id: a\n", "s.yaml:1:1: a map; allowed: a list"},
		{"empty file", sound, "", "s.yaml:1:1: an empty file"},
		{"no YAML", sound, "- [", "s.yaml:1:1: no YAML"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if !strings.Contains(sound, test.old) {
				t.Fatalf("nothing to spoil: %q", test.old)
			}
			_, faults := read("s.yaml", []byte(strings.Replace(sound, test.old, test.new, 1)))
			if !strings.Contains(faults.Error(), test.want) {
				t.Errorf("got %v\nwant %s", faults, test.want)
			}
		})
	}
}

func TestReadReportsAllComplaints(t *testing.T) {
	text := strings.NewReplacer("kind: trial", "kind: rumour", "read: none", "read: all").Replace(sound)
	_, faults := read("s.yaml", []byte(text))
	for _, want := range []string{`kind: "rumour"`, `read: "all"`} {
		if !strings.Contains(faults.Error(), want) {
			t.Errorf("%v\nlacks %s", faults, want)
		}
	}
}
