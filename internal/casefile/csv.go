package casefile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// MaxCSVBytes and MaxCSVRows bound a file of many records.
const (
	MaxCSVBytes = 8 << 20
	MaxCSVRows  = 20_000
)

// Row is one line of a file of many records: a record in canonical form with the
// case it holds, or its faults. A fault of the file as a whole, such as a
// heading that names no key, is a row of its own.
type Row struct {
	Line      int // on which the row starts, from 1
	Canonical []byte
	Case      Case // its lines are those of Canonical; whole only without faults
	Faults    table.Faults
}

// ReadCSV reads records from comma- or semicolon-separated text, one a line. The
// first line names the record's keys by their paths, such as surgery.day or
// sinuses[0].implants[0].tooth; an empty cell leaves its key out, a list of words
// is parted by semicolons, and without a column record the format's version is
// 1. The rows hold all faults there are, each at its line and column.
func ReadCSV(file string, data []byte) []Row { return readCSV(file, data, kept) }

// CheckCSV is ReadCSV for who only asks what is wrong: it takes less than half the time,
// and the rows have no canonical form.
func CheckCSV(file string, data []byte) []Row {
	return readCSV(file, data, func(name string, root any) ([]byte, Case, table.Faults) {
		c, faults := CaseOf(name, root)
		return nil, c, faults
	})
}

func readCSV(file string, data []byte, read func(name string, root any) ([]byte, Case, table.Faults)) []Row {
	s := &sheet{file: file, read: read, cases: map[graft.CaseID]int{}}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if row, bad := s.unreadable(data); bad {
		return []Row{row}
	}
	s.lines = bytes.Split(data, []byte("\n"))
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = separator(data), -1, true
	rows, ok := s.heading(r)
	for ok {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return append(rows, s.broken(err))
		}
		switch row, filled := s.row(r, cells); {
		case !filled:
		case len(rows) == MaxCSVRows:
			return append(rows, s.fault(row.Line, 1, "one record more", fmt.Sprintf("at most %d in one file", MaxCSVRows), "the file was read no further"))
		default:
			rows = append(rows, row)
		}
	}
	return rows
}

// sheet is one such file being read.
type sheet struct {
	file    string
	read    func(name string, root any) ([]byte, Case, table.Faults) // a record
	lines   [][]byte
	columns []column
	cases   map[graft.CaseID]int // case number -> line it stands on
}

// cell is a filled cell with its place in the file.
type cell struct {
	text         string
	line, column int
}

// unreadable returns what makes the file as a whole unreadable.
func (s *sheet) unreadable(data []byte) (Row, bool) {
	switch {
	case len(data) > MaxCSVBytes:
		return s.fault(1, 1, fmt.Sprintf("%d bytes", len(data)), fmt.Sprintf("at most %d", MaxCSVBytes), ""), true
	case !utf8.Valid(data):
		at := 0
		for {
			c, size := utf8.DecodeRune(data[at:])
			if c == utf8.RuneError && size == 1 {
				break
			}
			at += size
		}
		start := bytes.LastIndexByte(data[:at], '\n') + 1
		return s.fault(1+bytes.Count(data[:at], []byte("\n")), 1+utf8.RuneCount(data[start:at]), "bytes that are no UTF-8 text", "UTF-8", "save the file as UTF-8"), true
	case len(bytes.TrimSpace(data)) == 0:
		return s.fault(1, 1, "an empty file", "", ""), true
	}
	return Row{}, false
}

// fault is a row of one fault.
func (s *sheet) fault(line, column int, found, allowed, hint string) Row {
	return Row{Line: line, Faults: table.Faults{{File: s.file, Line: line, Column: column, Found: found, Allowed: allowed, Hint: hint}}}
}

// broken is the row of text whose quotation marks do not match. What follows it
// cannot be told apart.
func (s *sheet) broken(err error) Row {
	var at *csv.ParseError
	if !errors.As(err, &at) {
		return s.fault(1, 1, err.Error(), "", "")
	}
	return s.fault(at.StartLine, 1, fmt.Sprintf("a quotation mark out of place or without its mate, seen on line %d", at.Line), "", "a cell that holds one stands in quotation marks, and the one in it is doubled; the file was read no further")
}

// separator is what stands more often between the names of the first line, which
// hold neither.
func separator(data []byte) rune {
	quoted, commas, semicolons := false, 0, 0
	for _, c := range bytes.TrimLeft(data, " \r\n") {
		switch c {
		case '"':
			quoted = !quoted
		case ',':
			commas++
		case ';':
			semicolons++
		}
		if c == '\n' && !quoted {
			break
		}
	}
	if semicolons > commas {
		return ';'
	}
	return ','
}

// place returns line and column, in characters, of a cell of the row read last.
func (s *sheet) place(r *csv.Reader, n int) (line, column int) {
	line, column = r.FieldPos(n)
	text := s.lines[line-1]
	return line, 1 + utf8.RuneCount(text[:min(column-1, len(text))])
}

// row reads one record; a row without any text says nothing and is passed over.
func (s *sheet) row(r *csv.Reader, texts []string) (Row, bool) {
	line, _ := s.place(r, 0)
	if strings.TrimSpace(strings.Join(texts, "")) == "" {
		return Row{}, false
	}
	if len(texts) != len(s.columns) {
		return s.fault(line, 1, fmt.Sprintf("%d cells", len(texts)), fmt.Sprintf("%d, as in the first line", len(s.columns)), ""), true
	}
	cells := map[string]cell{}
	for n, text := range texts {
		if text = strings.TrimSpace(text); text != "" {
			c := cell{text: text}
			c.line, c.column = s.place(r, n)
			cells[s.columns[n].path] = c
		}
	}
	row := Row{Line: line}
	root, faults := s.record(cells)
	if row.Canonical, row.Case, row.Faults = s.read(fmt.Sprintf("%s line %d", s.file, line), root); len(row.Faults) > 0 {
		row.Faults = s.placed(row, r)
	}
	row.Faults = append(faults, row.Faults...)
	row.Faults = append(row.Faults, s.again(cells["case"], line)...)
	if table.SortFaults(row.Faults); len(row.Faults) > 0 {
		row.Canonical = nil
	}
	return row, true
}

// again complains of a case number that stands on an earlier line.
func (s *sheet) again(number cell, line int) table.Faults {
	id := graft.CaseID(number.text)
	before, twice := s.cases[id]
	switch {
	case id == "":
		return nil
	case !twice:
		s.cases[id] = line
		return nil
	}
	return table.Faults{{File: s.file, Line: number.line, Column: number.column, Path: "case", Found: fmt.Sprintf("%s, which stands on line %d already", id, before), Allowed: "each case once"}}
}

// record makes a record of the filled cells, and complains of a cell whose key
// hangs below another's value.
func (s *sheet) record(cells map[string]cell) (any, table.Faults) {
	var root any = map[string]any{"record": "1"}
	var faults table.Faults
	for _, c := range s.columns {
		filled, ok := cells[c.path]
		if !ok {
			continue
		}
		above := c.path[:max(0, strings.LastIndexByte(c.path, '.'))]
		if value, both := cells[above]; both {
			faults = append(faults, table.Fault{File: s.file, Line: filled.line, Column: filled.column, Path: c.path, Found: fmt.Sprintf("%s, though %s says %s", filled.text, above, value.text), Allowed: "one of the two"})
			continue
		}
		root = filledIn(root, c.steps, c.value(filled.text))
	}
	return root, faults
}

// filledIn returns a value with another set in it, at a path of keys and numbers.
func filledIn(at any, steps []any, value any) any {
	if len(steps) == 0 {
		return value
	}
	if n, isNumber := steps[0].(int); isNumber {
		list, _ := at.([]any)
		for len(list) <= n {
			list = append(list, nil)
		}
		list[n] = filledIn(list[n], steps[1:], value)
		return list
	}
	m, _ := at.(map[string]any)
	if m == nil {
		m = map[string]any{}
	}
	key, _ := steps[0].(string)
	m[key] = filledIn(m[key], steps[1:], value)
	return m
}

// placed gives the faults of a record the places of their cells: the cell of the
// key, else the first that belongs to it, else the row's start.
func (s *sheet) placed(row Row, r *csv.Reader) table.Faults {
	faults := row.Faults
	for i := range faults {
		faults[i].File = s.file
		faults[i].Line, faults[i].Column = row.Line, 1
		if n := s.columnOf(faults[i].Path); n >= 0 {
			faults[i].Line, faults[i].Column = s.place(r, n)
		}
	}
	return faults
}
