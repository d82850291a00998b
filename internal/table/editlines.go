package table

import (
	"bytes"
	"errors"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// lines is a text with the places at which its lines start, counted as YAML counts
// them.
type lines struct {
	data   []byte
	starts []int
	eol    string // the line break of the first line
}

var mark = []byte("\ufeff") // the byte order mark, which YAML does not count

func linesOf(data []byte) lines {
	l := lines{data: data, starts: []int{0}, eol: "\n"}
	if bytes.HasPrefix(data, mark) {
		l.starts[0] = len(mark)
	}
	for i := 0; i < len(data); {
		n := breakAt(data, i)
		if n == 0 {
			i++
			continue
		}
		if len(l.starts) == 1 && data[i] < utf8.RuneSelf {
			l.eol = string(data[i : i+n])
		}
		i += n
		l.starts = append(l.starts, i)
	}
	return l
}

// breakAt returns the length of the line break at a place; 0: none. Beside the usual
// ones YAML's reader takes NEL, LS and PS for breaks (YAML 1.1, section 4.2).
func breakAt(data []byte, i int) int {
	switch rest := data[i:]; {
	case bytes.HasPrefix(rest, []byte("\r\n")), bytes.HasPrefix(rest, []byte("\u0085")):
		return len("\r\n")
	case rest[0] == '\n', rest[0] == '\r':
		return 1
	case bytes.HasPrefix(rest, []byte("\u2028")), bytes.HasPrefix(rest, []byte("\u2029")):
		return len("\u2028")
	}
	return 0
}

// start returns the place of a node's first byte.
func (l lines) start(n *yaml.Node) int {
	i := l.starts[n.Line-1]
	for range n.Column - 1 {
		_, size := utf8.DecodeRune(l.data[i:])
		i += size
	}
	return i
}

// lineStart returns the start of the line of a place.
func (l lines) lineStart(at int) int {
	start := 0
	for _, s := range l.starts {
		if s <= at {
			start = s
		}
	}
	return start
}

// lineEnd returns the end of the line of a place, before its break.
func (l lines) lineEnd(at int) int {
	for at < len(l.data) && breakAt(l.data, at) == 0 {
		at++
	}
	return at
}

// nextLine returns the start of the line after that of a place, or the end of the text.
func (l lines) nextLine(at int) int {
	end := l.lineEnd(at)
	if end < len(l.data) {
		end += breakAt(l.data, end)
	}
	return end
}

// leads reports whether only blanks stand before a place on its line, and how many.
func (l lines) leads(at int) (int, bool) {
	before := l.data[l.lineStart(at):at]
	return len(before), len(bytes.Trim(before, " ")) == 0
}

// broken gives a text the line breaks of this one.
func (l lines) broken(text string) string { return strings.ReplaceAll(text, "\n", l.eol) }

var errUnclear = errors.New("it is not clear where a value ends")

// end returns the place after a node's last byte.
func (l lines) end(n *yaml.Node) (int, error) {
	switch {
	case n.Kind == yaml.ScalarNode:
		return l.scalarEnd(n)
	case n.Style&yaml.FlowStyle != 0:
		at := l.start(n) + 1
		if len(n.Content) > 0 {
			var err error
			if at, err = l.end(last(n)); err != nil {
				return 0, err
			}
		}
		at = l.pass(at, ",")
		if at >= len(l.data) || l.data[at] != ']' && l.data[at] != '}' {
			return 0, errUnclear
		}
		return at + 1, nil
	case len(n.Content) == 0:
		return 0, errUnclear
	}
	return l.end(last(n))
}

func last(n *yaml.Node) *yaml.Node { return n.Content[len(n.Content)-1] }

// pass goes on over blanks, line breaks, comments and any of the signs.
func (l lines) pass(at int, signs string) int {
	for at < len(l.data) {
		switch c := l.data[at]; {
		case c == '#':
			at = l.lineEnd(at)
		case c == ' ', c == '\t', strings.IndexByte(signs, c) >= 0:
			at++
		case breakAt(l.data, at) > 0:
			at += breakAt(l.data, at)
		default:
			return at
		}
	}
	return at
}

func (l lines) scalarEnd(n *yaml.Node) (int, error) {
	at := l.start(n)
	switch {
	case n.Style&yaml.DoubleQuotedStyle != 0:
		return l.quoteEnd(at+1, '"')
	case n.Style&yaml.SingleQuotedStyle != 0:
		return l.quoteEnd(at+1, '\'')
	case n.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		return l.blockEnd(at), nil
	}
	return l.plainEnd(at, n.Value)
}

// quoteEnd returns the place after the closing quotation mark.
func (l lines) quoteEnd(at int, quote byte) (int, error) {
	for ; at < len(l.data); at++ {
		switch {
		case quote == '"' && l.data[at] == '\\':
			at++
		case l.data[at] != quote:
		case quote == '\'' && at+1 < len(l.data) && l.data[at+1] == quote:
			at++
		default:
			return at + 1, nil
		}
	}
	return 0, errUnclear
}

// plainEnd follows a value without quotation marks through the text: it stands there
// as it reads, but for the breaks of its lines.
func (l lines) plainEnd(at int, value string) (int, error) {
	if value == "" {
		return 0, errUnclear
	}
	for _, word := range strings.Fields(value) {
		if at = l.pass(at, ""); !bytes.HasPrefix(l.data[at:], []byte(word)) {
			return 0, errUnclear
		}
		at += len(word)
	}
	return at, nil
}

// blockEnd returns the end of the last line of a block scalar: lines set in as far as
// its first one.
func (l lines) blockEnd(at int) int {
	end, indent := l.lineEnd(at), 0
	for line := l.nextLine(at); line < len(l.data); line = l.nextLine(line) {
		text := l.data[line:l.lineEnd(line)]
		in := len(text) - len(bytes.TrimLeft(text, " "))
		switch {
		case in == len(text):
			continue
		case indent == 0:
			indent = in
		}
		if in < indent || in == 0 {
			break
		}
		end = l.lineEnd(line)
	}
	return end
}
