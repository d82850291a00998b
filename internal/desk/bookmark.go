package desk

import (
	"graftclock/internal/day"
	"graftclock/internal/diary"
)

// bookmark is the clinic's book as it stood at one entry of the history. Whatever
// changes the book comes with an entry, so it is right for as long as that entry is the
// latest.
type bookmark struct {
	head int64
	from day.Day
	book *diary.Book
}

// booked is what rooms and people have on, from a day on: as it was last read, if
// nothing has happened since. Many pages want it between two acts.
func (k *Keeper) booked(l Ledger, from day.Day) (*diary.Book, error) {
	head, err := l.Head()
	if err != nil {
		return nil, err
	}
	if mark := k.mark.Load(); mark != nil && mark.head == head && mark.from == from {
		return mark.book, nil
	}
	book, err := k.taken(l, from)
	if _, acting := l.(Writing); err == nil && !acting { // an act may yet be taken back, and its numbers given again
		k.mark.Store(&bookmark{head, from, book})
	}
	return book, err
}
