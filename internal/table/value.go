package table

import (
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// Value is one place in a file that was read. A nil Value is a place that is
// absent or was found faulty: it answers every question with nothing, so that a
// caller can go on and complain of other things.
type Value struct {
	node  *yaml.Node
	path  string
	state *reading
}

// Get returns the value under a key of a map.
func (v *Value) Get(key string) *Value {
	if v == nil || v.node.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(v.node.Content); i += 2 {
		if v.node.Content[i].Value == key {
			return v.child(v.node.Content[i+1], join(v.path, key))
		}
	}
	return nil
}

// Has reports whether the key stands in the map, faulty or not.
func (v *Value) Has(key string) bool {
	if v == nil || v.node.Kind != yaml.MappingNode {
		return false
	}
	for i := 0; i+1 < len(v.node.Content); i += 2 {
		if v.node.Content[i].Value == key {
			return true
		}
	}
	return false
}

// Items returns the values of a list that were found right; each keeps its
// index in the file in its path.
func (v *Value) Items() []*Value {
	if v == nil || v.node.Kind != yaml.SequenceNode {
		return nil
	}
	var items []*Value
	for i, n := range v.node.Content {
		if item := v.child(n, fmt.Sprintf("%s[%d]", v.path, i)); item != nil {
			items = append(items, item)
		}
	}
	return items
}

// Entry is one key of a map with its value, in the order of the file.
type Entry struct {
	Key   string
	Value *Value
}

// Entries returns the keys and values of a map that were found right.
func (v *Value) Entries() []Entry {
	if v == nil || v.node.Kind != yaml.MappingNode {
		return nil
	}
	var entries []Entry
	for i := 0; i+1 < len(v.node.Content); i += 2 {
		key := v.node.Content[i].Value
		if value := v.child(v.node.Content[i+1], join(v.path, key)); value != nil {
			entries = append(entries, Entry{key, value})
		}
	}
	return entries
}

func (v *Value) child(n *yaml.Node, path string) *Value {
	if v.state.bad[n] {
		return nil
	}
	return &Value{n, path, v.state}
}

// IsMap reports whether the value is a map.
func (v *Value) IsMap() bool { return v != nil && v.node.Kind == yaml.MappingNode }

// Text returns the text of a scalar.
func (v *Value) Text() string {
	if v == nil || v.node.Kind != yaml.ScalarNode {
		return ""
	}
	return v.node.Value
}

// Number returns the number of a scalar; ok is false for a value that is
// absent, faulty or no number.
func (v *Value) Number() (n float64, ok bool) {
	if v == nil || !isNumber(v.node) {
		return 0, false
	}
	n, err := strconv.ParseFloat(v.node.Value, 64)
	return n, err == nil
}

// Float returns the number, or 0.
func (v *Value) Float() float64 {
	n, _ := v.Number()
	return n
}

// Int returns the number without its fraction, or 0.
func (v *Value) Int() int { return int(v.Float()) }

// Optional returns the number, or nil for a value that is not one.
func (v *Value) Optional() *float64 {
	if n, ok := v.Number(); ok {
		return &n
	}
	return nil
}

// Bool returns the truth of a value; fallback for an absent one.
func (v *Value) Bool(fallback bool) bool {
	if v == nil {
		return fallback
	}
	return strings.EqualFold(v.node.Value, "true") // YAML has True and TRUE too
}

// Path returns the value's path in the file.
func (v *Value) Path() string {
	if v == nil {
		return ""
	}
	return v.path
}

// Line returns the value's line; 0 when it was not read from text.
func (v *Value) Line() int {
	if v == nil {
		return 0
	}
	return v.node.Line
}

// Fault records a complaint about the value that only its caller can see.
func (v *Value) Fault(found, allowed, hint string) {
	v.FaultAt(v.path, found, allowed, hint)
}

// FaultAt is Fault with a path below the value, such as a key that is missing.
func (v *Value) FaultAt(path, found, allowed, hint string) {
	v.state.faults = append(v.state.faults, Fault{v.state.file, v.node.Line, v.node.Column, path, found, allowed, hint})
}

// Faults returns all complaints so far, sorted by place.
func (v *Value) Faults() Faults {
	SortFaults(v.state.faults)
	return v.state.faults
}

// Lines maps every path of the value to its line.
func (v *Value) Lines() map[string]int {
	lines := map[string]int{}
	v.addLines(lines)
	return lines
}

func (v *Value) addLines(lines map[string]int) {
	if v == nil {
		return
	}
	lines[v.path] = v.Line()
	for _, item := range v.Items() {
		item.addLines(lines)
	}
	for _, entry := range v.Entries() {
		entry.Value.addLines(lines)
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func isNumber(n *yaml.Node) bool {
	tag := n.ShortTag()
	return n.Kind == yaml.ScalarNode && n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) == 0 && (tag == "!!int" || tag == "!!float")
}
