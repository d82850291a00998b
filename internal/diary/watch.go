package diary

import (
	"slices"

	"graftclock/internal/day"
)

// Watched returns the same book, which tells of every day that is looked up in it: a
// plan made with it stays what it is while the book says the same of those days.
func (b *Book) Watched(note func(day.Day)) *Book {
	watched := *b
	watched.note = note
	return &watched
}

// Unlike lists the days of which another book says anything else, in order.
func (b *Book) Unlike(other *Book) []day.Day {
	var days []day.Day
	first, last := b.span()
	from, to := other.span()
	names, others := b.byNumber(), other.byNumber()
	for d := earlier(first, from); !d.After(day.Max(last, to)); d = d.AddDays(1) {
		same := slices.EqualFunc(b.on(d), other.on(d), func(x, y entry) bool {
			return x.from == y.from && x.to == y.to && x.of == y.of && x.says == y.says &&
				named(names, x.room) == named(others, y.room) && named(names, x.person) == named(others, y.person)
		})
		if !same {
			days = append(days, d)
		}
	}
	return days
}

// span returns the first and the last day of a book; of an empty one the last comes
// before every day.
func (b *Book) span() (first, last day.Day) {
	if len(b.days) == 0 {
		return day.Last, day.Day{}
	}
	return b.first, b.first.AddDays(len(b.days) - 1)
}

func earlier(a, b day.Day) day.Day {
	if b.Before(a) {
		return b
	}
	return a
}

// byNumber lists the names of a book by their assets.
func (b *Book) byNumber() []string {
	list := make([]string, len(b.names))
	for name, n := range b.names {
		list[n] = name
	}
	return list
}

func named(names []string, a asset) string {
	if a == nobody {
		return ""
	}
	return names[a]
}
