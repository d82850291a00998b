package evidence

import (
	"strings"
	"testing"
	"time"
)

func TestEveryEntryIsComplete(t *testing.T) {
	list, faults := read(sourcesFile, sourcesText)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if len(list) == 0 {
		t.Fatal("no sources")
	}
	for i, s := range list {
		if i > 0 && list[i-1].ID >= s.ID {
			t.Errorf("%s does not come after %s", s.ID, list[i-1].ID)
		}
		if s.Title == "" || s.Kind == "" || s.Note == "" || s.Status() == "" {
			t.Errorf("%s: incomplete: %+v", s.ID, s)
		}
		if strings.HasSuffix(s.DOI, ".") || strings.HasPrefix(s.DOI, "doi:") {
			t.Errorf("%s: doi %q carries more than the number", s.ID, s.DOI)
		}
		if _, err := time.Parse("2006-01", s.ReadOn); s.ReadOn != "" && err != nil {
			t.Errorf("%s: read on %q", s.ID, s.ReadOn)
		}
		if s.Read == Memory && s.ReadOn != "" {
			t.Errorf("%s: from memory, yet read on %s", s.ID, s.ReadOn)
		}
		if opened, closed := strings.Count(s.Title, "["), strings.Count(s.Title, "]"); opened != closed {
			t.Errorf("%s: unbalanced brackets in %q", s.ID, s.Title)
		}
		for _, text := range []string{s.Title, s.Note, s.Journal, s.Volume} {
			if text != strings.TrimSpace(text) || strings.ContainsAny(text, "®™\t") || strings.Contains(text, "  ") {
				t.Errorf("%s: untidy text %q", s.ID, text)
			}
		}
		if !strings.HasSuffix(s.Note, ".") {
			t.Errorf("%s: the note is no sentence: %q", s.ID, s.Note)
		}
	}
}

func TestPracticeAndHouseHaveNoSource(t *testing.T) {
	for _, id := range []ID{CommonPractice, House} {
		s, found := Lookup(id)
		if !found || s.Status() != "no source" || s.ReadOn != "" {
			t.Errorf("%s: found %t, status %q, read on %q", id, found, s.Status(), s.ReadOn)
		}
	}
}

func TestLookupFindsEverySourceAndNoOther(t *testing.T) {
	for _, want := range All() {
		if got, found := Lookup(want.ID); !found || got != want {
			t.Errorf("Lookup(%s) = %+v, %t", want.ID, got, found)
		}
	}
	for _, id := range []ID{"", "a", "house2", "zzz"} {
		if got, found := Lookup(id); found || got != (Source{}) {
			t.Errorf("Lookup(%q) = %+v, %t", id, got, found)
		}
	}
}

func TestAllIsTheCallersOwn(t *testing.T) {
	first := All()
	kept := first[0]
	first[0].Title = "spoiled"
	if All()[0] != kept {
		t.Error("changing the slice of All changed the bibliography")
	}
}

func TestReference(t *testing.T) {
	full := Source{
		ID: "early-2017", Kind: Cohort, Title: "Early loading", Journal: "Clin Oral Implants Res",
		Year: 2017, Volume: "28:109-115", DOI: "10.1111/clr.12768", Read: Abstract, ReadOn: "2026-11",
	}
	tests := []struct {
		name, desc string
		change     func(*Source)
		want       string
	}{
		{"full", "journal, year, pages, title, DOI", func(*Source) {},
			"Clin Oral Implants Res 2017;28:109-115. Early loading. doi:10.1111/clr.12768. Abstract read 2026-11."},
		{"all numbers", "numbers in a fixed order", func(s *Source) { s.PMID, s.PMC = "12", "PMC34" },
			"Clin Oral Implants Res 2017;28:109-115. Early loading. doi:10.1111/clr.12768, PMID 12, PMC34. Abstract read 2026-11."},
		{"no year", "pages follow the journal", func(s *Source) { s.Year = 0 },
			"Clin Oral Implants Res 28:109-115. Early loading. doi:10.1111/clr.12768. Abstract read 2026-11."},
		{"title only", "a page without journal or number", func(s *Source) {
			*s = Source{Title: "[A page]", Read: Passage, ReadOn: "2026-11"}
		}, "[A page]. Passage read 2026-11."},
		{"book", "a year without a journal; a title cut short keeps its dots", func(s *Source) {
			*s = Source{Title: "A book ...", Year: 1989, Read: Secondary, ReadOn: "2026-11"}
		}, "1989. A book ... Read in a secondary page 2026-11."},
		{"question", "a question mark ends the title", func(s *Source) { s.Title = "Why wait?" },
			"Clin Oral Implants Res 2017;28:109-115. Why wait? doi:10.1111/clr.12768. Abstract read 2026-11."},
		{"memory", "nothing was seen", func(s *Source) { s.Read, s.ReadOn, s.DOI = Memory, "", "" },
			"Clin Oral Implants Res 2017;28:109-115. Early loading. From memory, not seen."},
		{"house", "no text at all", func(s *Source) { *s = Source{Title: "Own choice", Kind: HouseChoice, Read: None} },
			"Own choice. No published source."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := full
			test.change(&s)
			if got := s.Reference(); got != test.want {
				t.Errorf("%s:\n got %s\nwant %s", test.desc, got, test.want)
			}
		})
	}
}

func TestEveryReferenceIsOneLine(t *testing.T) {
	for _, s := range All() {
		line := s.Reference()
		if strings.ContainsAny(line, "\r\n") || !strings.HasSuffix(line, ".") || strings.Contains(line, "....") {
			t.Errorf("%s: %q", s.ID, line)
		}
	}
}

func TestStatus(t *testing.T) {
	for read, want := range map[Reading]string{
		Abstract: "read", Passage: "read", Secondary: "read in a secondary page",
		Memory: "from memory", None: "no source",
	} {
		if got := (Source{Read: read}).Status(); got != want {
			t.Errorf("%s: got %q, want %q", read, got, want)
		}
	}
}

func BenchmarkRead(b *testing.B) {
	for b.Loop() {
		if _, err := read(sourcesFile, sourcesText); err != nil {
			b.Fatal(err)
		}
	}
}
