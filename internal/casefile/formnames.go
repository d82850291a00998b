package casefile

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// BlankForm returns the fields of a form into which nothing was typed: one sinus with
// one width and one implant, and no list that most records do without.
func BlankForm() map[string][]string {
	typed := map[string][]string{}
	for _, f := range record.Fields {
		if f.Key != "findings" {
			addBlank(typed, f, f.Key)
		}
	}
	return typed
}

// addBlank adds the names of a key and of what stands below it.
func addBlank(typed map[string][]string, f table.Field, name string) {
	switch controlOf(f.Shape) {
	case List:
		if f.Required || f.Usual {
			addEntry(typed, f.Shape, name+"[0]")
		}
	case Group, Either:
		for _, below := range mapOf(f.Shape).Fields {
			addBlank(typed, below, name+"."+below.Key)
		}
	case Fixed:
		typed[name] = []string{f.Shape.Allows()}
	default:
		typed[name] = []string{""}
	}
}

// addEntry adds the names of an empty entry of a list.
func addEntry(typed map[string][]string, list table.Shape, name string) {
	addBlank(typed, table.Field{Shape: entryOf(list)}, name)
}

// FormOf returns the fields of a form that shows a kept record, its findings left out.
func FormOf(kept []byte) map[string][]string {
	typed := map[string][]string{}
	root, _ := rootOf(kept).(map[string]any)
	delete(root, "findings")
	flatten(typed, record, "", root)
	return typed
}

// flatten adds the texts of a value under the names of their fields.
func flatten(typed map[string][]string, s table.Shape, name string, value any) {
	switch value := value.(type) {
	case map[string]any:
		for key, below := range value {
			f, _ := fieldOf(mapOf(s), key)
			flatten(typed, f.Shape, strings.TrimPrefix(name+"."+key, "."), below)
		}
	case []any:
		for n, entry := range value {
			at := fmt.Sprintf("%s[%d]", name, n)
			if controlOf(s) == Ticks {
				at = name
			}
			flatten(typed, entryOf(s), at, entry)
		}
	case string:
		typed[name] = append(typed[name], value)
	}
}

// AddEntry adds an empty entry at the end of a list and returns its name. It refuses
// what is no list of the form, and more entries than a list can have.
func AddEntry(typed map[string][]string, list string) (string, error) {
	shape, known := listAt(list)
	if !known {
		return "", &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%q is no list of the record", list)}
	}
	next := 0
	if numbers := entriesOf(typed)[list]; len(numbers) > 0 {
		next = slices.Max(numbers) + 1
	}
	if next > mostEntries {
		return "", &graft.Refusal{Kind: graft.Invalid, Message: fmt.Sprintf("%s is full: it has entries up to [%d]", list, mostEntries)}
	}
	name := fmt.Sprintf("%s[%d]", list, next)
	addEntry(typed, shape, name)
	return name, nil
}

// TakeEntry takes an entry of a list away, with all that was typed into it.
func TakeEntry(typed map[string][]string, entry string) {
	maps.DeleteFunc(typed, func(name string, _ []string) bool {
		return name == entry || strings.HasPrefix(name, entry+".")
	})
}

// listAt returns the shape of a list that has numbered entries in the form.
func listAt(path string) (table.Shape, bool) {
	shape := record
	for _, part := range strings.Split(path, ".") {
		key, number, numbered := strings.Cut(part, "[")
		f, known := fieldOf(mapOf(shape), key)
		if !known || key == "findings" {
			return table.Shape{}, false
		}
		if shape = f.Shape; numbered {
			if entryNumber.FindString("["+number) != "["+number {
				return table.Shape{}, false
			}
			shape = entryOf(shape)
		}
	}
	return shape, controlOf(shape) == List
}
