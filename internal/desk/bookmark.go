package desk

import (
	"graftclock/internal/day"
	"graftclock/internal/diary"
)

// bookmark is the clinic's book as it stood at one entry of the history. Whatever
// changes the book comes with an entry, so it is right for as long as that entry is the
// latest, and later ones tell which cases to look at.
type bookmark struct {
	head  int64
	from  day.Day
	slots []takenSlot
	book  *diary.Book
}

// booked is what rooms and people have on, from a day on. Many pages want it between
// two acts, so it is kept as it was last read, and of what has happened since only the
// cases are read that have changed.
func (k *Keeper) booked(l Ledger, from day.Day) (*diary.Book, error) {
	head, err := l.Head()
	if err != nil {
		return nil, err
	}
	if mark := k.mark.Load(); mark.at(head, from) {
		return mark.book, nil
	}
	if _, acting := l.(Writing); acting { // an act may yet be taken back, and its numbers given again
		mark, err := k.markAt(l, head, from)
		return mark.book, err
	}
	k.marking.Lock() // of many who ask at once, one reads
	defer k.marking.Unlock()
	if mark := k.mark.Load(); mark.at(head, from) {
		return mark.book, nil
	}
	mark, err := k.markAt(l, head, from)
	if err == nil {
		k.mark.Store(mark)
	}
	return mark.book, err
}

func (m *bookmark) at(head int64, from day.Day) bool {
	return m != nil && m.head == head && m.from == from
}

// markAt reads the book as it stands at an entry; the bookmark has none with an error.
func (k *Keeper) markAt(l Ledger, head int64, from day.Day) (*bookmark, error) {
	next := &bookmark{head: head, from: from}
	slots, err := k.slotsSince(l, k.mark.Load(), next)
	if err != nil {
		return next, err
	}
	next.slots = slots
	next.book, err = k.bookOf(slots, from)
	return next, err
}

// slotsSince brings the slots of a bookmark up to the next one; without one to begin
// with, or after too much has happened, all are read.
func (k *Keeper) slotsSince(l Ledger, mark, next *bookmark) ([]takenSlot, error) {
	if mark == nil || mark.from != next.from || mark.head > next.head {
		return k.slotsTaken(l, next.from)
	}
	entries, err := l.EntriesAfter(mark.head)
	if err != nil {
		return nil, err
	}
	changed := changedBy(entries)
	if len(changed) > mostAtOnce {
		return k.slotsTaken(l, next.from)
	}
	some := make([]facts, len(changed))
	for n, id := range changed {
		some[n].Kept.Case = id
		if some[n].Visits, err = l.Visits(id); err != nil {
			return nil, err
		}
	}
	return withSlotsOf(mark.slots, some, next.from), nil
}
