package table

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// MaxBytes bounds a file: a record is a page of text.
const MaxBytes = 1 << 20

// reading is one file or form being read.
type reading struct {
	file   string
	faults Faults
	bad    map[*yaml.Node]bool
}

// Read compares a YAML file with its shape. The value is never nil: where the
// file is faulty it is merely absent, so that the caller can check on and ask
// the value for all Faults at the end.
func Read(file string, data []byte, shape Shape) *Value {
	r := &reading{file: file, bad: map[*yaml.Node]bool{}}
	root := r.parse(data)
	return r.walked(root, shape)
}

// ReadValue compares a value, such as a decoded form, with the shape. Maps have
// text keys; a text that reads as a number is one, as in YAML.
func ReadValue(name string, value any, shape Shape) *Value {
	r := &reading{file: name, bad: map[*yaml.Node]bool{}}
	return r.walked(nodeOf(value), shape)
}

func (r *reading) walked(root *yaml.Node, shape Shape) *Value {
	if root == nil {
		return &Value{&yaml.Node{Kind: yaml.MappingNode}, "", r}
	}
	r.walk(root, "", shape)
	return &Value{root, "", r}
}

var yamlLine = regexp.MustCompile(`^(?:yaml: )?(?:line (\d+): )?(.*)`)

// parse returns the one document of the file, or nil after a complaint.
func (r *reading) parse(data []byte) *yaml.Node {
	whole := &yaml.Node{Line: 1, Column: 1}
	switch {
	case len(data) > MaxBytes:
		r.complain(whole, "", fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d", MaxBytes), "")
		return nil
	case !utf8.Valid(data):
		r.complain(whole, "", "bytes that are no UTF-8 text", "UTF-8", "save the file as UTF-8")
		return nil
	}
	var doc yaml.Node
	decoder := yaml.NewDecoder(bytes.NewReader(data))
	if err := decoder.Decode(&doc); errors.Is(err, io.EOF) {
		r.complain(whole, "", "an empty file", "", "")
		return nil
	} else if err != nil {
		m := yamlLine.FindStringSubmatch(strings.ReplaceAll(err.Error(), "\n", " "))
		line, _ := strconv.Atoi(m[1])
		if strings.HasPrefix(m[2], "did not find expected") {
			line++ // the decoder counts these lines from 0
		}
		last := 1 + bytes.Count(bytes.TrimRight(data, "\r\n"), []byte("\n"))
		r.complain(&yaml.Node{Line: min(max(line, 1), last), Column: 1}, "", "no YAML: "+m[2], "", "")
		return nil
	}
	more := yaml.Node{Line: 1, Column: 1}
	if err := decoder.Decode(&more); !errors.Is(err, io.EOF) {
		r.complain(&more, "", "a second document after ---", "one document", "")
	}
	return doc.Content[0]
}

func (r *reading) complain(n *yaml.Node, path, found, allowed, hint string) {
	r.bad[n] = true
	r.faults = append(r.faults, Fault{r.file, n.Line, n.Column, path, found, allowed, hint})
}

// walk compares a node with its shape and complains of every difference.
func (r *reading) walk(n *yaml.Node, path string, s Shape) {
	switch {
	case n.Kind == yaml.AliasNode || n.Anchor != "":
		r.complain(n, path, "a YAML anchor or alias", "the value itself", "")
	case n.Style&yaml.TaggedStyle != 0:
		r.complain(n, path, "the YAML tag "+n.Tag, s.Allows(), "")
	case n.Kind == yaml.ScalarNode && n.ShortTag() == "!!null":
		r.complain(n, path, "no value", s.Allows(), "")
	case s.Kind == KindEither:
		r.walkEither(n, path, s)
	case s.Kind == KindMap || s.Kind == KindKeyed:
		r.walkMap(n, path, s)
	case s.Kind == KindList:
		r.walkList(n, path, s)
	case n.Kind != yaml.ScalarNode:
		r.complain(n, path, kindOf(n), s.Allows(), "")
	default:
		r.scalar(n, path, s)
	}
}

// walkEither takes the shape whose YAML kind fits; among scalars, the one that
// accepts the value.
func (r *reading) walkEither(n *yaml.Node, path string, s Shape) {
	for _, option := range s.Either {
		if option.yamlKind() != n.Kind {
			continue
		}
		if n.Kind != yaml.ScalarNode {
			r.walk(n, path, option)
			return
		}
		try := &reading{file: r.file, bad: map[*yaml.Node]bool{}}
		if try.walk(n, path, option); len(try.faults) == 0 {
			return
		}
	}
	r.complain(n, path, kindOf(n), s.Allows(), s.eitherHint(n))
}

// eitherHint explains a value that none of the shapes accepts.
func (s Shape) eitherHint(n *yaml.Node) string {
	var words []string
	for _, option := range s.Either {
		words = append(words, option.Words...)
	}
	hint := DidYouMean(n.Value, words)
	for _, option := range s.Either {
		if option.Kind == KindNumber && hint == "" {
			hint = option.numberHint(n)
		}
	}
	return hint
}

func (r *reading) walkList(n *yaml.Node, path string, s Shape) {
	if n.Kind != yaml.SequenceNode {
		r.complain(n, path, kindOf(n), s.Allows(), "")
		return
	}
	if len(n.Content) < s.Least {
		r.complain(n, path, fmt.Sprintf("%d items", len(n.Content)), fmt.Sprintf("at least %d", s.Least), "")
	}
	for i, item := range n.Content {
		r.walk(item, fmt.Sprintf("%s[%d]", path, i), *s.Of)
	}
}

func (r *reading) walkMap(n *yaml.Node, path string, s Shape) {
	if n.Kind != yaml.MappingNode {
		r.complain(n, path, kindOf(n), s.Allows(), "")
		return
	}
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		where := join(path, key.Value)
		if key.Kind != yaml.ScalarNode || key.Anchor != "" || key.Style&yaml.TaggedStyle != 0 {
			r.complain(key, path, "a key that is no plain word", strings.Join(s.keys(), ", "), "")
			r.bad[value] = true
			continue
		}
		if line, twice := seen[key.Value]; twice {
			r.complain(key, where, fmt.Sprintf("this key stands on line %d already", line), "each key once", "")
			r.bad[value] = true
			continue
		}
		seen[key.Value] = key.Line
		if of, ok := r.keyShape(key, where, s); ok {
			r.walk(value, where, of)
		} else {
			r.bad[value] = true
		}
	}
	for _, f := range s.Fields {
		if _, there := seen[f.Key]; f.Required && !there {
			r.faults = append(r.faults, Fault{r.file, n.Line, n.Column, join(path, f.Key), "missing", f.Shape.Allows(), ""})
		}
	}
}

// keyShape returns the shape of the value under a key, or complains of the key.
func (r *reading) keyShape(key *yaml.Node, path string, s Shape) (Shape, bool) {
	if s.Kind == KindKeyed {
		if err := s.Keys.accepts(key.Value); err != nil {
			r.complain(key, path, err.Error(), "", "")
			return Shape{}, false
		}
		return *s.Of, true
	}
	f, ok := s.field(key.Value)
	if !ok {
		r.complain(key, path, "unknown key", strings.Join(s.keys(), ", "), s.keyHint(key.Value))
	}
	return f.Shape, ok
}

// maxText bounds one line of text.
const maxText = 400

func (r *reading) scalar(n *yaml.Node, path string, s Shape) {
	switch s.Kind {
	case KindWord:
		if !slices.Contains(s.Words, n.Value) {
			r.complain(n, path, quote(n.Value), s.Allows(), DidYouMean(n.Value, s.Words))
		}
	case KindBool:
		if n.ShortTag() != "!!bool" {
			r.complain(n, path, quote(n.Value), s.Allows(), "")
		}
	case KindNumber:
		r.number(n, path, s)
	case KindText:
		r.text(n, path, s)
	}
}

func (r *reading) text(n *yaml.Node, path string, s Shape) {
	i := strings.IndexFunc(n.Value, func(c rune) bool {
		return c < ' ' || c >= 0x7f && c < 0xa0 || c == 0x2028 || c == 0x2029 || unicode.Is(unicode.Bidi_Control, c)
	})
	switch {
	case !utf8.ValidString(n.Value):
		r.complain(n, path, "bytes that are no UTF-8 text in "+quote(n.Value), "UTF-8", "")
	case strings.TrimSpace(n.Value) == "":
		r.complain(n, path, "blank text", s.Allows(), "")
	case i >= 0:
		c, _ := utf8.DecodeRuneInString(n.Value[i:])
		r.complain(n, path, fmt.Sprintf("a line break or control character (U+%04X) in %s", c, quote(n.Value)), "one line of text", "")
	case utf8.RuneCountInString(n.Value) > s.most():
		r.complain(n, path, fmt.Sprintf("%d characters", utf8.RuneCountInString(n.Value)), fmt.Sprintf("at most %d", s.most()), "")
	case s.Grammar != nil:
		if err := s.Grammar.accepts(n.Value); err != nil {
			r.complain(n, path, err.Error(), "", "")
		}
	}
}

// accepts reports why a text does not follow the grammar.
func (g *Grammar) accepts(text string) error {
	if g.Check != nil {
		return g.Check(text)
	}
	if !g.regexp().MatchString(text) {
		return fmt.Errorf("%s is no %s", quote(text), g.Name)
	}
	return nil
}

func (g *Grammar) regexp() *regexp.Regexp { return regexp.MustCompile("^(?:" + g.Pattern + ")$") }

func quote(s string) string {
	const most = 60
	if runes := []rune(s); len(runes) > most {
		s = string(runes[:most]) + "..."
	}
	return strconv.Quote(s)
}
