// Package evidence is the bibliography: one entry per publication that a rule
// of graftclock may cite, with what was seen of it and when. It turns a source
// id into a line of reference text. It knows no rule and weighs no finding, and
// it names no person: a publication is known by journal, year, title or number.
package evidence

import (
	_ "embed"
	"slices"
	"sync"
)

// ID names one source, in lower-case words joined by hyphens. It never changes
// once a rule has cited it.
type ID string

// The two sources that are no publication.
const (
	CommonPractice ID = "common-practice" // a custom of the trade
	House          ID = "house"           // graftclock's own choice, editable by the clinic
)

// Kind says what sort of text a source is.
type Kind string

// The kinds of source. Series and single cases count as Cohort.
const (
	Guideline   Kind = "guideline"
	Review      Kind = "review"
	Trial       Kind = "trial"
	Cohort      Kind = "cohort"
	Animal      Kind = "animal"
	Textbook    Kind = "textbook"
	Opinion     Kind = "opinion"
	Practice    Kind = "practice" // leaflets and clinic pages, or a custom without a text
	Law         Kind = "law"
	HouseChoice Kind = "house"
)

// Reading says how much of a source was seen.
type Reading string

// The readings, from most to least. No source here was read whole.
const (
	Abstract  Reading = "abstract"  // the abstract, at the source
	Passage   Reading = "passage"   // a passage or table, at the source
	Secondary Reading = "secondary" // only another page that reports the source
	Memory    Reading = "memory"    // recalled; nothing was seen
	None      Reading = "none"      // there is no text to read
)

// Source is one entry of the bibliography. Every text field may be empty
// except ID, Kind, Title, Read and Note; a zero Year is an unknown year.
type Source struct {
	ID      ID
	Kind    Kind
	Title   string // words in square brackets describe, for want of the printed ones
	Journal string
	Year    int
	Volume  string // volume, pages or article number as printed
	DOI     string // without a prefix: 10.1111/clr.12768
	PMID    string
	PMC     string  // with its letters: PMC6040296
	Read    Reading // what was seen
	ReadOn  string  // the month of reading, YYYY-MM; empty for Memory and None
	Note    string  // one line: what to know before citing it
}

const sourcesFile = "sources.yaml"

//go:embed sources.yaml
var sourcesText []byte

// library is the embedded bibliography in id order, read at first use.
var library = sync.OnceValue(func() []Source {
	list, faults := read(sourcesFile, sourcesText)
	if len(faults) > 0 {
		panic("evidence: the embedded bibliography is damaged: " + faults.Error())
	}
	return list
})

// All returns every source in id order. The slice is the caller's own.
func All() []Source { return slices.Clone(library()) }

// Lookup returns the source with the given id, and whether there is one.
func Lookup(id ID) (Source, bool) {
	list := library()
	at, found := slices.BinarySearchFunc(list, id, func(s Source, id ID) int { return compare(s.ID, id) })
	if !found {
		return Source{}, false
	}
	return list[at], true
}
