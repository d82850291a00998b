package web

import (
	"slices"
	"strings"

	"graftclock/internal/evidence"
	"graftclock/internal/graft"
)

// reason is a reason as a page tells it. Above is one that stands further up with its
// sources: of it only the rule, the sum and the value are told again.
type reason struct {
	Says, Rule string
	Above      bool
	Inputs     []graft.Input
	Sum, Value string
	Adopted    string
	Cites      []graft.Cite
	Differ     string
	Because    []reason
}

// teller remembers which rules a page has told with their sources, and which sources
// it has named.
type teller struct {
	rules   map[graft.RuleID]bool
	sources map[graft.SourceID]bool
}

func newTeller() *teller {
	return &teller{map[graft.RuleID]bool{}, map[graft.SourceID]bool{}}
}

func (t *teller) tell(reasons []graft.Reason) []reason {
	list := make([]reason, len(reasons))
	for n, r := range reasons {
		list[n] = t.one(r)
	}
	return list
}

func (t *teller) one(r graft.Reason) reason {
	out := reason{Rule: string(r.Rule), Sum: spelled(r.Formula), Value: spelled(r.Result)}
	if out.Above = len(r.Cites) > 0 && t.rules[r.Rule]; !out.Above {
		out.Says, out.Adopted, out.Differ, out.Cites = spelled(r.Says), spelled(r.Adopted), r.Differ, r.Cites
		for _, i := range r.Inputs {
			out.Inputs = append(out.Inputs, graft.Input{Name: i.Name, Value: spelled(i.Value), Path: i.Path})
		}
		for _, c := range r.Cites {
			t.rules[r.Rule], t.sources[c.Source] = true, true
		}
	}
	out.Because = t.tell(r.Because)
	return out
}

// reference is one publication of a page's bibliography.
type reference struct{ ID, Says string }

// bibliography lists the publications behind what was told.
func (t *teller) bibliography() []reference {
	var list []reference
	for id := range t.sources {
		if source, ok := evidence.Lookup(evidence.ID(id)); ok {
			list = append(list, reference{string(id), source.Reference()})
		}
	}
	slices.SortFunc(list, func(a, b reference) int { return strings.Compare(a.ID, b.ID) })
	return list
}
