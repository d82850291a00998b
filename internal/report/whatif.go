package report

import (
	"fmt"
	"math"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// WhatIf answers, for one implant, what other facts would change. Every row is a
// plan of its own, made from the record alone: what is booked and what a surgeon has
// set is left aside on both sides of a difference.
type WhatIf struct {
	Tooth int
	Gate  graft.Step // the step that waits for bone: placement, uncovering or impression
	Rows  []Answer   // the record as it is comes first
	Left  []LeftOut  // what was not asked, and why
}

// Answer is what one plan says of an implant.
type Answer struct {
	Change  string   // what is changed, exactly
	Set     []string // the same as changes of the record, KEY=VALUE
	ToFull  float64  // months to full support
	Gate    day.Day  // earliest; no day: the step has none
	Loading day.Day  // earliest first loading; no day: the step has none
	News    []graft.Finding
}

// LeftOut is a change that was not tried.
type LeftOut struct{ Change, Why string }

// whatIfPart is a WhatIf as the page prints it.
type whatIfPart struct {
	Tooth   int
	Heading string
	Head    []string
	Rows    []whatIfRow
	Left    []LeftOut
}

// whatIfRow is one row; News tells the stops and warnings that the record as it is
// does not have.
type whatIfRow struct {
	Change string
	Cells  []cell
	News   string
}

// Adds tells what the change adds to the findings.
func (r whatIfRow) Adds() string {
	if r.News == "" {
		return ""
	}
	return "adds " + r.News
}

// cell is a cell under the head of its column.
type cell struct{ Head, Text string }

func whatIfParts(asked []WhatIf) []whatIfPart {
	var parts []whatIfPart
	for _, w := range asked {
		if len(w.Rows) == 0 {
			continue
		}
		part := whatIfPart{
			Tooth:   w.Tooth,
			Heading: fmt.Sprintf("Implant %d", w.Tooth),
			Head:    []string{"What is changed", "Months to full support", "More or less", "Earliest " + stepName(w.Gate), "Days", "Earliest first loading", "Days"},
			Left:    w.Left,
		}
		for n, a := range w.Rows {
			part.Rows = append(part.Rows, whatIfRowOf(a, w.Rows[0], n == 0, part.Head))
		}
		parts = append(parts, part)
	}
	return parts
}

func whatIfRowOf(a, was Answer, first bool, head []string) whatIfRow {
	row := whatIfRow{Change: graft.OneLine(a.Change), News: newsOf(a.News)}
	months, gate, loading := difference("%+.2f", a.ToFull-was.ToFull), daysBetween(was.Gate, a.Gate), daysBetween(was.Loading, a.Loading)
	if first {
		months, gate, loading = "", "", ""
	}
	for n, text := range []string{fmt.Sprintf("%.2f", a.ToFull), months, spelled(a.Gate), gate, spelled(a.Loading), loading} {
		row.Cells = append(row.Cells, cell{head[n+1], text})
	}
	return row
}

// daysBetween is a difference in days with its sign; a dash where a day is missing.
func daysBetween(was, is day.Day) string {
	if was.IsZero() || is.IsZero() {
		return "-"
	}
	return difference("%+.0f", float64(is.Sub(was)))
}

// difference writes a number with its sign, a true minus; 0 for none.
func difference(form string, number float64) string {
	const least = 0.005 // below what two decimals show
	if math.Abs(number) < least {
		return "0"
	}
	return strings.Replace(fmt.Sprintf(form, number), "-", "\u2212", 1)
}

// newsOf names the rules of findings, the gravest first.
func newsOf(findings []graft.Finding) string {
	text := ""
	for _, f := range findings {
		if text != "" {
			text += ", "
		}
		text += fmt.Sprintf("%s: %s", f.Severity, f.Rule)
	}
	return text
}
