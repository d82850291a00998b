package table

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// place is where a change happens: a key of a map or an entry of a list, which need
// not be there yet.
type place struct {
	path   string
	shape  Shape      // of the value
	parent *yaml.Node // the map or the list; nil: that is not there either
	above  string     // the parent's path
	within Shape      // the parent's shape
	key    string     // in a map
	at     int        // index in the parent's contents, of the key or of the entry; -1: not there
}

// value is the node at the place; nil: none.
func (p place) value() *yaml.Node {
	switch {
	case p.at < 0:
		return nil
	case p.parent.Kind == yaml.MappingNode:
		return p.parent.Content[p.at+1]
	}
	return p.parent.Content[p.at]
}

// first is the node at which the place begins: the key, or the entry.
func (p place) first() *yaml.Node { return p.parent.Content[p.at] }

// width is how many nodes of the parent the place has.
func (p place) width() int {
	if p.parent.Kind == yaml.MappingNode {
		return 2
	}
	return 1
}

var step = regexp.MustCompile(`^([^.\[\]]+)((?:\[[0-9]+\])*)$`)

// find returns the place of a path such as people[2].absent. What lies below a place
// that is not there is not there; an entry of a list must be.
func (e *editing) find(path string) (place, error) {
	p := place{shape: e.shape}
	node := e.root
	for part := range strings.SplitSeq(path, ".") {
		m := step.FindStringSubmatch(part)
		if m == nil {
			return p, fmt.Errorf("%q is no path", path)
		}
		if node != nil && node.Kind != yaml.MappingNode {
			return p, fmt.Errorf("%s has no keys", orFile(p.path))
		}
		p = p.below(node, m[1])
		node = p.value()
		for index := range strings.SplitSeq(strings.Trim(m[2], "[]"), "][") {
			n, err := strconv.Atoi(index)
			if err != nil {
				break // no index
			}
			if node == nil || node.Kind != yaml.SequenceNode || n >= len(node.Content) {
				return p, fmt.Errorf("%s is not there", path)
			}
			p = place{path: fmt.Sprintf("%s[%d]", p.path, n), shape: p.shape.entryShape(), parent: node, above: p.path, within: p.shape, at: n}
			node = p.value()
		}
	}
	return p, nil
}

func orFile(path string) string {
	if path == "" {
		return "the file"
	}
	return path
}

// below returns the place of a key in the map at a place.
func (p place) below(node *yaml.Node, key string) place {
	b := place{path: join(p.path, key), shape: p.shape.entryShape(), parent: node, above: p.path, within: p.shape, key: key, at: -1}
	if f, ok := p.shape.field(key); ok {
		b.shape = f.Shape
	}
	if node != nil {
		b.at = keyIn(node, key)
	}
	return b
}

// before returns the index of the key after which a new one goes, in the shape's
// order; -1: before all. Keys without an order go to the end.
func (p place) before() int {
	rank := map[string]int{}
	for n, f := range p.within.Fields {
		rank[f.Key] = n + 1
	}
	own, after := rank[p.key], -1
	if own == 0 {
		return max(-1, len(p.parent.Content)-p.width())
	}
	best := 0
	for i := 0; i+1 < len(p.parent.Content); i += 2 {
		if r := rank[p.parent.Content[i].Value]; r < own && r > best {
			best, after = r, i
		}
	}
	return after
}

// wanted notes the tree that is to come: the parent's contents from the place on, so
// many of them, replaced by others.
func (e *editing) wanted(parent *yaml.Node, from, gone int, instead ...*yaml.Node) {
	e.want = replaced(e.root, parent, from, gone, instead)
}

// replaced copies a tree with some contents of one of its nodes replaced.
func replaced(n, parent *yaml.Node, from, gone int, instead []*yaml.Node) *yaml.Node {
	c := *n
	c.Content = nil
	for i, child := range n.Content {
		if n == parent && i == from {
			c.Content = append(c.Content, instead...)
		}
		if n == parent && i >= from && i < from+gone {
			continue
		}
		c.Content = append(c.Content, replaced(child, parent, from, gone, instead))
	}
	if n == parent && from >= len(n.Content) {
		c.Content = append(c.Content, instead...)
	}
	return &c
}
