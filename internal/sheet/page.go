package sheet

import (
	"bytes"
	"html/template"
	"io"
	"strings"
	"sync"

	"graftclock/internal/graft"
	"graftclock/templates"
)

// WriteHTML writes the list as one page to print on A4: a table for each section
// with boxes to tick where the section wants them and room to write beside each
// row. It needs nothing from outside and runs no script. On a narrow screen each
// row becomes a block.
func (s Sheet) WriteHTML(w io.Writer) error {
	if err := s.check(); err != nil {
		return err
	}
	form, err := pageForm()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := form.layout.Execute(&b, s.page(form.style)); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}

type form struct {
	layout *template.Template
	style  template.CSS
}

// pageForm parses the embedded layout once.
var pageForm = sync.OnceValues(func() (form, error) {
	style, err := templates.Files.ReadFile("desk/style.css")
	if err != nil {
		return form{}, err
	}
	layout, err := template.ParseFS(templates.Files, "desk/sheet.html")
	return form{layout, template.CSS(style)}, err
})

// page is the list as the layout prints it: every word cleaned.
type page struct {
	Style             template.CSS
	Title, Clinic, On string
	Heading           string // all three
	Widths            widths
	Columns           []column
	Ticks             bool // in any section
	Sections          []part
	Caution           string
}

// column is one column of the page.
type column struct {
	Column
	ID      int
	Percent float64 // of the table's width
	at      int     // where it stands in a row of the sheet
}

type part struct {
	Name, Empty string
	ID, Count   int
	Ticks       bool
	Rows        [][]cell
}

// cell is one cell of the page with its column.
type cell struct {
	column
	Words []words
}

// Class is how the cell is set: it holds nothing, or figures.
func (c cell) Class() string {
	switch {
	case len(c.Words) == 0:
		return "nothing"
	case c.Numeric:
		return "figures"
	}
	return ""
}

const spelledDay = "Monday 2 January 2006"

func (s Sheet) page(style template.CSS) page {
	columns, widths := s.pageColumns()
	p := page{
		Style: style, Title: graft.OneLine(s.Title), Clinic: graft.OneLine(s.Clinic), On: s.on(spelledDay),
		Heading: strings.Join(s.heading(spelledDay), ", "),
		Columns: columns, Widths: widths, Caution: graft.OneLine(s.Caution),
	}
	for i, section := range s.Sections {
		shown := part{Name: graft.OneLine(section.Name), Empty: graft.OneLine(section.Empty), ID: i + 1, Count: len(section.Rows), Ticks: section.Ticks}
		for _, row := range section.Rows {
			shown.Rows = append(shown.Rows, cellsOf(row, p.Columns))
		}
		p.Sections = append(p.Sections, shown)
		p.Ticks = p.Ticks || section.Ticks
	}
	return p
}

func cellsOf(row []string, columns []column) []cell {
	cells := make([]cell, len(columns))
	for i, c := range columns {
		cells[i] = cell{c, wordsOf(graft.OneLine(row[c.at]))}
	}
	return cells
}
