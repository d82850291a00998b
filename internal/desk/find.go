package desk

import (
	"cmp"
	"slices"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/names"
)

// Filter narrows what is found. All that is set must hold; a case that is not planned
// yet passes none but the empty one.
type Filter struct {
	Waiting  bool   // for a surgeon's approval
	Overdue  bool   // a step is overdue, was missed, or its outcome is not recorded
	InWindow bool   // a step that is open has its window in this month
	Surgeon  string // who operated; empty: whoever
}

// Found is a case in a list of cases.
type Found struct {
	Whose    // of a case that is not planned yet: number, name and head alone
	Stale    bool
	Waiting  bool
	Overdue  bool
	InWindow bool
	Next     Next // zero: nothing is open, or the case is not planned yet

	cost   int
	folded string
}

// Find lists the cases whose patient or number fits what was typed, best first, those
// that fit equally well by name. Nothing typed lists every case, by number.
func (b *Board) Find(typed string, f Filter) []Found {
	p := b.now.Load()
	q := names.NewQuery(typed)
	every := strings.TrimSpace(typed) == ""
	var list []Found
	for _, pin := range p.pins {
		if !f.passes(pin.plan, p.on) {
			continue
		}
		cost, fits := q.Fit(pin.key)
		if every || fits {
			found := pin.found(p.on)
			found.cost, found.folded = cost, pin.key.Folded()
			list = append(list, found)
		}
	}
	if !every {
		slices.SortStableFunc(list, func(a, b Found) int { return cmp.Or(cmp.Compare(a.cost, b.cost), strings.Compare(a.folded, b.folded)) })
	}
	return list
}

// Surgeons lists who operated, each once, in order.
func (b *Board) Surgeons() []string {
	var list []string
	seen := map[string]bool{"": true}
	for _, pin := range b.now.Load().pins {
		if pin.plan != nil && !seen[pin.plan.share.whose.Surgeon] {
			seen[pin.plan.share.whose.Surgeon] = true
			list = append(list, pin.plan.share.whose.Surgeon)
		}
	}
	slices.Sort(list)
	return list
}

func (f Filter) passes(g *gist, on day.Day) bool {
	if g == nil {
		return f == Filter{}
	}
	return (!f.Waiting || g.share.draft != nil) && (!f.Overdue || g.share.has(Overdue)) && (!f.InWindow || g.inWindow(on)) && (f.Surgeon == "" || f.Surgeon == g.share.whose.Surgeon)
}

// found tells of a case what a list of cases shows.
func (p pin) found(on day.Day) Found {
	g := p.plan
	if g == nil {
		return Found{Whose: Whose{Case: p.kept.Case, Patient: p.kept.Patient, Head: p.kept.Head}, Stale: true}
	}
	f := Found{Whose: *g.share.whose, Stale: p.stale, Next: g.next, Waiting: g.share.draft != nil, Overdue: g.share.has(Overdue), InWindow: g.inWindow(on)}
	f.Patient, f.Head = p.kept.Patient, p.kept.Head
	return f
}
