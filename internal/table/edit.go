package table

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"
)

// Put returns a file's text with a value at a path, in the place of what stands there
// or, where nothing does, after the key that goes before it in the shape's order. All
// else of the text stays as it is, byte for byte. A value that says the same leaves the
// text alone. Whether it follows the shape is for the next reader to say. The error is of
// type Faults for a text that is no YAML.
func (s Shape) Put(data []byte, path string, value any) ([]byte, error) {
	return s.edited(data, path, func(e *editing, p place) error { return e.put(p, value, "", false) })
}

// PutAfter is Put for a map whose keys have no order: a key that is not there yet goes
// after another one of the same map, or before all of them where after is empty.
func (s Shape) PutAfter(data []byte, path, after string, value any) ([]byte, error) {
	return s.edited(data, path, func(e *editing, p place) error { return e.put(p, value, after, true) })
}

// Append returns a file's text with one more entry at the end of the list at a path,
// in the style of the list's last entry. A list that is not there is begun.
func (s Shape) Append(data []byte, path string, value any) ([]byte, error) {
	return s.edited(data, path, func(e *editing, p place) error { return e.append(p, value) })
}

// Remove returns a file's text without the key or the entry at a path. Comments stay,
// but for those on the lines that go. What is left empty stays as [] or {}.
func (s Shape) Remove(data []byte, path string) ([]byte, error) {
	return s.edited(data, path, (*editing).remove)
}

// Rename returns a file's text with another key at a path, its value untouched.
func (s Shape) Rename(data []byte, path, key string) ([]byte, error) {
	return s.edited(data, path, func(e *editing, p place) error { return e.rename(p, key) })
}

// editing is one change of a text: what is to be written where, and the tree that is
// to come of it.
type editing struct {
	lines
	shape   Shape
	root    *yaml.Node
	splices []splice
	want    *yaml.Node // nil: nothing changes
}

// splice is a stretch of the text, by its bytes, and what is to stand there instead.
type splice struct {
	from, to int
	text     string
}

// edited makes one change and holds its outcome to the change that was asked for: the
// text that comes out says that, and all else that it said before.
func (s Shape) edited(data []byte, path string, change func(*editing, place) error) ([]byte, error) {
	root, err := treeOf(data)
	if err != nil {
		return nil, err
	}
	e := &editing{lines: linesOf(data), shape: s, root: root}
	at, err := e.find(path)
	if err != nil {
		return nil, err
	}
	if err := change(e, at); err != nil {
		return nil, fmt.Errorf("change %s: %w", path, err)
	}
	if e.want == nil {
		return data, nil
	}
	out := e.written()
	if got, faults := parsed(out); len(faults) > 0 || !same(got, e.want) {
		return nil, fmt.Errorf("change %s: this text is written in a way that the program cannot change safely; change it by hand", path)
	}
	return out, nil
}

// treeOf returns the tree of a text without anchors, aliases and tags: behind those the
// text does not stand where the value is.
func treeOf(data []byte) (*yaml.Node, error) {
	root, faults := parsed(data)
	if len(faults) > 0 {
		return nil, faults
	}
	if !isOwn(root) {
		return nil, errors.New("the text has YAML anchors, aliases or tags; change it by hand")
	}
	return root, nil
}

func isOwn(n *yaml.Node) bool {
	return n.Kind != yaml.AliasNode && n.Anchor == "" && n.Style&yaml.TaggedStyle == 0 && !slices.ContainsFunc(n.Content, func(c *yaml.Node) bool { return !isOwn(c) })
}

func parsed(data []byte) (*yaml.Node, Faults) {
	r := &reading{bad: map[*yaml.Node]bool{}}
	return r.parse(data), r.faults
}

// splice notes a stretch to be replaced.
func (e *editing) splice(from, to int, text string) {
	e.splices = append(e.splices, splice{from, to, text})
}

// written is the text with all splices done.
func (e *editing) written() []byte {
	slices.SortStableFunc(e.splices, func(a, b splice) int { return cmp.Compare(a.from, b.from) })
	var out bytes.Buffer
	done := 0
	for _, s := range e.splices {
		out.Write(e.data[done:max(done, s.from)])
		out.WriteString(s.text)
		done = max(done, s.to)
	}
	out.Write(e.data[done:])
	return out.Bytes()
}

// same reports whether two trees say the same: the order of a map's keys, comments and
// style say nothing.
func same(a, b *yaml.Node) bool {
	if a == nil || b == nil || a.Kind != b.Kind || len(a.Content) != len(b.Content) {
		return false
	}
	switch a.Kind {
	case yaml.ScalarNode:
		return a.Value == b.Value && a.ShortTag() == b.ShortTag()
	case yaml.MappingNode:
		for i := 0; i+1 < len(a.Content); i += 2 {
			if n := keyIn(b, a.Content[i].Value); n < 0 || !same(a.Content[i+1], b.Content[n+1]) {
				return false
			}
		}
		return true
	}
	for i := range a.Content {
		if !same(a.Content[i], b.Content[i]) {
			return false
		}
	}
	return true
}

// keyIn returns the index of a key among the contents of a map; -1: not there.
func keyIn(n *yaml.Node, key string) int {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return i
		}
	}
	return -1
}
