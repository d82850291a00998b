// Package protocol is what the clinic has agreed to do and when: rules that turn
// a case and the bone clock into milestones with their reasons, and findings
// where the case is missing, odd or unsafe. It knows no calendar: which days are
// open is the diary's business. Every number comes from the rules, none stands
// in code.
package protocol

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"sync"

	"graftclock/internal/day"
	"graftclock/internal/evidence"
	"graftclock/internal/graft"
)

// Rule is one row of the protocol.
type Rule struct {
	ID       graft.RuleID
	Says     string // for the clinician, one sentence or two
	Patient  string // for the patient; empty where the patient does not see it
	Value    Value  // none for a rule that only speaks
	Unit     string
	Allowed  *Span // what a clinic's own value may be; nil: the value is fixed
	Hard     bool  // a floor that no override goes below
	Severity graft.Severity
	Strength string // strong or weak
	Quality  string // high, moderate, low, very-low
	Status   Status
	Reviewed day.Day
	Cites    []graft.Cite
	Conflict string // where sources disagree; empty: none known
	Adopted  *Adoption
}

// Status says where a rule's value comes from.
type Status string

// The statuses: a source that was open before us, one that was recalled, a
// custom of the trade without a source, and graftclock's own choice.
const (
	Read   Status = "read"
	Memory Status = "memory"
	Custom Status = "custom"
	House  Status = "house"
)

// Span bounds a clinic's own value, in the rule's unit.
type Span struct{ Least, Most float64 }

// Adoption is a clinic's own value of a rule.
type Adoption struct {
	By       string
	On       day.Day
	Why      string
	Default  Value // what the rule said
	ReviewBy day.Day
}

// Rules is a protocol, whole and immutable.
type Rules struct {
	version string
	hash    string
	order   []graft.RuleID
	byID    map[graft.RuleID]*Rule
	own     []string
	review  day.Day // by when the clinic reviews its own values; no day: never said
	file    string  // digest of the file with the clinic's own values; empty: none
}

//go:embed rules.yaml
var embedded []byte

var defaults = sync.OnceValue(func() *Rules {
	rules, faults := read("rules.yaml", embedded)
	if len(faults) > 0 {
		panic("protocol: " + faults.Error())
	}
	return rules
})

// Default returns the rules that graftclock ships.
func Default() *Rules { return defaults() }

// Version names the rules and, after a plus sign, the first digits of the
// SHA-256 of all their values: it changes whenever a value does.
func (r *Rules) Version() string { return r.version + "+" + r.hash }

// Digest names the text of the file with the clinic's own values; empty without one.
func (r *Rules) Digest() string { return r.file }

// All returns the rules in the order of the protocol.
func (r *Rules) All() []Rule {
	rules := make([]Rule, len(r.order))
	for i, id := range r.order {
		rules[i] = *r.byID[id]
	}
	return rules
}

// Own tells which values are the clinic's own: rule, value, who, when and why.
func (r *Rules) Own() []string { return r.own }

func (r *Rules) tellOwn() {
	for _, rule := range r.All() {
		if rule.Adopted != nil {
			r.own = append(r.own, fmt.Sprintf("%s: %s; %s", rule.ID, rule.Text(), rule.Adopted.String(rule.Unit)))
		}
	}
}

// Lookup returns one rule.
func (r *Rules) Lookup(id graft.RuleID) (Rule, bool) {
	rule, ok := r.byID[id]
	if !ok {
		return Rule{}, false
	}
	return *rule, true
}

// IDs returns the ids of all rules, sorted.
func (r *Rules) IDs() []string {
	ids := make([]string, len(r.order))
	for i, id := range r.order {
		ids[i] = string(id)
	}
	slices.Sort(ids)
	return ids
}

// digest identifies the values of the rules.
func (r *Rules) digest() string {
	var b strings.Builder
	for _, id := range r.order {
		rule := r.byID[id]
		fmt.Fprintf(&b, "%s\x00%s\x00%s\x00%s\n", id, rule.Value, rule.Says, rule.Patient)
	}
	sum := sha256.Sum256([]byte(b.String()))
	const digits = 12
	return hex.EncodeToString(sum[:])[:digits]
}

// rule returns a rule that the code names. That it exists is held by the test
// that every named rule stands in the protocol.
func (r *Rules) rule(id graft.RuleID) *Rule {
	rule, ok := r.byID[id]
	if !ok {
		panic(fmt.Sprintf("protocol: no rule %q", id))
	}
	return rule
}

func (r *Rules) number(id graft.RuleID) float64           { return r.rule(id).Value.Number }
func (r *Rules) period(id graft.RuleID) day.Period        { return r.rule(id).Value.Period }
func (r *Rules) periods(id graft.RuleID) []day.Period     { return r.rule(id).Value.Periods }
func (r *Rules) window(id graft.RuleID) Window            { return r.rule(id).Value.Window }
func (r *Rules) part(id graft.RuleID, key string) float64 { return r.rule(id).Value.Parts[key] }

// Period returns the value of a rule that is a period, such as overdue-window. A
// rule that is not there is a fault of the program, and panics.
func (r *Rules) Period(id graft.RuleID) day.Period { return r.period(id) }

// Periods returns the value of a rule that is a list of periods; see Period.
func (r *Rules) Periods(id graft.RuleID) []day.Period { return r.periods(id) }

// Closure returns the number of closed days before which no operation is
// planned on the last open day.
func (r *Rules) Closure() int { return int(r.number("surgery-before-closure")) }

// Reason returns why a rule holds, as a leaf of a tree of reasons.
func (r *Rules) Reason(id graft.RuleID) graft.Reason {
	rule := r.rule(id)
	reason := graft.Reason{Rule: id, Says: rule.Says, Cites: rule.Cites, Differ: rule.Conflict}
	if rule.Value.Kind != NoValue {
		reason.Result = rule.Text()
	}
	if rule.Adopted != nil {
		reason.Adopted = rule.Adopted.String(rule.Unit)
	}
	return reason
}

// Finding returns a finding of the rule's own severity. Path is the fact in the
// record; says tells what was found there, and the rule's sentence follows.
func (r *Rules) Finding(id graft.RuleID, path, found string) graft.Finding {
	rule := r.rule(id)
	return graft.Finding{Severity: rule.Severity, Rule: id, Path: path, Says: strings.TrimSpace(found + " " + rule.Says)}
}

// Text returns the value with its unit.
func (rule Rule) Text() string {
	switch rule.Value.Kind {
	case NoValue:
		return ""
	case NumberValue:
		return rule.Value.String() + " " + rule.Unit
	}
	return rule.Value.String() + " (" + rule.Unit + ")"
}

// String tells what a clinic adopted, by whom, when and why.
func (a Adoption) String(unit string) string {
	return fmt.Sprintf("the clinic's own value, adopted by %s on %s: %s (default %s %s)", a.By, a.On, a.Why, a.Default, unit)
}

// statusOf returns the status of a source for a cite.
func statusOf(id graft.SourceID) (string, bool) {
	source, ok := evidence.Lookup(evidence.ID(id))
	return source.Status(), ok
}
