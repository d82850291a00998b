package diary

import (
	"cmp"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Taken is a slot that somebody has: room and person, where it has them, cannot
// be had by others meanwhile.
type Taken struct {
	graft.Slot
	Case graft.CaseID // whose visit it is; empty: nobody's, such as a busy time
	Says string       // who has it, such as "HR-2044 Teni Okafor, uncovering"
}

// Book is all that is taken at the clinic. It never changes once built and serves
// any number of callers at once; the nil Book is empty.
type Book struct {
	first day.Day
	days  [][]entry // from first on
	names map[string]asset

	note func(day.Day) // told of every day that is looked up; nil: nobody asks
}

// asset is a room or a person of a book, by number; nobody is none of them.
type asset int32

const nobody asset = -1

// entry is one taken slot; room and person are apart, for they may share a name.
type entry struct {
	from, to     day.Clock
	room, person asset
	of           graft.CaseID
	says         string
}

// NewBook sorts what is taken by day and time.
func NewBook(taken []Taken) *Book {
	b := &Book{names: map[string]asset{}}
	if len(taken) == 0 {
		return b
	}
	b.first = taken[0].Day
	last := b.first
	for _, t := range taken {
		if t.Day.Before(b.first) {
			b.first = t.Day
		}
		last = day.Max(last, t.Day)
	}
	b.days = make([][]entry, last.Sub(b.first)+1)
	for _, t := range taken {
		n := t.Day.Sub(b.first)
		b.days[n] = append(b.days[n], entry{t.Start, t.End(), b.number(t.Room), b.number(t.Person), t.Case, t.Says})
	}
	for _, list := range b.days {
		slices.SortStableFunc(list, func(x, y entry) int { return cmp.Compare(x.from, y.from) })
	}
	return b
}

// number gives a name its asset.
func (b *Book) number(name string) asset {
	if name == "" {
		return nobody
	}
	n, known := b.names[name]
	if !known {
		n = asset(len(b.names))
		b.names[name] = n
	}
	return n
}

// on returns what is taken on a day, by time.
func (b *Book) on(d day.Day) []entry {
	if b == nil {
		return nil
	}
	if b.note != nil {
		b.note(d)
	}
	if n := d.Sub(b.first); n >= 0 && n < len(b.days) {
		return b.days[n]
	}
	return nil
}

// find returns the asset of a name; nobody if the book does not know it.
func (b *Book) find(name string) asset {
	if b != nil {
		if n, known := b.names[name]; known && name != "" {
			return n
		}
	}
	return nobody
}

// has reports whether the entry takes the room, or else the person.
func (e *entry) has(a asset, room bool) bool {
	if room {
		return e.room == a
	}
	return e.person == a
}
