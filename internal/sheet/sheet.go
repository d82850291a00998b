// Package sheet turns one list of the front desk, such as the visits of a day,
// into text, JSON, CSV or a page to print. All four show the same rows in the
// same order. It takes every cell as words already made: it decides nothing,
// sorts nothing, knows no clock and spells no date but its own.
package sheet

import (
	"fmt"
	"regexp"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Sheet is one list of the front desk. Its cells may hold any text, also text
// from outside; each form cleans, quotes or escapes it in its own way.
type Sheet struct {
	Title, Clinic string  // "Today", "Harbour Row"
	On            day.Day // the day that the list is for; no day: not shown
	Columns       []Column
	Sections      []Section
	Caution       string // stands below the list and in its JSON
}

// Column is one column of every section. The zero value of a hint asks for
// nothing special.
type Column struct {
	Key  string // its name in JSON and CSV, in snake_case; not "section"
	Head string // its name for a reader

	Numeric bool // figures: flush right
	Names   bool // the row goes by it, such as the patient; no column: the first one
	OffPage bool // not on the page to print
}

// Section is a part of the list under its own name.
type Section struct {
	Name  string     // "Visits"
	Rows  [][]string // a cell for each column; "" where there is nothing to say
	Empty string     // the sentence in place of rows when there is none
	Ticks bool       // a box to tick in front of each row of the page
}

const sectionKey = "section"

var snakeCase = regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)

// check refuses a sheet whose columns are not told apart by their keys or whose
// rows do not fit them. Every form asks before it writes anything.
func (s Sheet) check() error {
	seen := map[string]bool{sectionKey: true}
	for _, c := range s.Columns {
		if !snakeCase.MatchString(c.Key) || seen[c.Key] {
			return fmt.Errorf("list %q: %q cannot name a column: want snake_case, each once, not %q", s.Title, c.Key, sectionKey)
		}
		seen[c.Key] = true
	}
	if len(s.Columns) == 0 {
		return fmt.Errorf("list %q has no columns", s.Title)
	}
	for _, section := range s.Sections {
		for i, row := range section.Rows {
			if len(row) != len(s.Columns) {
				return fmt.Errorf("list %q, %s, row %d: %d cells for %d columns", s.Title, section.Name, i+1, len(row), len(s.Columns))
			}
		}
	}
	return nil
}

// heading is what the list is, for whom and when, each part on one line.
func (s Sheet) heading(onForm string) []string {
	var parts []string
	for _, part := range []string{graft.OneLine(s.Title), s.on(onForm), graft.OneLine(s.Clinic)} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return parts
}

// on spells the day of the list in a layout of package time.
func (s Sheet) on(layout string) string {
	if s.On.IsZero() {
		return ""
	}
	return s.On.Time().Format(layout)
}
