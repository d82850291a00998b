package desk

import (
	"cmp"
	"slices"
	"strings"

	"graftclock/internal/day"
)

// Morning is what the desk has to do on one day. Its lists are shared by all who ask
// and must not be changed.
type Morning struct {
	On     day.Day
	Visits []Line  // of the day, by time; also those that cannot stay, for the patient may come
	Calls  []Line  // after surgery, then what is overdue by harm, then what is unconfirmed by day
	Firm   []Line  // windows to be firmed up: what is to be booked or done soon, by day
	Drafts []Draft // plans that wait for a surgeon, by case
	Hits   []Hit   // booked visits that a closure or an absence hits, by case

	Cases  int // how many cases there are
	Behind int // of which so many wait to be planned anew: their rows are stale, or missing
}

// Line is a row in its place in a list.
type Line struct {
	*Row
	Stale bool // what the row rests on may have changed since; it waits to be made anew

	order uint64 // in which the list goes, before the case
}

// calls are those of one list.
func (m Morning) calls(of List) []Line {
	return slices.DeleteFunc(slices.Clone(m.Calls), func(l Line) bool { return l.List != of })
}

// gathering puts the shares of cases together, which come by case number.
type gathering struct {
	Morning
	after, late, open []Line
}

// add takes a share; a stale one says so in its lines.
func (g *gathering) add(s *share, stale bool) {
	for _, r := range s.rows {
		switch r.List {
		case Visits:
			if r.Slot.Day == g.On {
				g.Visits = append(g.Visits, Line{r, stale, sortedBy(0, day.Day{}, r.Slot.Day, r.Slot.Start)})
			}
		case AfterSurgery:
			g.after = append(g.after, Line{r, stale, 0})
		case Overdue:
			g.late = append(g.late, Line{r, stale, sortedBy(r.Rank, r.Window.Latest, r.Placed, r.start)})
		case Unconfirmed:
			g.open = append(g.open, Line{r, stale, sortedBy(0, day.Day{}, r.Slot.Day, r.Slot.Start)})
		case Due:
			g.Firm = append(g.Firm, Line{r, stale, sortedBy(0, day.Day{}, r.Placed, r.start)})
		}
	}
	if s.draft != nil {
		d := *s.draft
		d.Stale = stale
		g.Drafts = append(g.Drafts, d)
	}
	for _, h := range s.hits {
		h.Stale = stale
		g.Hits = append(g.Hits, h)
	}
}

// Widths of what a line is sorted by, in bits: a day counted from the first that can be
// read, and a time of day in minutes.
const (
	bitsOfDay   = 17
	bitsOfClock = 11
)

// sortedBy packs what a list is sorted by into one number: harm, then the day on which
// the window ended, then the day and the time of the plan.
func sortedBy(rank int, ended, placed day.Day, start day.Clock) uint64 {
	ordinal := func(d day.Day) uint64 { return uint64(max(d.Sub(day.First)+1, 0)) }
	return ((uint64(rank)<<bitsOfDay|ordinal(ended))<<bitsOfDay|ordinal(placed))<<bitsOfClock | uint64(start)
}

// sortLines sorts lines; those of one case that have the same order stay as they are.
func sortLines(lines []Line) {
	slices.SortStableFunc(lines, func(a, b Line) int {
		if c := cmp.Compare(a.order, b.order); c != 0 {
			return c
		}
		return strings.Compare(string(a.Case), string(b.Case))
	})
}

// sorted brings the lists into their order.
func (g *gathering) sorted() Morning {
	for _, lines := range [][]Line{g.Visits, g.late, g.open, g.Firm} {
		sortLines(lines)
	}
	g.Calls = slices.Concat(g.after, g.late, g.open)
	return g.Morning
}
