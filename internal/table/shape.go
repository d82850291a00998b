// Package table is the strict reader of YAML: a Shape describes what a file may
// hold, Read compares a file with it and complains of everything at once, each
// complaint with file, line, column, path, what was found and what is allowed.
// The same Shape prints a JSON Schema for editors and an empty form to fill in, and
// changes single values in a file's text, where all else stays as somebody typed it.
// The package knows no trade: what the values mean is its callers' business.
package table

import "slices"

// Kind is the kind of value a Shape describes.
type Kind int

// The kinds of value.
const (
	KindText   Kind = iota // one line of text
	KindWord               // one of Words
	KindNumber             // a number from Min to Max
	KindBool               // true or false
	KindMap                // Fields, each key known
	KindKeyed              // values of one Shape under keys of one Grammar
	KindList               // values of one Shape
	KindEither             // any of several Shapes, told apart by their YAML kind
)

// Shape describes one value of a file. Build it with the functions of this
// package; the zero Shape is any one line of text.
type Shape struct {
	Kind    Kind
	Doc     string    // meaning, one line, with the unit
	Words   []string  // KindWord
	Min     float64   // KindNumber: least value allowed
	Max     float64   // KindNumber: greatest value allowed
	Whole   bool      // KindNumber: no fraction
	Only    []int     // KindNumber: the only numbers allowed; empty: all from Min to Max
	Unit    string    // KindNumber: empty for a count
	Grammar *Grammar  // KindText: how the text must read; nil: freely
	Fields  []Field   // KindMap
	Refused []Refused // KindMap: unknown keys that people will try
	Keys    *Grammar  // KindKeyed
	Of      *Shape    // KindKeyed, KindList
	Least   int       // KindList: fewest items
	Either  []Shape   // KindEither
}

// Field is one key of a map.
type Field struct {
	Key      string
	Shape    Shape
	Required bool
	Usual    bool // not always needed, yet an empty form shows it ready to fill in
}

// Refused is a key that a map does not have, with what to say of it instead of the
// known key it resembles. Case, blanks, hyphens and underscores do not count.
type Refused struct{ Key, Hint string }

// Grammar is how a text must read: a regular expression for editors and a check
// that knows what the expression cannot say, such as how long a month is.
type Grammar struct {
	Name    string             // "a day", "a time zone"
	Pattern string             // anchored by the reader
	Format  string             // JSON Schema format; empty: none
	Most    int                // most characters; 0: as many as any text may have
	Check   func(string) error // nil: the pattern is all
}

// Text describes one line of free text.
func Text(doc string) Shape { return Shape{Kind: KindText, Doc: doc} }

// Formal describes text that follows a grammar.
func Formal(doc string, g *Grammar) Shape { return Shape{Kind: KindText, Doc: doc, Grammar: g} }

// Word describes one of a closed list of words.
func Word(doc string, words ...string) Shape { return Shape{Kind: KindWord, Doc: doc, Words: words} }

// Number describes a number in a unit, least and greatest value included.
func Number(doc, unit string, least, greatest float64) Shape {
	return Shape{Kind: KindNumber, Doc: doc, Unit: unit, Min: least, Max: greatest}
}

// Whole describes a number without a fraction.
func Whole(doc, unit string, least, greatest int) Shape {
	return Shape{Kind: KindNumber, Doc: doc, Unit: unit, Min: float64(least), Max: float64(greatest), Whole: true}
}

// OneOf describes one of a closed list of whole numbers, in rising order.
func OneOf(doc string, numbers ...int) Shape {
	return Shape{Kind: KindNumber, Doc: doc, Whole: true, Only: numbers, Min: float64(numbers[0]), Max: float64(numbers[len(numbers)-1])}
}

// Bool describes true or false.
func Bool(doc string) Shape { return Shape{Kind: KindBool, Doc: doc} }

// Map describes a map of known keys.
func Map(doc string, fields ...Field) Shape { return Shape{Kind: KindMap, Doc: doc, Fields: fields} }

// Refuse returns a map's shape that hints at what to do instead of an unknown key.
func (s Shape) Refuse(key, hint string) Shape {
	s.Refused = append(slices.Clip(s.Refused), Refused{key, hint})
	return s
}

// Keyed describes a map whose keys follow a grammar.
func Keyed(doc string, keys *Grammar, of Shape) Shape {
	return Shape{Kind: KindKeyed, Doc: doc, Keys: keys, Of: &of}
}

// List describes a list with at least so many items.
func List(doc string, least int, of Shape) Shape {
	return Shape{Kind: KindList, Doc: doc, Least: least, Of: &of}
}

// Either describes a value that may have any of several shapes.
func Either(doc string, shapes ...Shape) Shape {
	return Shape{Kind: KindEither, Doc: doc, Either: shapes}
}

// Must is a key that has to be there.
func Must(key string, s Shape) Field { return Field{Key: key, Shape: s, Required: true} }

// May is a key that may be left out.
func May(key string, s Shape) Field { return Field{Key: key, Shape: s} }

// Usually is a key that most files hold, though some may leave it out.
func Usually(key string, s Shape) Field { return Field{Key: key, Shape: s, Usual: true} }

func (s Shape) field(key string) (Field, bool) {
	for _, f := range s.Fields {
		if f.Key == key {
			return f, true
		}
	}
	return Field{}, false
}

// most is how many characters a text may have.
func (s Shape) most() int {
	if s.Grammar != nil && s.Grammar.Most > 0 {
		return s.Grammar.Most
	}
	return maxText
}

// keyHint says what there is to say of an unknown key.
func (s Shape) keyHint(key string) string {
	for _, r := range s.Refused {
		if plain(r.Key) == plain(key) {
			return r.Hint
		}
	}
	return DidYouMean(key, s.keys())
}

func (s Shape) keys() []string {
	keys := make([]string, len(s.Fields))
	for i, f := range s.Fields {
		keys[i] = f.Key
	}
	return keys
}
