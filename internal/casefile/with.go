package casefile

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"graftclock/internal/table"
)

// With reads a record with some of its values changed, each given as KEY=VALUE.
// A key is a path of the record, or a short form: a key of a sinus stands for
// every sinus, a key of an implant for every implant, and with a tooth before it
// for that implant. The value none takes a window or septa away. The error is a
// change that cannot be understood; the faults are those of the record, or of
// the changed record.
func With(name string, data []byte, changes []string) (Case, table.Faults, error) {
	if c, faults := ReadCase(name, data); len(faults) > 0 {
		return c, faults, nil
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return Case{}, nil, fmt.Errorf("%s: %w", name, err)
	}
	root, _ := valueOf(doc.Content[0]).(map[string]any)
	for _, change := range changes {
		key, value, ok := strings.Cut(change, "=")
		if !ok {
			return Case{}, nil, fmt.Errorf("%q: want KEY=VALUE", change)
		}
		if err := alter(root, key, value); err != nil {
			return Case{}, nil, fmt.Errorf("%q: %w", change, err)
		}
	}
	c, faults := CaseOf(name, root)
	return c, faults, nil
}

// valueOf turns a record without faults into maps, lists and the scalars' own
// words: days come back as days, and a case 007 keeps its noughts.
func valueOf(n *yaml.Node) any {
	switch n.Kind {
	case yaml.MappingNode:
		m := map[string]any{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			m[n.Content[i].Value] = valueOf(n.Content[i+1])
		}
		return m
	case yaml.SequenceNode:
		list := make([]any, len(n.Content))
		for i, item := range n.Content {
			list[i] = valueOf(item)
		}
		return list
	}
	return n.Value
}

// alter sets the value at every place that the key names.
func alter(root map[string]any, key, value string) error {
	places, err := expand(root, key)
	if err != nil {
		return err
	}
	for _, place := range places {
		if err := put(root, place, value); err != nil {
			return err
		}
	}
	return nil
}

var toothKey = regexp.MustCompile(`^([12][0-9])\.(.+)$`)

// expand turns a short key into the paths it stands for.
func expand(root map[string]any, key string) ([]string, error) {
	first, _, _ := strings.Cut(strings.SplitN(key, "[", 2)[0], ".")
	if _, known := fieldOf(record, first); known {
		return []string{key}, nil
	}
	tooth := ""
	if m := toothKey.FindStringSubmatch(key); m != nil {
		tooth, key = m[1], m[2]
		first, _, _ = strings.Cut(key, ".")
	}
	_, ofSinus := fieldOf(sinusShape, first)
	_, ofImplant := fieldOf(implantShape, first)
	var places []string
	sinuses, _ := root["sinuses"].([]any)
	for n, s := range sinuses {
		at := fmt.Sprintf("sinuses[%d].", n)
		if ofSinus && tooth == "" {
			places = append(places, at+key)
			continue
		}
		sinus, _ := s.(map[string]any)
		implants, _ := sinus["implants"].([]any)
		for m, i := range implants {
			implant, _ := i.(map[string]any)
			if ofImplant && (tooth == "" || fmt.Sprint(implant["tooth"]) == tooth) {
				places = append(places, fmt.Sprintf("%simplants[%d].%s", at, m, key))
			}
		}
	}
	switch {
	case len(places) > 0:
		return places, nil
	case ofImplant && tooth != "":
		return nil, fmt.Errorf("the record has no implant at tooth %s", tooth)
	case ofImplant:
		return nil, fmt.Errorf("the record has no implants")
	case ofSinus && len(sinuses) > 0:
		return nil, fmt.Errorf("%q is a key of the whole sinus; leave out %s", first, tooth)
	}
	message := fmt.Sprintf("%q is no key of the record, of a sinus or of an implant", first)
	if hint := table.DidYouMean(first, allKeys()); hint != "" {
		message += "; " + hint
	}
	return nil, errors.New(message)
}

func fieldOf(s table.Shape, key string) (table.Field, bool) {
	for _, f := range s.Fields {
		if f.Key == key {
			return f, true
		}
	}
	return table.Field{}, false
}

func allKeys() []string {
	var keys []string
	for _, s := range []table.Shape{record, sinusShape, implantShape} {
		for _, f := range s.Fields {
			keys = append(keys, f.Key)
		}
	}
	return keys
}

var segment = regexp.MustCompile(`^([a-z_]+)((?:\[[0-9]+\])*)$`)

// put sets one value. None takes the value away where it stands for a map or a
// list; a map that is not there is made.
func put(root map[string]any, path, value string) error {
	here := root
	parts := strings.Split(path, ".")
	for n, part := range parts {
		m := segment.FindStringSubmatch(part)
		if m == nil {
			return fmt.Errorf("%q is no key", part)
		}
		key, last := m[1], n == len(parts)-1
		if m[2] != "" {
			next, err := item(here[key], m[2])
			if err != nil {
				return fmt.Errorf("%s: %w", part, err)
			}
			here = next
			continue
		}
		if last {
			if _, scalar := here[key].(string); value == "none" && !scalar && isStructure(key) {
				delete(here, key)
			} else {
				here[key] = value
			}
			return nil
		}
		next, ok := here[key].(map[string]any)
		if !ok {
			next = map[string]any{}
			here[key] = next
		}
		here = next
	}
	return fmt.Errorf("%q names no single value", path)
}

func isStructure(key string) bool { return key == "window" || key == "septa" || key == "findings" }

// item returns the map at the indexes [n] of a list.
func item(list any, indexes string) (map[string]any, error) {
	for _, text := range strings.Split(strings.Trim(indexes, "[]"), "][") {
		items, _ := list.([]any)
		n, err := strconv.Atoi(text)
		if err != nil || n >= len(items) {
			return nil, fmt.Errorf("the list has %d entries, counted from 0", len(items))
		}
		list = items[n]
	}
	m, ok := list.(map[string]any)
	if !ok {
		return nil, fmt.Errorf("no map stands there")
	}
	return m, nil
}
