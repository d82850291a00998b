package sheet

import (
	"fmt"
	"io"
	"strings"

	"graftclock/internal/graft"
)

// WriteText writes the list for a terminal: sections under their names, columns
// aligned by what a terminal shows, the same widths in every section. A cell is
// one line whatever it holds, and an empty one is "-".
func (s Sheet) WriteText(w io.Writer) error {
	if err := s.check(); err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintln(&b, strings.Join(s.heading("Mon 2006-01-02"), ", "))
	heads := make([]string, len(s.Columns))
	for i, c := range s.Columns {
		heads[i] = strings.ToUpper(graft.OneLine(c.Head))
	}
	tables := make([][][]string, len(s.Sections))
	for i, section := range s.Sections {
		tables[i] = plainRows(heads, section.Rows)
	}
	widths := widthsOf(tables, len(s.Columns))
	for i, section := range s.Sections {
		fmt.Fprintf(&b, "\n%s\n", graft.OneLine(section.Name))
		if len(section.Rows) == 0 {
			fmt.Fprintln(&b, graft.OneLine(section.Empty))
			continue
		}
		for _, row := range tables[i] {
			fmt.Fprintln(&b, s.line(row, widths))
		}
	}
	if caution := graft.OneLine(s.Caution); caution != "" {
		fmt.Fprintf(&b, "\n%s\n", caution)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// plainRows returns the heads and the rows below them as they are printed.
func plainRows(heads []string, rows [][]string) [][]string {
	plain := [][]string{heads}
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, cell := range row {
			if cells[i] = graft.OneLine(cell); cells[i] == "" {
				cells[i] = "-"
			}
		}
		plain = append(plain, cells)
	}
	return plain
}

// widthsOf returns the width of each column over all tables that have rows.
func widthsOf(tables [][][]string, columns int) []int {
	widths := make([]int, columns)
	for _, table := range tables {
		if len(table) == 1 {
			continue
		}
		for _, row := range table {
			for i, cell := range row {
				widths[i] = max(widths[i], width(cell))
			}
		}
	}
	return widths
}

const gap = "  " // between two columns

// line sets one row; figures go flush right, the last column as wide as it likes.
func (s Sheet) line(row []string, widths []int) string {
	var b strings.Builder
	for i, cell := range row {
		if i > 0 {
			b.WriteString(gap)
		}
		pad := strings.Repeat(" ", widths[i]-width(cell))
		if s.Columns[i].Numeric {
			b.WriteString(pad + cell)
		} else {
			b.WriteString(cell + pad)
		}
	}
	return strings.TrimRight(b.String(), " ")
}
