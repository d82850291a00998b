package desk

import (
	"runtime"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// mostInHand is how many cases are read from the ledger before they are planned: all of
// them at once would take much room.
const mostInHand = 64

// Deepen plans stale cases anew, so many at most, and returns how many are still stale.
// What matters on the day comes first. It takes all cores while a case has no rows at
// all, and leaves one to others after that.
func (b *Board) Deepen(on day.Day, budget int) (left int, err error) {
	b.deepening.Lock()
	defer b.deepening.Unlock()
	for {
		if err := b.Catch(on); err != nil {
			return b.now.Load().waiting(), err
		}
		p, k := b.now.Load(), b.keeper.Load()
		next := p.first(min(budget, mostInHand))
		if len(next) == 0 {
			return p.waiting(), nil
		}
		budget -= len(next)
		if err := b.deepen(k, p, next); err != nil {
			return p.waiting(), err
		}
	}
}

// deepen plans cases as a panel stands and pins what still holds.
func (b *Board) deepen(k *Keeper, p *panel, cases []graft.CaseID) error {
	if k.Desk != p.house {
		return nil // somebody has entered another desk since; it is caught next
	}
	var list []facts
	if err := k.store.View(func(l Ledger) (err error) {
		list, err = factsOfEach(l, cases)
		return err
	}); err != nil {
		return err
	}
	made := k.gists(list, p.book, p.on, p.workers(), b.giveWay)
	b.pinning.Lock()
	defer b.pinning.Unlock()
	next := b.now.Load().copied()
	var changed days
	if next.book != p.book && next.on == p.on {
		changed = unlike(p.book, next.book, p.on)
	}
	for n, g := range made {
		at, there := next.find(list[n].Kept.Case)
		if !there || next.pins[at].kept.Head > g.head || next.pins[at].plan != nil && !g.madeFor(next) {
			continue // what is known of it is newer
		}
		next.put(g, list[n].Kept, !g.madeFor(next) || g.seen.meets(changed))
	}
	b.now.Store(next)
	return nil
}

// madeFor reports whether a plan is of the day and by the desk of a panel.
func (g *gist) madeFor(p *panel) bool { return g.on == p.on && g.house == p.house }

// workers is how many plan at once.
func (p *panel) workers() int {
	cores := runtime.GOMAXPROCS(0)
	for _, pin := range p.pins {
		if pin.plan == nil {
			return cores
		}
	}
	return max(cores-1, 1)
}

// The order in which stale cases are planned.
const (
	today   = iota // somebody comes today, or an outcome is not recorded
	calls          // somebody is to be called
	soon           // something is to be booked, approved or moved
	someday        // all else
	urgencies
)

// first returns some of the stale cases, those first that matter most on the day.
func (p *panel) first(most int) []graft.CaseID {
	var byUrgency [urgencies][]graft.CaseID
	for _, pin := range p.pins {
		if !pin.stale {
			continue
		}
		if u := pin.urgency(p.on); len(byUrgency[u]) < most {
			byUrgency[u] = append(byUrgency[u], pin.kept.Case)
		}
	}
	var list []graft.CaseID
	for _, cases := range byUrgency {
		list = append(list, cases[:min(len(cases), most-len(list))]...)
	}
	return list
}

// urgency tells from what was last known of a case how soon it is wanted.
func (c *card) urgency(on day.Day) int {
	if c.plan == nil {
		if c.soon {
			return today
		}
		return someday
	}
	s := &c.plan.share
	switch {
	case slices.ContainsFunc(s.rows, func(r *Row) bool { return r.List == Visits && !r.Slot.Day.After(on) }):
		return today
	case s.has(AfterSurgery, Overdue, Unconfirmed):
		return calls
	case s.has(Due) || len(s.hits) > 0 || s.draft != nil:
		return soon
	}
	return someday
}
