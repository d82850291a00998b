package diary

import (
	"math/bits"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

const minutesOfDay = 24 * 60

// starts are the times at which a visit may start on one day, as bits: bit n is n
// grid steps after midnight.
type starts struct {
	grid, minutes int
	bits          []uint64
}

// gridOf returns the grid of an opening, at least a minute.
func gridOf(o graft.Opening) int { return max(o.Grid, 1) }

// words is how many words hold the starts of a day.
func words(grid int) int { return minutesOfDay/grid/64 + 1 }

// set marks the bits from one to another, both included.
func set(b []uint64, from, to int) {
	from, to = max(from, 0), min(to, len(b)*64-1)
	for n := from; n <= to; {
		if n%64 == 0 && n+63 <= to {
			b[n/64] = ^uint64(0)
			n += 64
			continue
		}
		b[n/64] |= 1 << (n % 64)
		n++
	}
}

// none reports whether there is no start.
func (s starts) none() bool {
	for _, w := range s.bits {
		if w != 0 {
			return false
		}
	}
	return true
}

// from returns the first start that is not before a time.
func (s starts) from(t day.Clock) (day.Clock, bool) {
	n := (max(int(t), 0) + s.grid - 1) / s.grid
	for i := n / 64; i < len(s.bits); i++ {
		w := s.bits[i]
		if i == n/64 {
			w &= ^uint64(0) << (n % 64)
		}
		if w != 0 {
			return day.Clock((i*64 + bits.TrailingZeros64(w)) * s.grid), true
		}
	}
	return 0, false
}

// all lists the starts.
func (s starts) all() []day.Clock {
	count := 0
	for _, w := range s.bits {
		count += bits.OnesCount64(w)
	}
	list := make([]day.Clock, 0, count)
	for t, ok := s.from(0); ok; t, ok = s.from(t + 1) {
		list = append(list, t)
	}
	return list
}

// within marks the starts from which a visit lies inside one stretch of the hours.
func within(o graft.Opening, b []uint64) {
	grid := gridOf(o)
	for _, h := range o.Hours {
		last := int(h.To) - o.Minutes
		if last >= int(h.From) {
			set(b, (int(h.From)+grid-1)/grid, last/grid)
		}
	}
}

// against clears the starts at which an asset is taken by another case.
func against(list []entry, a asset, room bool, own graft.CaseID, o graft.Opening, b []uint64) {
	grid := gridOf(o)
	for i := range list {
		e := &list[i]
		if !e.has(a, room) || own != "" && e.of == own {
			continue
		}
		from, to := max(floorDiv(int(e.from)-o.Minutes, grid)+1, 0), (int(e.to)+grid-1)/grid-1
		for n := from; n <= min(to, len(b)*64-1); n++ {
			b[n/64] &^= 1 << (n % 64)
		}
	}
}

func floorDiv(a, b int) int {
	if a < 0 {
		return -((-a + b - 1) / b)
	}
	return a / b
}

// frees works out free starts and keeps the scratch that it needs for that.
type frees struct {
	book    *Book
	own     graft.CaseID
	one, or []uint64
	lists   []numbered
}

// numbered is a list of names and their assets in the book. Openings share their
// lists, so that each is looked up once.
type numbered struct {
	first  *string
	length int
	assets []asset
}

// mostLists bounds the lists kept, for a clinic may make them anew for each day.
const mostLists = 16

func (f *frees) assets(names []string) []asset {
	for _, n := range f.lists {
		if n.first == &names[0] && n.length == len(names) {
			return n.assets
		}
	}
	n := numbered{&names[0], len(names), make([]asset, len(names))}
	for i, name := range names {
		n.assets[i] = f.book.find(name)
	}
	if len(f.lists) == mostLists {
		f.lists = f.lists[:0]
	}
	f.lists = append(f.lists, n)
	return n.assets
}

// mark sets in b, which is clear, the starts at which a visit finds hours, a room
// and a person.
func (f *frees) mark(d day.Day, o graft.Opening, b []uint64) {
	within(o, b)
	list := f.book.on(d)
	if o.NeedsRoom {
		f.narrow(list, o.Rooms, true, o, b)
	}
	if o.NeedsPerson {
		f.narrow(list, o.People, false, o, b)
	}
}

// narrow keeps the starts at which one of the assets at least is free.
func (f *frees) narrow(list []entry, names []string, room bool, o graft.Opening, b []uint64) {
	if len(names) == 0 {
		clear(b)
		return
	}
	if len(list) == 0 {
		return
	}
	f.one, f.or = scratch(f.one, len(b)), scratch(f.or, len(b))
	clear(f.or)
	for _, a := range f.assets(names) {
		if !f.takes(list, a, room) {
			return
		}
		copy(f.one, b)
		against(list, a, room, f.own, o, f.one)
		for i, w := range f.one {
			f.or[i] |= w
		}
	}
	copy(b, f.or)
}

// takes reports whether another case takes the asset at all that day.
func (f *frees) takes(list []entry, a asset, room bool) bool {
	if a == nobody {
		return false
	}
	for i := range list {
		if list[i].has(a, room) && (f.own == "" || list[i].of != f.own) {
			return true
		}
	}
	return false
}

func scratch(b []uint64, n int) []uint64 {
	if cap(b) < n {
		return make([]uint64, n)
	}
	return b[:n]
}

// pick returns the first of the names that is free for the slot.
func (f *frees) pick(names []string, room bool, s graft.Slot) string {
	for _, name := range names {
		if f.holder(f.book.find(name), room, s) == nil {
			return name
		}
	}
	return ""
}

// holder returns the entry of another case that takes the asset during the slot;
// nil if it is free.
func (f *frees) holder(a asset, room bool, s graft.Slot) *entry {
	list := f.book.on(s.Day) // looked up for nobody too: another book may know the name
	for i := range list {
		e := &list[i]
		if a != nobody && e.has(a, room) && (f.own == "" || e.of != f.own) && s.Start < e.to && e.from < s.End() {
			return e
		}
	}
	return nil
}
