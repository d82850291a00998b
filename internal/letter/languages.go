package letter

import (
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"

	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// Templates are the words and the layout of every language that a clinic's letters can
// have. They serve any number of callers at once.
type Templates struct {
	languages map[string]func() (*forms, error) // by folder, read when first asked for
}

// builtIn are the languages that come with the program.
var builtIn = sync.OnceValue(func() *Templates {
	t := &Templates{map[string]func() (*forms, error){}}
	for _, folder := range mustFolders(program()) {
		t.languages[folder] = sync.OnceValues(func() (*forms, error) { return whole(readForms(layered{program()}, "templates/letter", folder)) })
	}
	return t
})

// BuiltIn returns the templates that come with the program.
func BuiltIn() *Templates { return builtIn() }

// Tags lists the languages there are, as BCP 47 tags, and with each the regions whose
// dates are written in another way or are known to be written in the same.
func (t *Templates) Tags() []string {
	var tags []string
	for _, folder := range slices.Sorted(maps.Keys(t.languages)) {
		f, err := t.languages[folder]()
		if err != nil {
			continue
		}
		tags = append(tags, f.words.Language)
		for _, region := range f.words.regionsOf() {
			tags = append(tags, f.words.Language+"-"+region)
		}
	}
	return tags
}

// formsFor returns the forms of a language, given as a BCP 47 tag of a language alone or
// with a region, and the words with the dates of that region. Another language needs a
// folder of its own, and another region a line in its words: nobody gets English, or a
// day in the wrong order, by accident.
func (t *Templates) formsFor(tag string) (*forms, *wording, error) {
	base, region, _ := strings.Cut(tag, "-")
	read, ok := t.languages[strings.ToLower(base)]
	if !ok {
		return nil, nil, t.noTemplates(tag)
	}
	f, err := read()
	if err != nil {
		return nil, nil, err
	}
	if region == "" {
		return f, f.words, nil
	}
	words, ok := f.regions[strings.ToUpper(region)]
	if !ok {
		return nil, nil, t.noTemplates(tag)
	}
	return f, words, nil
}

func (t *Templates) noTemplates(tag string) error {
	return &graft.Refusal{
		Kind:    graft.Invalid,
		Message: fmt.Sprintf("the letter has no templates for the language %q", tag),
		Hint:    "there are templates for " + strings.Join(t.Tags(), ", "),
	}
}

// WordsFor returns the words of a language, given as a BCP 47 tag. It refuses a
// language that has no templates.
func (t *Templates) WordsFor(tag string) (Words, error) {
	_, words, err := t.formsFor(tag)
	if err != nil {
		return Words{}, err
	}
	return Words{words}, nil
}

// English returns the English words that come with the program, for a patient whose
// language has none.
func English() Words { return Words{model()} }

// model is the English wording, which says what the words of any other language must say.
var model = sync.OnceValue(func() *wording {
	const file = "en/" + wordsFile
	data, err := layered{program()}.ReadFile(file)
	if err != nil {
		panic(err) // it is part of the program
	}
	words, faults := readWords(file, data, nil)
	if len(faults) > 0 {
		panic(faults)
	}
	return words
})

// inRegion is the wording with the dates of a region.
func (w *wording) inRegion(r regionWords) *wording {
	there := *w
	if r.Day != "" {
		there.Dates.Day = r.Day
	}
	if r.NoYear != "" {
		there.Dates.NoYear = r.NoYear
	}
	if len(r.Months) > 0 {
		there.Dates.Months = r.Months
	}
	there.Dates.Noon = there.Dates.Noon || r.Noon
	return &there
}

// count is the sentence of a number, in the plural class that the language has for it.
func (w *wording) count(c counted, n int) string {
	tag, _ := language.Parse(w.Language) // readForms has seen that it parses
	form := plural.Cardinal.MatchPlural(tag, n, 0, 0, 0, 0)
	class := map[plural.Form]string{plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many"}[form]
	sentence, ok := c[class]
	if !ok {
		sentence = c["other"]
	}
	return fill(sentence, "n", fmt.Sprint(n))
}

// With returns the templates with a clinic's own files over them, from a folder laid out
// like that of the program: style.css and layouts for all languages, and a folder for each
// language with its words and, where it wants them, layouts. A language that is new needs
// all words. Every file is read and tried; the faults name file and line.
func (t *Templates) With(own fs.FS, shown string) (*Templates, table.Faults) {
	folders, faults := foldersIn(own, shown)
	for folder := range t.languages {
		folders = append(folders, folder)
	}
	slices.Sort(folders)
	with := &Templates{map[string]func() (*forms, error){}}
	for _, folder := range slices.Compact(folders) {
		f, found := readForms(layered{own, program()}, shown, folder)
		faults = append(faults, found...)
		with.languages[folder] = func() (*forms, error) { return f, nil }
	}
	if len(faults) > 0 {
		table.SortFaults(faults)
		return nil, slices.Compact(faults)
	}
	return with, nil
}
