package desk

import (
	"errors"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/names"
)

// Board remembers what each case adds to the lists of the desk, for planning all cases
// anew at every look takes too long. It keeps their rows and no plan. A row is right as
// long as nothing has changed of what it was made from: the case (its latest change),
// the day, the clinic file and the rules (the keeper's desk), and what the clinic's book
// says of the days on which the plan looked for a time. Catch takes in what has
// changed; what is stale by it stays to be seen, marked, until Deepen has made it anew.
// A Board serves any number of callers at once, and nobody who reads waits for a plan.
type Board struct {
	// GiveWay is called between two plans of Deepen, so that whoever waits for a page
	// waits for one plan at most; nil: others come first only as far as Go lets them. It
	// is set before the board is used.
	GiveWay func()

	keeper atomic.Pointer[Keeper]
	now    atomic.Pointer[panel]

	catching  sync.Mutex // held by the one Catch that is at work
	deepening sync.Mutex // held by the one Deepen that is at work
	pinning   sync.Mutex // held for as long as it takes to put a new panel in place of the old
}

// panel is the board at one moment. It never changes.
type panel struct {
	on    day.Day
	house *Desk       // nil: nothing was caught yet
	head  int64       // latest entry of the history that was looked at
	slots []takenSlot // that the book is made of, beside the busy times
	book  *diary.Book
	pins  []pin // by case number

	made atomic.Pointer[put] // what was put together of it last
}

// put is a Morning with the cases that could not be planned.
type put struct {
	Morning
	err error
}

// pin is what the board knows of one case.
type pin struct {
	*card
	stale bool // not made from what is now so, or not made at all
}

// card is one case. It never changes.
type card struct {
	kept ledger.Kept
	key  names.Key
	soon bool  // something is booked for the coming days; known of a case that is not planned yet
	plan *gist // nil: it is not planned yet
}

// NewBoard returns the empty board of a desk; Catch and Deepen fill it.
func NewBoard(k *Keeper) *Board {
	b := &Board{}
	b.keeper.Store(k)
	b.now.Store(&panel{})
	return b
}

func (b *Board) giveWay() {
	if b.GiveWay != nil {
		b.GiveWay()
		return
	}
	runtime.Gosched()
}

// Enter takes another keeper of the same ledger, such as one by a changed clinic file.
// The rows made before stay to be seen, stale, until they are made anew.
func (b *Board) Enter(k *Keeper) { b.keeper.Store(k) }

// Ready returns how many cases stand on the board as they are, and how many there are.
func (b *Board) Ready() (done, all int) {
	p := b.now.Load()
	return len(p.pins) - p.waiting(), len(p.pins)
}

// waiting counts what is stale.
func (p *panel) waiting() int {
	n := 0
	for _, pin := range p.pins {
		if pin.stale {
			n++
		}
	}
	return n
}

// Morning puts together what the desk has to do on a day, from what was caught. The
// error names the cases that could not be planned; the lists are whole without them.
func (b *Board) Morning(on day.Day) (Morning, error) {
	p := b.now.Load()
	if made := p.made.Load(); made != nil && made.On == on {
		return made.Morning, made.err
	}
	g := gathering{Morning: Morning{On: on, Cases: len(p.pins), Behind: p.waiting()}}
	var errs []error
	for _, pin := range p.pins {
		if pin.plan != nil {
			g.add(&pin.plan.share, pin.stale)
			errs = append(errs, pin.plan.err)
		}
	}
	made := &put{g.sorted(), errors.Join(errs...)}
	p.made.Store(made)
	return made.Morning, made.err
}

// find returns the place of a case among the pins, and whether it is there.
func (p *panel) find(id graft.CaseID) (int, bool) {
	return slices.BinarySearchFunc(p.pins, id, func(of pin, id graft.CaseID) int { return strings.Compare(string(of.kept.Case), string(id)) })
}

// copied is a panel to be changed before anybody sees it.
func (p *panel) copied() *panel {
	return &panel{on: p.on, house: p.house, head: p.head, slots: p.slots, book: p.book, pins: slices.Clone(p.pins)}
}

// put pins a plan of a case, in place of an older one. Of a case that is not there yet
// it makes a card.
func (p *panel) put(g *gist, kept ledger.Kept, stale bool) {
	n, there := p.find(kept.Case)
	if !there {
		p.pins = slices.Insert(p.pins, n, pin{})
	}
	p.pins[n] = pin{p.pins[n].card.with(kept, g), stale}
}

// with is the card of a case as it is now kept.
func (c *card) with(kept ledger.Kept, g *gist) *card {
	if c != nil && c.kept.Patient == kept.Patient {
		return &card{kept: kept, key: c.key, plan: g}
	}
	return &card{kept: kept, key: names.KeyOf(kept.Patient, string(kept.Case)), plan: g}
}
