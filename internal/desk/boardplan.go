package desk

import (
	"slices"
	"sync"
	"sync/atomic"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// gist is what a board keeps of one plan. It never changes once made.
type gist struct {
	on    day.Day
	house *Desk
	head  int64 // the case's latest change that was planned
	share share
	seen  days  // of the book
	err   error // why there is no plan

	next    Next
	month   int    // the month of planning, counted from the year 0
	windows uint64 // the months from then on in which a step that is open has its window, as bits
}

// Next is the step of a case that comes next.
type Next struct {
	Title  string
	Day    day.Day
	Booked bool
}

// gistOf plans a case by a book and keeps what a board needs of it.
func (k *Keeper) gistOf(f facts, book *diary.Book, on day.Day) *gist {
	g := &gist{on: on, house: k.Desk, head: f.Kept.Head, seen: days{first: on}}
	live, err := k.liven(f, book.Watched(g.seen.note), on)
	if err != nil {
		g.share.whose = &Whose{Case: f.Kept.Case, Patient: f.Kept.Patient, Head: f.Kept.Head, Planned: on}
		g.err = err
		return g
	}
	g.share = k.shareOf(live, on.Add(k.Rules.Period("firm-slots")))
	g.month = monthOf(on)
	for _, m := range live.Timeline.Milestones {
		if m.Attended.IsZero() {
			g.look(m)
		}
	}
	g.seen.bits = slices.Clip(g.seen.bits)
	return g
}

// look keeps what is asked of an open step.
func (g *gist) look(m graft.Milestone) {
	if !m.Placed.IsZero() && (g.next.Day.IsZero() || m.Placed.Before(g.next.Day)) {
		g.next = Next{m.Title(), m.Placed, m.Booked}
	}
	if m.Window.Latest.IsZero() {
		return
	}
	for month := max(monthOf(m.Window.Earliest), g.month); month <= monthOf(m.Window.Latest); month++ {
		g.windows |= 1 << (month - g.month) // a month that lies too far ahead shifts out
	}
}

// inWindow reports whether a step that is open has its window in the month of a day.
func (g *gist) inWindow(on day.Day) bool {
	ahead := monthOf(on) - g.month
	return ahead >= 0 && g.windows>>ahead&1 == 1
}

const monthsOfYear = 12

func monthOf(d day.Day) int {
	year, month, _ := d.Date()
	return year*monthsOfYear + int(month) - 1
}

// gists plans cases, with so many at work at once, and gives way between two of them.
func (k *Keeper) gists(list []facts, book *diary.Book, on day.Day, workers int, giveWay func()) []*gist {
	made := make([]*gist, len(list))
	var next atomic.Int64
	var working sync.WaitGroup
	for range min(workers, len(list)) {
		working.Go(func() {
			for n := int(next.Add(1)) - 1; n < len(list); n = int(next.Add(1)) - 1 {
				made[n] = k.gistOf(list[n], book, on)
				giveWay()
			}
		})
	}
	working.Wait()
	return made
}

// days is a set of days from a first one on; earlier ones are never in it.
type days struct {
	first day.Day
	bits  []uint64
}

const bitsOfWord = 64

func (s *days) note(d day.Day) {
	n := d.Sub(s.first)
	if n < 0 {
		return
	}
	for len(s.bits) <= n/bitsOfWord {
		s.bits = append(s.bits, 0)
	}
	s.bits[n/bitsOfWord] |= 1 << (n % bitsOfWord)
}

// meets reports whether two sets that begin on the same day have a day in common.
func (s days) meets(other days) bool {
	for n := range min(len(s.bits), len(other.bits)) {
		if s.bits[n]&other.bits[n] != 0 {
			return true
		}
	}
	return false
}

// unlike is the set of the days of which two books say otherwise, from a day on.
func unlike(a, b *diary.Book, from day.Day) days {
	s := days{first: from}
	for _, d := range a.Unlike(b) {
		s.note(d)
	}
	return s
}
