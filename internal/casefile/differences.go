package casefile

import (
	"fmt"
	"reflect"

	"go.yaml.in/yaml/v3"

	"graftclock/internal/table"
)

// Differences tells what differs between two canonical records, one line each in
// the order of the format: "surgery.day: 2027-01-14 -> 2027-01-15". An entry of a
// list that was added has its number in b, one that was taken away its number in
// a; what is on one side only stands against "(not recorded)".
func Differences(a, b []byte) []string {
	return differences(record, "", rootOf(a), rootOf(b))
}

// rootOf returns a record as maps, lists and words; nothing for no YAML.
func rootOf(text []byte) any {
	var doc yaml.Node
	if err := yaml.Unmarshal(text, &doc); err != nil || len(doc.Content) == 0 {
		return nil
	}
	return valueOf(doc.Content[0])
}

func differences(s table.Shape, path string, a, b any) []string {
	if reflect.DeepEqual(a, b) {
		return nil
	}
	was, isMap := a.(map[string]any)
	is, areMaps := b.(map[string]any)
	if isMap && areMaps {
		var lines []string
		for _, f := range mapOf(s).Fields {
			below := f.Key
			if path != "" {
				below = path + "." + f.Key
			}
			lines = append(lines, differences(f.Shape, below, was[f.Key], is[f.Key])...)
		}
		return lines
	}
	if s.Kind == table.KindList && isMapShape(entryOf(s)) {
		before, _ := a.([]any)
		after, _ := b.([]any)
		return entryDifferences(s, path, before, after)
	}
	return []string{fmt.Sprintf("%s: %s -> %s", path, told(s, a), told(s, b))}
}

// entryDifferences pairs the entries of two lists: those that are alike at the
// start and at the end, and between them one by one.
func entryDifferences(s table.Shape, path string, a, b []any) []string {
	start := 0
	for start < min(len(a), len(b)) && reflect.DeepEqual(a[start], b[start]) {
		start++
	}
	end := 0
	for end < min(len(a), len(b))-start && reflect.DeepEqual(a[len(a)-1-end], b[len(b)-1-end]) {
		end++
	}
	var lines []string
	for n := start; n < max(len(a), len(b))-end; n++ {
		var was, is any
		if n < len(a)-end {
			was = a[n]
		}
		if n < len(b)-end {
			is = b[n]
		}
		lines = append(lines, differences(entryOf(s), fmt.Sprintf("%s[%d]", path, n), was, is)...)
	}
	return lines
}

// told writes a value on one line. No text looks like a value that is not there:
// one that begins with a parenthesis is written in quotation marks.
func told(s table.Shape, value any) string {
	if list, ok := value.([]any); value == nil || ok && len(list) == 0 {
		return "(not recorded)"
	}
	return s.Line(value)
}
