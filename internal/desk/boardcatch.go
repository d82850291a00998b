package desk

import (
	"runtime"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// mostAtOnce is how many changed cases Catch plans at once; when more have changed, as
// after many records were taken in, they are stale until Deepen comes to them.
const mostAtOnce = 20

// haul is what a board has not seen yet.
type haul struct {
	head  int64
	anew  bool          // nothing that was kept counts any more
	all   []ledger.Kept // every case, when many may have changed
	some  []facts       // the cases that have changed, when they are few
	slots []takenSlot   // as they are now
	book  *diary.Book   // the same
	soon  map[graft.CaseID]bool
}

// Catch brings the board up to date with the ledger: the rows of the cases that have
// changed since are made anew before it returns, and what else is stale by that, by a
// new day or by another desk, is marked. It costs one question while nothing has
// changed. On is the day of planning.
func (b *Board) Catch(on day.Day) error {
	k, p := b.keeper.Load(), b.now.Load()
	head, err := k.head()
	if err != nil || p.caught(k, on, head) {
		return err
	}
	b.catching.Lock()
	defer b.catching.Unlock()
	if now := b.now.Load(); now != p && now.head >= head && now.caught(k, on, now.head) {
		return nil // somebody else has been faster
	}
	return b.catch(k, on)
}

// head is the latest entry of the history.
func (k *Keeper) head() (head int64, err error) {
	err = k.store.View(func(l Ledger) (err error) {
		head, err = l.Head()
		return err
	})
	return head, err
}

// caught reports whether the panel is of the day, by the keeper's desk, and as of an
// entry.
func (p *panel) caught(k *Keeper, on day.Day, head int64) bool {
	return p.on == on && p.house == k.Desk && p.head == head
}

// catch takes in what has happened.
func (b *Board) catch(k *Keeper, on day.Day) error {
	var h haul
	p := b.now.Load()
	if err := k.store.View(func(l Ledger) (err error) {
		h, err = k.haul(l, p, on)
		return err
	}); err != nil {
		return err
	}
	made := k.gists(h.some, h.book, on, len(h.some), runtime.Gosched)
	b.pinning.Lock()
	defer b.pinning.Unlock()
	next := b.now.Load().after(h, k.Desk, on)
	for n, g := range made {
		next.put(g, h.some[n].Kept, false)
	}
	b.now.Store(next)
	return nil
}

// haul reads what has happened since a panel was made.
func (k *Keeper) haul(l Ledger, p *panel, on day.Day) (h haul, err error) {
	if h.head, err = l.Head(); err != nil {
		return h, err
	}
	h.slots, h.book, h.anew = p.slots, p.book, p.house == nil || h.head < p.head // an older copy was put back
	var changed []graft.CaseID
	if !h.anew {
		entries, err := l.EntriesAfter(p.head)
		if err != nil {
			return h, err
		}
		changed = changedBy(entries)
	}
	switch {
	case h.anew || len(changed) > mostAtOnce:
		h.all, err = l.Cases()
	default:
		h.some, err = factsOfEach(l, changed)
	}
	if err != nil {
		return h, err
	}
	if h.anew {
		if h.soon, err = k.bookedSoon(l, on); err != nil {
			return h, err
		}
	}
	if h.anew || len(changed) > 0 || p.on != on || p.house != k.Desk {
		err = k.bookNow(l, &h, on, h.all == nil && p.on == on && p.house == k.Desk)
	}
	return h, err
}

// bookNow works out what is taken now: from what was known and the changed cases, where
// those are known and nothing else has changed.
func (k *Keeper) bookNow(l Ledger, h *haul, on day.Day, known bool) (err error) {
	if known {
		h.slots = withSlotsOf(h.slots, h.some, on)
	} else if h.slots, err = k.slotsTaken(l, on); err != nil {
		return err
	}
	h.book, err = k.bookOf(h.slots, on)
	return err
}

// withSlotsOf replaces what some cases take from a day on. They stay in their order, so
// that a book of them is the same as before where nothing has changed.
func withSlotsOf(slots []takenSlot, changed []facts, from day.Day) []takenSlot {
	isChanged := map[graft.CaseID]bool{}
	for _, f := range changed {
		isChanged[f.Kept.Case] = true
	}
	now := slices.DeleteFunc(slices.Clone(slots), func(s takenSlot) bool { return isChanged[s.of] })
	for _, f := range changed {
		for _, v := range f.Visits {
			if (v.State == ledger.Booked || v.State == ledger.Attended) && v.Minutes > 0 && !v.Day.Before(from) {
				now = append(now, takenBy(v))
			}
		}
	}
	slices.SortFunc(now, takenSlot.inOrder)
	return now
}

// changedBy lists the cases that entries have changed, each once.
func changedBy(entries []ledger.Entry) []graft.CaseID {
	var changed []graft.CaseID
	for _, e := range entries {
		if e.Case != "" && e.Changes() {
			changed = append(changed, e.Case)
		}
	}
	slices.Sort(changed)
	return slices.Compact(changed)
}

// bookedSoon tells which cases have something booked in the coming days.
func (k *Keeper) bookedSoon(l Ledger, on day.Day) (map[graft.CaseID]bool, error) {
	visits, err := l.TakenOn(day.Span{From: on, To: on.Add(k.Rules.Period("unconfirmed-within"))})
	soon := map[graft.CaseID]bool{}
	for _, v := range visits {
		soon[v.Case] = true
	}
	return soon, err
}

// after is the panel with a haul in it, but for the plans that are still to be put.
func (p *panel) after(h haul, house *Desk, on day.Day) *panel {
	if p.on == on && p.house == house && p.book == h.book {
		next := &panel{on: on, house: house, head: h.head, book: p.book, pins: p.pins, slots: p.slots} // nothing has changed
		next.made.Store(p.made.Load())
		return next
	}
	next := p.copied()
	if h.anew {
		next.pins = nil
	}
	next.stale(on, house, h.book)
	next.on, next.house, next.head, next.slots, next.book = on, house, h.head, h.slots, h.book
	if h.all != nil {
		next.register(h)
	}
	return next
}

// stale marks what does not hold any more: all of it under another day or another
// desk, else what looked at days of which the book now says otherwise.
func (p *panel) stale(on day.Day, house *Desk, book *diary.Book) {
	other := p.on != on || p.house != house
	var changed days
	if !other && p.book != book {
		changed = unlike(p.book, book, on)
	}
	for n, pin := range p.pins {
		if other || pin.plan != nil && pin.plan.seen.meets(changed) {
			p.pins[n].stale = true
		}
	}
}

// register takes every case as it is now kept. What a case had before stays, stale if
// it has changed.
func (p *panel) register(h haul) {
	pins := make([]pin, 0, len(h.all))
	for _, kept := range h.all {
		at, there := p.find(kept.Case)
		switch {
		case !there:
			c := (*card)(nil).with(kept, nil)
			c.soon = h.soon[kept.Case]
			pins = append(pins, pin{c, true})
		case p.pins[at].kept == kept:
			pins = append(pins, p.pins[at])
		default:
			pins = append(pins, pin{p.pins[at].with(kept, p.pins[at].plan), true})
		}
	}
	p.pins = pins
}
