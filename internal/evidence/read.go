package evidence

import (
	"fmt"
	"regexp"
	"strings"

	"graftclock/internal/table"
)

// kinds and readings list the words the file may use.
var (
	kinds    = []Kind{Guideline, Review, Trial, Cohort, Animal, Textbook, Opinion, Practice, Law, HouseChoice}
	readings = []Reading{Abstract, Passage, Secondary, Memory, None}
)

// bibliography is the shape of the file: a list of flat entries in id order.
var bibliography = table.List("", 1, table.Map("",
	table.Must("id", formed("an id of lower-case words joined by hyphens", `[a-z0-9]+(-[a-z0-9]+)*`)),
	table.Must("kind", table.Word("", words(kinds)...)),
	table.Must("title", table.Text("")),
	table.May("journal", table.Text("")),
	table.May("year", table.Whole("", "", 1900, 2099)),
	table.May("volume", table.Text("")),
	table.May("doi", formed("a DOI without prefix, such as 10.1111/clr.12768", `10\.[0-9]{4,9}/[^\s]+`)),
	table.May("pmid", formed("a PubMed number", `[1-9][0-9]{0,8}`)),
	table.May("pmc", formed("a PubMed Central number such as PMC6040296", `PMC[1-9][0-9]*`)),
	table.Must("read", table.Word("", words(readings)...)),
	table.May("read_on", formed("a month such as 2026-11", `20[0-9]{2}-(0[1-9]|1[0-2])`)),
	table.Must("note", table.Text("")),
))

func formed(name, pattern string) table.Shape {
	form := regexp.MustCompile("^(" + pattern + ")$")
	return table.Formal("", &table.Grammar{Name: name, Pattern: pattern, Check: func(text string) error {
		if !form.MatchString(text) {
			return fmt.Errorf("%q is not %s", text, name)
		}
		return nil
	}})
}

func words[W ~string](list []W) []string {
	texts := make([]string, len(list))
	for i, w := range list {
		texts[i] = string(w)
	}
	return texts
}

// read reads a bibliography and reports all complaints together.
func read(file string, text []byte) ([]Source, table.Faults) {
	v := table.Read(file, text, bibliography)
	var sources []Source
	taken := map[string]int{} // "key value" of what may stand once -> line
	for _, entry := range v.Items() {
		s := source(entry)
		agree(entry, s)
		if n := len(sources); n > 0 && s.ID != "" && compare(s.ID, sources[n-1].ID) < 0 {
			entry.Get("id").Fault(fmt.Sprintf("%s stands after %s", s.ID, sources[n-1].ID), "ids in order", "")
		}
		for _, key := range []string{"id", "doi", "pmid", "pmc"} {
			once(entry.Get(key), key, taken)
		}
		sources = append(sources, s)
	}
	return sources, v.Faults()
}

func source(v *table.Value) Source {
	return Source{
		ID:      ID(v.Get("id").Text()),
		Kind:    Kind(v.Get("kind").Text()),
		Title:   v.Get("title").Text(),
		Journal: v.Get("journal").Text(),
		Year:    v.Get("year").Int(),
		Volume:  v.Get("volume").Text(),
		DOI:     v.Get("doi").Text(),
		PMID:    v.Get("pmid").Text(),
		PMC:     v.Get("pmc").Text(),
		Read:    Reading(v.Get("read").Text()),
		ReadOn:  v.Get("read_on").Text(),
		Note:    v.Get("note").Text(),
	}
}

// agree holds what was read of a source to its kind, and to a month where there
// was something to read.
func agree(entry *table.Value, s Source) {
	unpublished := s.Kind == Practice || s.Kind == HouseChoice
	seen := s.Read == Abstract || s.Read == Passage || s.Read == Secondary
	switch {
	case s.Kind == "" || s.Read == "": // faulty already
	case s.Read == None && !unpublished:
		entry.Get("read").Fault("none for a source of kind "+string(s.Kind), "none for practice and house only", "")
	case s.Kind == HouseChoice && s.Read != None:
		entry.Get("read").Fault(string(s.Read)+" for a house choice, which has nothing to read", string(None), "")
	case seen && !entry.Has("read_on"):
		entry.FaultAt(entry.Path()+".read_on", "missing", "the month of reading", "")
	case !seen && entry.Has("read_on"):
		entry.FaultAt(entry.Path()+".read_on", "a month, though nothing was read", "no month with read "+string(s.Read), "")
	}
}

// once complains of a value that another entry has.
func once(v *table.Value, key string, taken map[string]int) {
	if v == nil {
		return
	}
	mark := key + " " + strings.ToLower(v.Text())
	if line, twice := taken[mark]; twice {
		v.Fault(fmt.Sprintf("%s stands on line %d already", mark, line), "each once", "")
		return
	}
	taken[mark] = v.Line()
}

// compare orders ids as text.
func compare(a, b ID) int { return strings.Compare(string(a), string(b)) }
