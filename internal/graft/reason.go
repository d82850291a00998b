package graft

// Reason is why a date is what it is: the rule, its inputs, the sum with the
// numbers in, and the reasons of those inputs in turn.
type Reason struct {
	Rule    RuleID
	Says    string   // one sentence
	Inputs  []Input  // the facts used
	Formula string   // with the numbers in; empty when there is no sum
	Result  string   // what came out, with its unit
	Cites   []Cite   // the rule's sources
	Differ  string   // where sources disagree; empty: no conflict known
	Adopted string   // the clinic's own value: what, who, when, why; empty for the default
	Because []Reason // the reasons below this one
}

// Input is one fact that a reason used.
type Input struct {
	Name  string
	Value string // with its unit
	Path  string // in the record; empty for a value of the rules
}

// SourceID names a publication of the bibliography.
type SourceID string

// Cite is a rule's pointer to a source and what the source says there.
type Cite struct {
	Source SourceID
	At     string // place in the source; empty: the whole
	Says   string // a paraphrase of one line
	Status string // read, read in a secondary page, from memory, no source
}
