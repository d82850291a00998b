package casefile

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// Form is a surgery record as a form shows it: every key of the format that is typed,
// with what was typed there. Findings are not typed: those of a kept record ride
// along, so that no form can lose them.
type Form struct {
	Parts []*Part // in the order of the format
	Stray []Told  // faults of no part, such as that of a name that no part has

	findings any
	own      []Told
	places   map[string]*Part // by the path in the record that was read
}

// Control is how a part is shown.
type Control string

// The controls.
const (
	Line   Control = "line"   // one line of text
	Number Control = "number" // digits, and sometimes a word
	Choice Control = "choice" // one of Options
	Ticks  Control = "ticks"  // any of Options
	OneDay Control = "day"    // a day
	Days   Control = "days"   // a day, or the days from one to another
	Fixed  Control = "fixed"  // the one value that is allowed
	Group  Control = "group"  // Parts
	List   Control = "list"   // Parts, each an entry
	Either Control = "either" // one of Options, or Parts
)

// Part is one place of a form: a field, a group of parts or a list of entries.
type Part struct {
	Path    string // of the record, which is the field's name
	Key     string // the last key of the path; empty for an entry of a list
	Label   string // in the words of the trade
	Entry   string // what one more entry of a list is called
	Unit    string
	Hint    string // its meaning and what may stand there
	Control Control
	Needed  bool     // a record without it is faulty
	Usual   bool     // most records have it
	Options []Option // of a choice, or words that a field suggests
	Typed   []string // what was typed; at most one text, unless there are ticks
	Parts   []*Part
	Told    []Told // faults of this place

	// What only the page knows: the days typed, read aloud, and where the person
	// goes on.
	Reading []string
	Focus   bool

	above *Part
	shape table.Shape
}

// Option is one word of a choice.
type Option struct {
	Value, Says string
	Chosen      bool
}

// Told is a fault in words, with its place.
type Told struct {
	Part    *Part  // nil: no part of the form has this path
	Path    string // in the record that was read
	Says    string // as the reader of a file says it, without the place
	Missing bool   // nothing stands there
}

// Text is the one thing typed; empty for none.
func (p *Part) Text() string {
	if len(p.Typed) == 0 {
		return ""
	}
	return p.Typed[0]
}

// From and To are the ends of days, as typed; To is empty for one day.
func (p *Part) From() string { from, _, _ := strings.Cut(p.Text(), spanSign); return from }

// To is the last of several days.
func (p *Part) To() string { _, to, _ := strings.Cut(p.Text(), spanSign); return to }

// spanSign stands between the ends of several days.
const spanSign = ".."

// Proper reports whether a field for days can hold what was typed.
func (p *Part) Proper() bool {
	for _, text := range []string{p.From(), p.To()} {
		if _, err := day.Parse(text); err != nil && text != "" {
			return false
		}
	}
	return true
}

// Folded reports whether a group that most records do without may be shown shut.
func (p *Part) Folded() bool { return p.MayFold() && p.Blank() && !p.Faulty() }

// MayFold reports whether most records do without the group.
func (p *Part) MayFold() bool { return p.Key != "" && !p.Needed && !p.Usual }

// Starred reports whether the field is needed as soon as its group is begun.
func (p *Part) Starred() bool { return p.Needed && (p.above == nil || p.above.Control != Either) }

// IsEntry reports whether the part is an entry of a list.
func (p *Part) IsEntry() bool { return p.Key == "" }

// Level is that of the part's heading: 2 for what stands by itself, else 3.
func (p *Part) Level() int {
	const own, below = 2, 3
	if strings.Contains(p.Path, ".") {
		return below
	}
	return own
}

// ID is a name for the part's element that stands for itself in an address.
func (p *Part) ID() string { return "at-" + idSigns.Replace(p.Path) }

var idSigns = strings.NewReplacer("[", "-", "]", "", ".", "-")

// Where names the part with those that it stands in: "Sinus 1, Implant 2, Length".
func (p *Part) Where() string {
	if p.above == nil || p.above.Control == List && p.above.above == nil {
		return p.Label
	}
	if p.Key == "" {
		return p.above.above.Where() + ", " + p.Label
	}
	return p.above.Where() + ", " + p.Label
}

// Faulty reports whether a fault stands at the part or below it.
func (p *Part) Faulty() bool { return len(p.Told) > 0 || slices.ContainsFunc(p.Parts, (*Part).Faulty) }

// Blank reports whether nothing was typed at the part and below it.
func (p *Part) Blank() bool {
	return p.Control == Fixed || !slices.ContainsFunc(p.Typed, func(s string) bool { return s != "" }) && !slices.ContainsFunc(p.Parts, func(b *Part) bool { return !b.Blank() })
}

// mostNames bounds what is typed: two sinuses full of implants need a third of it.
const mostNames = 1500

// ReadForm reads what was typed into the fields of a form, by their names, each the
// path of a key. Blanks round a text do not count, and entries of a list take the
// numbers of their order. Findings are those of the kept record; nil: none. More
// fields than any record has are a refusal of kind Invalid.
func ReadForm(typed map[string][]string, kept []byte) (*Form, error) {
	if len(typed) > mostNames {
		return nil, &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("a form with %d fields is no record: at most %d", len(typed), mostNames)}
	}
	f := &Form{}
	if root, ok := rootOf(kept).(map[string]any); ok {
		f.findings = root["findings"]
	}
	r := &formReader{typed: typed, entries: entriesOf(typed), used: map[string]bool{}}
	for _, field := range record.Fields {
		if field.Key != "findings" {
			f.Parts = append(f.Parts, r.part(nil, field, field.Key, field.Key))
		}
	}
	f.own = append(r.stray(), r.twice...)
	return f, nil
}

// formReader makes parts of what was typed.
type formReader struct {
	typed   map[string][]string
	entries map[string][]int // by the path of a list: the numbers typed, rising
	used    map[string]bool
	twice   []Told
}

var entryNumber = regexp.MustCompile(`\[(0|[1-9][0-9]?)\]`) // 0 to mostEntries

// entriesOf finds the numbers of entries in the names.
func entriesOf(typed map[string][]string) map[string][]int {
	entries := map[string][]int{}
	for name := range typed {
		for _, at := range entryNumber.FindAllStringSubmatchIndex(name, -1) {
			list := name[:at[0]]
			if n, err := strconv.Atoi(name[at[2]:at[3]]); err == nil && !slices.Contains(entries[list], n) {
				entries[list] = append(entries[list], n)
			}
		}
	}
	for _, numbers := range entries {
		slices.Sort(numbers)
	}
	return entries
}

// part reads the part of a key. It stands at the path, and was typed under the name.
func (r *formReader) part(above *Part, f table.Field, path, name string) *Part {
	p := newPart(above, f.Shape, path)
	p.Key, p.Needed, p.Usual = f.Key, f.Required, f.Usual
	r.fill(p, name)
	return p
}

// fill reads what was typed at a part and below it.
func (r *formReader) fill(p *Part, name string) {
	switch p.Control {
	case List:
		for n, was := range r.entries[name] {
			entry := newPart(p, entryOf(p.shape), fmt.Sprintf("%s[%d]", p.Path, n))
			entry.Label = fmt.Sprintf("%s %d", entry.Label, n+1)
			r.fill(entry, fmt.Sprintf("%s[%d]", name, was))
			p.Parts = append(p.Parts, entry)
		}
	case Group:
		r.below(p, name)
	case Either:
		r.take(p, name)
		r.below(p, name)
	case Days:
		r.take(p, name)
		to := &Part{}
		if r.take(to, name+lastDay); to.Text() != "" {
			p.Typed = []string{p.Text() + spanSign + to.Text()}
		}
	default:
		r.take(p, name)
	}
	p.choose()
}

// lastDay ends the name of the field with the last of several days.
const lastDay = ".to"

func (r *formReader) below(p *Part, name string) {
	for _, f := range mapOf(p.shape).Fields {
		p.Parts = append(p.Parts, r.part(p, f, p.Path+"."+f.Key, name+"."+f.Key))
	}
}

// take takes the texts of one name. Only ticks have several.
func (r *formReader) take(p *Part, name string) {
	r.used[name] = true
	for _, text := range r.typed[name] {
		if text = strings.TrimSpace(text); text != "" {
			p.Typed = append(p.Typed, text)
		}
	}
	if len(p.Typed) > 1 && p.Control != Ticks {
		p.Typed = p.Typed[:1]
		r.twice = append(r.twice, Told{Part: p, Path: p.Path, Says: "two values for one field; allowed: each key once"})
	}
}

// stray tells of the names that no part has.
func (r *formReader) stray() []Told {
	var all []Told
	for name, texts := range r.typed {
		if r.used[name] || strings.TrimSpace(strings.Join(texts, "")) == "" {
			continue
		}
		_, fault, known := columnOf(name)
		if known {
			fault = table.Fault{Found: "no field of this form"}
		}
		all = append(all, Told{Path: name, Says: says(fault)})
	}
	slices.SortFunc(all, func(a, b Told) int { return strings.Compare(a.Path, b.Path) })
	return all
}

// says is a fault without its place.
func says(f table.Fault) string {
	return strings.TrimPrefix(table.Fault{Found: f.Found, Allowed: f.Allowed, Hint: f.Hint}.String(), ": ")
}
