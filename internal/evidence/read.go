package evidence

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// required are the keys no entry may lack.
var required = []string{"id", "kind", "title", "read", "note"}

// kinds and readings list the words the file may use.
var (
	kinds    = []Kind{Guideline, Review, Trial, Cohort, Animal, Textbook, Opinion, Practice, Law, HouseChoice}
	readings = []Reading{Abstract, Passage, Secondary, Memory, None}
)

// shapes are the forms of the keys that have one.
func shapes() map[string]*regexp.Regexp {
	return map[string]*regexp.Regexp{
		"id":      regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`),
		"year":    regexp.MustCompile(`^(19|20)[0-9]{2}$`),
		"doi":     regexp.MustCompile(`^10\.[0-9]{4,9}/[^\s]+$`),
		"pmid":    regexp.MustCompile(`^[1-9][0-9]{0,8}$`),
		"pmc":     regexp.MustCompile(`^PMC[1-9][0-9]*$`),
		"read_on": regexp.MustCompile(`^20[0-9]{2}-(0[1-9]|1[0-2])$`),
	}
}

// reader collects every complaint about one bibliography.
type reader struct {
	file   string
	shapes map[string]*regexp.Regexp
	taken  map[string]int // "key value" of what may stand once -> line
	faults []error
}

// read reads a bibliography: a YAML list of flat entries in id order. It is
// strict and reports all complaints together, each with file and line.
func read(file string, text []byte) ([]Source, error) {
	var document, more yaml.Node
	decoder := yaml.NewDecoder(bytes.NewReader(text))
	if err := decoder.Decode(&document); err != nil {
		return nil, fmt.Errorf("read %s: %w", file, err)
	}
	r := &reader{file: file, shapes: shapes(), taken: map[string]int{}}
	if err := decoder.Decode(&more); !errors.Is(err, io.EOF) {
		r.complain(more.Line, "a second document: want one list")
	}
	list := document.Content[0]
	if list.Kind != yaml.SequenceNode {
		r.complain(list.Line, "not a list of sources")
		return nil, errors.Join(r.faults...)
	}
	var sources []Source
	for _, node := range list.Content {
		s := r.source(node)
		if n := len(sources); n > 0 && s.ID != "" && compare(s.ID, sources[n-1].ID) < 0 {
			r.complain(node.Line, "%s stands after %s: keep the ids in order", s.ID, sources[n-1].ID)
		}
		sources = append(sources, s)
	}
	return sources, errors.Join(r.faults...)
}

// source reads one entry and checks that its keys agree with each other.
func (r *reader) source(entry *yaml.Node) Source {
	var s Source
	if entry.Kind != yaml.MappingNode {
		r.complain(entry.Line, "an entry that is no set of keys")
		return s
	}
	lines := map[string]int{}
	for pair := range slices.Chunk(entry.Content, 2) {
		key, value := pair[0], pair[1]
		if first, twice := lines[key.Value]; twice {
			r.complain(key.Line, "key %q given twice, first on line %d", key.Value, first)
			continue
		}
		lines[key.Value] = key.Line
		r.set(&s, key, value)
	}
	for _, key := range required {
		if lines[key] == 0 {
			r.complain(entry.Line, "%s lacks %q", name(s), key)
		}
	}
	unpublished := s.Kind == Practice || s.Kind == HouseChoice
	switch seen := s.Read == Abstract || s.Read == Passage || s.Read == Secondary; {
	case s.Read == None && !unpublished:
		r.complain(entry.Line, "%s: read none is for practice and house only", name(s))
	case s.Kind == HouseChoice && s.Read != None && s.Read != "":
		r.complain(entry.Line, "%s: a house choice has nothing to read: want read none", name(s))
	case seen && s.ReadOn == "":
		r.complain(entry.Line, `%s lacks "read_on"`, name(s))
	case !seen && s.Read != "" && s.ReadOn != "":
		r.complain(lines["read_on"], "%s: read %s has no read_on", name(s), s.Read)
	}
	return s
}

// set checks one value and puts it into its field.
func (r *reader) set(s *Source, key, value *yaml.Node) {
	text := value.Value
	if value.Kind != yaml.ScalarNode || strings.TrimSpace(text) == "" || strings.ContainsAny(text, "\r\n") {
		r.complain(value.Line, "key %q wants one line of text", key.Value)
		return
	}
	if shape := r.shapes[key.Value]; shape != nil && !shape.MatchString(text) {
		r.complain(value.Line, "%s %q is not well formed", key.Value, text)
		return
	}
	switch key.Value {
	case "id":
		s.ID = ID(text)
	case "kind":
		s.Kind = Kind(text)
		if !slices.Contains(kinds, s.Kind) {
			r.complain(value.Line, "kind %q is not one of %v", text, kinds)
		}
	case "title":
		s.Title = text
	case "journal":
		s.Journal = text
	case "year":
		s.Year, _ = strconv.Atoi(text) // the shape is four digits
	case "volume":
		s.Volume = text
	case "doi":
		s.DOI = text
	case "pmid":
		s.PMID = text
	case "pmc":
		s.PMC = text
	case "read":
		s.Read = Reading(text)
		if !slices.Contains(readings, s.Read) {
			r.complain(value.Line, "read %q is not one of %v", text, readings)
		}
	case "read_on":
		s.ReadOn = text
	case "note":
		s.Note = text
	default:
		r.complain(key.Line, "unknown key %q", key.Value)
	}
	switch key.Value {
	case "id", "doi", "pmid", "pmc":
		mark := key.Value + " " + strings.ToLower(text)
		if first, twice := r.taken[mark]; twice {
			r.complain(value.Line, "%s given twice, first on line %d", mark, first)
			return
		}
		r.taken[mark] = value.Line
	}
}

// complain notes one fault at a line of the file.
func (r *reader) complain(line int, format string, args ...any) {
	r.faults = append(r.faults, fmt.Errorf("%s:%d: "+format, append([]any{r.file, line}, args...)...))
}

// name is how a complaint speaks of an entry.
func name(s Source) string {
	if s.ID == "" {
		return "an entry without an id"
	}
	return string(s.ID)
}

// compare orders ids as text.
func compare(a, b ID) int { return strings.Compare(string(a), string(b)) }
