package casefile

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"graftclock/internal/table"
)

// alter makes one change at every place that its key names.
func alter(root map[string]any, change string) error {
	key, value, ok := strings.Cut(change, "=")
	if !ok {
		return fmt.Errorf("want KEY=VALUE")
	}
	act := spot.put
	if list, more := strings.CutSuffix(key, "+"); more {
		key, act = list, spot.add
	} else if list, less := strings.CutSuffix(key, "-"); less {
		key, act = list, spot.remove
	}
	paths, err := expand(root, key)
	if err != nil {
		return err
	}
	for _, path := range paths {
		s, err := find(root, path)
		if err != nil {
			return err
		}
		if err := act(s, value); err != nil {
			return err
		}
	}
	return nil
}

// spot is a place in a record: its shape, what stands there and how to set it.
type spot struct {
	path  string
	shape table.Shape
	must  bool // a record without it is faulty
	value any  // nil: nothing
	set   func(any)
}

var segment = regexp.MustCompile(`^([a-z_]+)(?:\[([0-9]+)\])?$`)

// find returns the place of a path. Maps above it are made where there are none.
func find(root map[string]any, path string) (spot, error) {
	s := spot{shape: record, value: root}
	for _, part := range strings.Split(path, ".") {
		above := s.path
		m := segment.FindStringSubmatch(part)
		if m == nil {
			return spot{}, fmt.Errorf("%q is no key", part)
		}
		below, ok := s.key(m[1])
		if !ok {
			return spot{}, fmt.Errorf("%s: no map stands there", above)
		}
		if s = below; m[2] != "" {
			if s, ok = s.item(m[2]); !ok {
				list, _ := below.value.([]any)
				return spot{}, fmt.Errorf("%s: the list has %d entries, counted from 0", part, len(list))
			}
		}
		s.path = strings.TrimPrefix(above+"."+part, ".")
	}
	return s, nil
}

func (s spot) key(key string) (spot, bool) {
	m, isMap := s.value.(map[string]any)
	if !isMap {
		if s.value != nil && !slices.ContainsFunc(s.shape.Either, isMapShape) {
			return spot{}, false
		}
		m = map[string]any{}
		s.set(m)
	}
	f, _ := fieldOf(mapOf(s.shape), key)
	return spot{shape: f.Shape, must: f.Required, value: m[key], set: func(v any) {
		if m[key] = v; v == nil {
			delete(m, key)
		}
	}}, true
}

func (s spot) item(number string) (spot, bool) {
	list, _ := s.value.([]any)
	n, err := strconv.Atoi(number)
	if err != nil || n >= len(list) {
		return spot{}, false
	}
	return spot{shape: entryOf(s.shape), value: list[n], set: func(v any) {
		if list[n] = v; v == nil {
			s.set(slices.Delete(list, n, n+1))
		}
	}}, true
}

// put sets the value. None takes it away, unless it is a word that may stand
// there or the key has to be there.
func (s spot) put(value string) error {
	if word := table.ReadValue("", "none", s.shape); value == "none" && !s.must && len(word.Faults()) > 0 {
		s.set(nil)
	} else {
		s.set(value)
	}
	return nil
}

// add appends an entry to a list: a word, or a map in YAML's one-line style.
func (s spot) add(text string) error {
	if s.shape.Kind != table.KindList {
		return fmt.Errorf("%s is no list", s.path)
	}
	list, _ := s.value.([]any)
	entry := any(text)
	if isMapShape(entryOf(s.shape)) {
		if faults := table.Read("the entry", []byte(text), entryOf(s.shape)).Faults(); len(faults) > 0 {
			return faults
		}
		var doc yaml.Node
		if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
			return err
		}
		entry = valueOf(doc.Content[0])
	} else if slices.Contains(list, entry) {
		return fmt.Errorf("%s has %q already", s.path, text)
	}
	s.set(append(list, entry))
	return nil
}

// remove takes a word away from a list.
func (s spot) remove(text string) error {
	switch {
	case s.shape.Kind != table.KindList:
		return fmt.Errorf("%s is no list", s.path)
	case isMapShape(entryOf(s.shape)):
		return fmt.Errorf("take an entry away by its number, counted from 0: %s[0]=none", s.path)
	}
	list, _ := s.value.([]any)
	n := slices.Index(list, any(text))
	if n < 0 {
		message := fmt.Sprintf("%s has no %q", s.path, text)
		if len(list) > 0 {
			message += "; it has " + s.shape.Line(list)
		}
		return errors.New(message)
	}
	s.set(slices.Delete(list, n, n+1))
	return nil
}

func isMapShape(s table.Shape) bool { return s.Kind == table.KindMap }

// mapOf returns the shape of the map that a value may be; no shape for none.
func mapOf(s table.Shape) table.Shape {
	if n := slices.IndexFunc(s.Either, isMapShape); n >= 0 {
		return s.Either[n]
	}
	return s
}

// entryOf returns the shape of a list's entries; one of any text for no list.
func entryOf(s table.Shape) table.Shape {
	if s.Of == nil {
		return table.Shape{}
	}
	return *s.Of
}
