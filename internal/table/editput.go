package table

import (
	"errors"
	"fmt"
	"strings"

	"go.yaml.in/yaml/v3"
)

// put sets the value at a place. A map above it that is not there is begun.
func (e *editing) put(p place, value any, after string, named bool) error {
	if p.parent == nil {
		above, err := e.find(p.above)
		if err != nil {
			return err
		}
		return e.put(above, map[string]any{p.key: value}, "", false)
	}
	text := p.shape.Line(value)
	node, err := nodeIn(text)
	if err != nil {
		return err
	}
	switch old := p.value(); {
	case old != nil && same(old, node):
		return nil
	case old != nil:
		e.wanted(p.parent, p.at+p.width()-1, 1, node)
		return e.replace(p, text)
	}
	e.wanted(p.parent, len(p.parent.Content), 0, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: p.key}, node)
	if !named {
		return e.insert(p, p.before(), value, text)
	}
	at := keyIn(p.parent, after)
	if after != "" && at < 0 {
		return fmt.Errorf("there is no %s to go after", after)
	}
	return e.insert(p, at, value, text)
}

// nodeIn is the tree of a value written on one line.
func nodeIn(text string) (*yaml.Node, error) {
	n, faults := parsed([]byte(text))
	if len(faults) > 0 {
		return nil, errors.New(faults[0].Found)
	}
	return n, nil
}

// replace writes another value over the one at a place; what spans lines of its own
// comes to stand on the line of its key.
func (e *editing) replace(p place, text string) error {
	old := p.value()
	end, err := e.end(old)
	if err != nil {
		return err
	}
	if old.Kind == yaml.ScalarNode || old.Style&yaml.FlowStyle != 0 {
		e.splice(e.start(old), end, text)
		return nil
	}
	if p.parent.Kind != yaml.MappingNode {
		return errors.New("an entry that spans lines stays as it is")
	}
	colon, err := e.colon(p.first())
	if err != nil {
		return err
	}
	e.splice(colon, colon, " "+text)
	e.splice(e.lineStart(e.start(old)), e.nextLine(end), "")
	return nil
}

// colon returns the place after the colon of a key.
func (e *editing) colon(key *yaml.Node) (int, error) {
	end, err := e.end(key)
	if err != nil {
		return 0, err
	}
	if end = e.pass(end, ""); end >= len(e.data) || e.data[end] != ':' {
		return 0, errUnclear
	}
	return end + 1, nil
}

// insert writes a new key after another one of its map, or before all.
func (e *editing) insert(p place, after int, value any, flow string) error {
	if p.parent.Style&yaml.FlowStyle != 0 {
		return e.insertFlow(p.parent, after+1, writeText(p.key, true)+": "+flow)
	}
	var b strings.Builder
	indent := strings.Repeat(" ", p.parent.Column-1)
	writeMap(&b, []pair{{p.key, nodeOf(value), p.shape}}, indent, indent)
	lines := e.broken(b.String())
	if after < 0 {
		start := e.start(p.parent.Content[0])
		if _, leads := e.leads(start); !leads {
			return errors.New("another key stands first on its line")
		}
		start = e.lineStart(start)
		e.splice(start, start, lines)
		return nil
	}
	return e.insertLines(p.parent.Content[after+1], lines)
}

// insertLines writes whole lines after the last line of a node.
func (e *editing) insertLines(after *yaml.Node, lines string) error {
	end, err := e.end(after)
	if err != nil {
		return err
	}
	end = e.lineEnd(end)
	e.splice(end, end, e.eol+strings.TrimSuffix(lines, e.eol))
	return nil
}

// insertFlow writes a key between brackets, after the value at an index of the contents;
// 0: before all.
func (e *editing) insertFlow(parent *yaml.Node, after int, text string) error {
	if after == 0 {
		at := e.start(parent) + 1
		if len(parent.Content) > 0 {
			text += ", "
		}
		e.splice(at, at, text)
		return nil
	}
	end, err := e.end(parent.Content[after])
	if err != nil {
		return err
	}
	e.splice(end, end, ", "+text)
	return nil
}
