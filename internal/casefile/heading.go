package casefile

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"graftclock/internal/table"
)

// column is one named column of a file of many records.
type column struct {
	path  string
	steps []any // the path's keys (string) and numbers (int)
	list  bool  // its cells are lists of words
}

// value returns a cell's text as the record has it.
func (c column) value(text string) any {
	if !c.list {
		return text
	}
	var list []any
	for _, item := range strings.Split(text, ";") {
		if item = strings.TrimSpace(item); item != "" {
			list = append(list, item)
		}
	}
	return list
}

// heading reads the first line. It is a row of faults when a name is none.
func (s *sheet) heading(r *csv.Reader) (rows []Row, ok bool) {
	names, err := r.Read()
	if err != nil {
		return []Row{s.broken(err)}, false
	}
	line, _ := s.place(r, 0)
	row := Row{Line: line}
	first := map[string]int{}
	for n, name := range names {
		name = strings.TrimSpace(name)
		c, fault, ok := columnOf(name)
		fault.File, fault.Path = s.file, name
		fault.Line, fault.Column = s.place(r, n)
		if at, twice := first[name]; ok && twice {
			fault.Found, fault.Allowed = fmt.Sprintf("column %d has this name already", at), "each key once"
			ok = false
		}
		if first[name] = n + 1; !ok {
			row.Faults = append(row.Faults, fault)
		}
		s.columns = append(s.columns, c)
	}
	if len(row.Faults) > 0 {
		return []Row{row}, false
	}
	return nil, true
}

// mostEntries bounds the number of an entry: no record has so many of anything.
const mostEntries = 99

// columnOf returns the column of a path, or what is wrong with the path.
func columnOf(path string) (column, table.Fault, bool) {
	c := column{path: path}
	shape := record
	at := ""
	for _, part := range strings.Split(path, ".") {
		key, number, numbered := strings.Cut(part, "[")
		f, known := fieldOf(mapOf(shape), key)
		if !known {
			return c, unknown(at, path, key, mapOf(shape)), false
		}
		c.steps = append(c.steps, key)
		at = strings.TrimPrefix(at+"."+key, ".")
		if shape = f.Shape; numbered {
			n, err := strconv.Atoi(strings.TrimSuffix(number, "]"))
			switch written := strconv.Itoa(n) + "]"; {
			case !isMapShape(entryOf(shape)):
				return c, table.Fault{Found: key + " has no numbered entries", Allowed: at}, false
			case err != nil || n < 0 || n > mostEntries || number != written:
				return c, table.Fault{Found: fmt.Sprintf("%q is no number of an entry", "["+number), Allowed: fmt.Sprintf("[0] to [%d]", mostEntries)}, false
			}
			shape = entryOf(shape)
			c.steps = append(c.steps, n)
			at += "[" + number
		}
	}
	switch {
	case isMapShape(shape):
		return c, table.Fault{Found: "a map, which fills no single cell", Allowed: "its keys: " + keysBelow(at+".", shape)}, false
	case isMapShape(entryOf(shape)):
		return c, table.Fault{Found: "a list, which fills no single cell", Allowed: "keys of its entries: " + keysBelow(at+"[0].", entryOf(shape))}, false
	}
	c.list = shape.Kind == table.KindList
	return c, table.Fault{}, true
}

// unknown is the fault of a path with a key that does not stand there.
func unknown(at, path, key string, shape table.Shape) table.Fault {
	if at != "" {
		at += "."
	}
	fault := table.Fault{Found: "unknown key", Allowed: keysBelow(at, shape)}
	if hint, near := strings.CutPrefix(table.DidYouMean(key, keysOfShape(shape)), "did you mean "); near {
		fault.Hint = "did you mean " + at + strings.TrimSuffix(hint, "?") + strings.TrimPrefix(path, at+key) + "?"
	}
	switch {
	case path == "":
		fault.Found = "a column without a name"
	case len(shape.Fields) == 0:
		fault.Found, fault.Allowed = "a key below one that has none", strings.TrimSuffix(at, ".")
	}
	return fault
}

func keysOfShape(s table.Shape) []string {
	keys := make([]string, len(s.Fields))
	for i, f := range s.Fields {
		keys[i] = f.Key
	}
	return keys
}

func keysBelow(at string, s table.Shape) string {
	keys := keysOfShape(s)
	for i := range keys {
		keys[i] = at + keys[i]
	}
	return strings.Join(keys, ", ")
}

// columnOf returns the column nearest to a path of the record: its own, else the
// first below it, else that of a place above it; -1 for none.
func (s *sheet) columnOf(path string) int {
	for path != "" {
		for _, is := range []func(column) bool{
			func(c column) bool { return c.path == path },
			func(c column) bool { return strings.HasPrefix(c.path, path+".") || strings.HasPrefix(c.path, path+"[") },
		} {
			if n := slices.IndexFunc(s.columns, is); n >= 0 {
				return n
			}
		}
		path = path[:max(0, strings.LastIndexAny(path, ".["))]
	}
	return -1
}
