package table

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// Write returns a value, made of maps, lists and scalars, as YAML text in its one
// canonical form: keys in the shape's order, then any the shape does not know;
// optional lists left out when empty; numbers in their shortest decimal digits;
// a list of scalars, and a list's entry of a few scalars, on one line; quotation
// marks only where a text would not read back as the same text without them. Two
// values that say the same give the same bytes, and reading the bytes gives the
// value again, or the same faults.
func (s Shape) Write(value any) []byte {
	var b strings.Builder
	n := nodeOf(value)
	switch pairs := s.pairs(n); {
	case len(pairs) > 0:
		writeMap(&b, pairs, "", "")
	case isLong(n):
		s.writeItems(&b, n, "")
	default:
		b.WriteString(s.flow(n) + "\n")
	}
	return []byte(b.String())
}

// Line returns a value on one line, its keys, numbers and texts as in Write.
func (s Shape) Line(value any) string { return s.flow(nodeOf(value)) }

// writeMap writes the keys of a map, one a line; first stands before the first
// of them, indent before the others.
func writeMap(b *strings.Builder, pairs []pair, first, indent string) {
	for i, p := range pairs {
		lead := indent
		if i == 0 {
			lead = first
		}
		b.WriteString(lead + writeText(p.key, true) + ":")
		switch below := p.shape.pairs(p.value); {
		case len(below) > 0:
			b.WriteString("\n")
			writeMap(b, below, indent+"  ", indent+"  ")
		case isLong(p.value):
			b.WriteString("\n")
			p.shape.writeItems(b, p.value, indent+"  ")
		default:
			b.WriteString(" " + p.shape.flow(p.value) + "\n")
		}
	}
}

// mostOnOneLine is how many scalars an entry of a list may have to stand on one
// line.
const mostOnOneLine = 5

func (s Shape) writeItems(b *strings.Builder, n *yaml.Node, indent string) {
	of := s.entryShape()
	for _, item := range n.Content {
		pairs := of.pairs(item)
		if len(pairs) > mostOnOneLine || slices.ContainsFunc(pairs, func(p pair) bool { return p.value.Kind != yaml.ScalarNode }) {
			writeMap(b, pairs, indent+"- ", indent+"  ")
		} else {
			b.WriteString(indent + "- " + of.flow(item) + "\n")
		}
	}
}

// isLong reports whether a list holds more than scalars.
func isLong(n *yaml.Node) bool {
	return n.Kind == yaml.SequenceNode && slices.ContainsFunc(n.Content, func(item *yaml.Node) bool { return item.Kind != yaml.ScalarNode })
}

// flow writes a value on one line.
func (s Shape) flow(n *yaml.Node) string {
	var parts []string
	switch n.Kind {
	case yaml.MappingNode:
		for _, p := range s.pairs(n) {
			parts = append(parts, writeText(p.key, true)+": "+p.shape.flow(p.value))
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case yaml.SequenceNode:
		for _, item := range n.Content {
			parts = append(parts, s.entryShape().flow(item))
		}
		return "[" + strings.Join(parts, ", ") + "]"
	}
	return s.option(n).writeScalar(n)
}

func (s Shape) entryShape() Shape {
	if s.Of == nil {
		return Shape{}
	}
	return *s.Of
}

// option returns the shape that a value has of several; else the shape itself.
func (s Shape) option(n *yaml.Node) Shape {
	for _, option := range s.Either {
		if option.yamlKind() != n.Kind {
			continue
		}
		try := &reading{bad: map[*yaml.Node]bool{}}
		if try.walk(n, "", option); n.Kind != yaml.ScalarNode || len(try.faults) == 0 {
			return option
		}
	}
	return s
}

// pair is one key of a map with the shape of its value.
type pair struct {
	key   string
	value *yaml.Node
	shape Shape
}

// pairs returns the keys of a map in the shape's order, those it does not know
// at the end; none for any other value. An optional list without entries says
// what its absence says, and is left out.
func (s Shape) pairs(n *yaml.Node) []pair {
	if n.Kind != yaml.MappingNode {
		return nil
	}
	s = s.option(n)
	rank := map[string]int{}
	pairs := make([]pair, 0, len(n.Content)/2)
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i].Value, n.Content[i+1]
		at := slices.IndexFunc(s.Fields, func(f Field) bool { return f.Key == key })
		switch {
		case at < 0:
			rank[key] = len(s.Fields)
			pairs = append(pairs, pair{key, value, s.entryShape()})
		case !s.Fields[at].saysNothing(value):
			rank[key] = at
			pairs = append(pairs, pair{key, value, s.Fields[at].Shape})
		}
	}
	slices.SortStableFunc(pairs, func(a, b pair) int { return cmp.Compare(rank[a.key], rank[b.key]) })
	return pairs
}

func (f Field) saysNothing(n *yaml.Node) bool {
	return !f.Required && f.Shape.Kind == KindList && f.Shape.Least == 0 && n.Kind == yaml.SequenceNode && len(n.Content) == 0
}

func (s Shape) writeScalar(n *yaml.Node) string {
	if n.ShortTag() == "!!null" {
		return "null"
	}
	bare := yaml.Node{Kind: yaml.ScalarNode, Value: n.Value}
	switch tag := bare.ShortTag(); {
	case s.Kind == KindBool && tag == "!!bool":
		return strings.ToLower(n.Value)
	case s.Kind == KindNumber && plainNumber.MatchString(n.Value):
		return shortest(n.Value)
	case s.Kind == KindText:
		// A day reads back as its own text; any other text that YAML takes for a
		// number, a day or a truth is quoted, for the sake of other readers.
		return writeText(n.Value, tag == "!!str" || tag == "!!timestamp" && s.Grammar != nil)
	default:
		return writeText(n.Value, tag != "!!null")
	}
}

// shortest returns the shortest decimal digits of the same number.
func shortest(text string) string {
	v, err := strconv.ParseFloat(text, 64)
	switch {
	case err != nil:
		return text
	case v == 0:
		return "0" // and never -0
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// writeText writes a text, in double quotation marks where it needs them or
// reads as something else without. Go's escapes are YAML's.
func writeText(text string, reads bool) string {
	switch {
	case !utf8.ValidString(text):
		return text // to be refused by the reader, and never mended in silence
	case reads && isPlain(text):
		return text
	}
	return strconv.Quote(text)
}

// isPlain reports whether a text may stand without quotation marks anywhere, as
// far as its characters go. It is stricter than YAML: among others, a question mark
// ends a text inside brackets for some readers, this package's own included.
func isPlain(text string) bool {
	for i, c := range text {
		wordlike := unicode.IsLetter(c) || unicode.IsDigit(c) || unicode.Is(unicode.So, c)
		if !wordlike && (i == 0 || !unicode.IsMark(c) && !strings.ContainsRune(" ._/'()+%&@;!-", c)) {
			return false
		}
	}
	return text != "" && !strings.HasSuffix(text, " ") && !slices.Contains(oldTruths, strings.ToLower(text))
}

// oldTruths are words that readers of older YAML take for true or false.
var oldTruths = []string{"y", "yes", "n", "no", "on", "off"}
