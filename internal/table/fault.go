package table

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Fault is one complaint about a file or a form.
type Fault struct {
	File    string // as the caller named it
	Line    int    // from 1; 0: not read from text
	Column  int    // from 1, in characters
	Path    string // such as sinuses[0].graft.material; empty: the whole file
	Found   string // what stands there
	Allowed string // what may stand there; empty when Found says it all
	Hint    string // a near miss; empty: none
}

// String returns the complaint on one line, its place first.
func (f Fault) String() string {
	var b strings.Builder
	b.WriteString(f.File)
	if f.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", f.Line, f.Column)
	}
	b.WriteString(": ")
	if f.Path != "" {
		b.WriteString(f.Path + ": ")
	}
	b.WriteString(f.Found)
	if f.Allowed != "" {
		b.WriteString("; allowed: " + f.Allowed)
	}
	if f.Hint != "" {
		b.WriteString("; " + f.Hint)
	}
	return b.String()
}

// SortFaults orders complaints by their place in the file.
func SortFaults(faults []Fault) {
	slices.SortStableFunc(faults, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// Faults is a list of complaints as one error.
type Faults []Fault

// Error returns all complaints, one a line.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i, fault := range f {
		lines[i] = fault.String()
	}
	return strings.Join(lines, "\n")
}
