package graft

import (
	"cmp"
	"slices"
)

// RuleID names a rule of the protocol. It is stable and never used again for
// another rule.
type RuleID string

// Severity ranks a finding.
type Severity string

// The severities. Stop holds back every date that depends on the fact; Warn and
// Note leave the dates as they are.
const (
	Stop Severity = "stop"
	Warn Severity = "warn"
	Note Severity = "note"
)

// Finding is something in the case that is missing, odd or unsafe. It is a
// value, never a Go error, and all findings are shown at once.
type Finding struct {
	Severity Severity
	Rule     RuleID
	Path     string // in the record, such as sinuses[0].implants[1].residual_bone_mm
	Line     int    // in the record's file; 0: not read from a file
	Says     string // one plain sentence
}

var rank = map[Severity]int{Stop: 0, Warn: 1, Note: 2}

// SortFindings orders findings by severity, then by their place in the record.
func SortFindings(findings []Finding) {
	slices.SortStableFunc(findings, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(rank[a.Severity], rank[b.Severity]), cmp.Compare(a.Line, b.Line))
	})
}

// HasStop reports whether any finding is a stop.
func HasStop(findings []Finding) bool {
	return slices.ContainsFunc(findings, func(f Finding) bool { return f.Severity == Stop })
}
