package diary

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Days are counted from one day of the request here, as plain numbers.

// noDay stands for a milestone without a day.
const noDay = -1 << 30

// points are the four points of a window in days.
type points struct{ notBefore, earliest, target, latest int }

// frame is a milestone's window in days, with its hard floor.
type frame struct {
	points
	floor int
}

// anchored is a wait as the search sees it.
type anchored struct {
	graft.Wait
	from  int // index of the milestone it counts from; -1: from a day that is given
	given points
	known []points // by the day counted from; lazily
	has   []bool
}

// node is one milestone as the search sees it.
type node struct {
	*graft.Milestone
	state state
	day   int // where it stands, if that is given

	waits    []anchored
	kind     int // index of what it needs
	visit    bool
	override *graft.Override

	booked  *Booked
	bookday int
	holds   bool // the clinic and the patient can keep the booked slot
	why     string

	lo, hi   int  // no day outside them can be its own
	loose    bool // its days follow no anchor closely: overdue, overridden or booked
	children []int
	parent   int // the one open milestone it counts from; -1: none, or several
	anchors  int // open milestones it counts from
	order    int // place in the search
	last     int // place of the last open milestone it counts from; -1: none
}

// state says whose the milestone's day is.
type state byte

const (
	open     state = iota // to be given a day
	given                 // attended, or booked on a day that is past
	dangling              // waits for something that never gets a day
)

// kind is what a milestone needs of a day; milestones that need the same share
// what is known of the days.
type kind struct {
	visit, role string
	surgical    bool
	fits        []byte // by day: 0 unknown, then bits of fitness
}

// model is a request made ready for the search.
type model struct {
	Request
	clinic     Clinic
	base       day.Day
	on, lateTo int // the day of planning; how far overdue ones may go, or -1
	wait       int // days of waiting that weigh as much as a trip; 0: none
	nodes      []node
	byID       map[graft.MilestoneID]int
	order      []int // open milestones in the order of the search
	kinds      []kind
	frees      frees
	minDay     int
	maxDay     int
	cur        []int // the day of each milestone
	stay       []bool
	away       []span
	known      map[kindDay]*starts
	scratch    []uint64
	held       []fixed // by milestone
	mayLack    bool    // milestones may be left without a day
	shared     *model  // of the same request, which knows the days already; nil: none
	keepAll    bool    // every wait counts, even one that never binds
}

// fixed is a milestone that the search may not place: it has its day, or none.
type fixed struct {
	on, stay bool
	day      int
	within   bool // on a day of its window only
}

type span struct{ from, to int }

// newModel reads a request.
func newModel(r Request, c Clinic, mayLack bool) *model {
	m := bareModel(r, c)
	m.mayLack = mayLack
	m.link()
	m.hold()
	return m
}

// bareModel reads a request as far as it goes without an order.
func bareModel(r Request, c Clinic) *model {
	m := &model{Request: r, clinic: c, base: r.On, held: make([]fixed, len(r.Milestones))}
	m.frees = frees{book: r.Book, own: r.Case}
	m.lateTo = -1
	if r.Overdue != (day.Period{}) {
		m.lateTo = m.in(r.On.Add(r.Overdue))
		m.wait = r.On.Add(r.OverdueWait).Sub(r.On)
	}
	for _, u := range r.Unavailable {
		m.away = append(m.away, span{m.in(u.From), m.in(u.To)})
	}
	m.nodes = make([]node, len(r.Milestones))
	m.cur, m.stay = make([]int, len(r.Milestones)), make([]bool, len(r.Milestones))
	m.byID = make(map[graft.MilestoneID]int, len(r.Milestones))
	for i := range r.Milestones {
		m.byID[r.Milestones[i].ID] = i
	}
	for i := range r.Milestones {
		m.addNode(i)
	}
	return m
}

// in returns a day as a number; out is its inverse.
func (m *model) in(d day.Day) int  { return d.Sub(m.base) }
func (m *model) out(n int) day.Day { return m.base.AddDays(n) }

func (m *model) addNode(i int) {
	n := &m.nodes[i]
	*n = node{Milestone: &m.Milestones[i], parent: -1, last: -1, order: -1}
	n.visit = n.Visit != ""
	n.kind = m.kindOf(n.Milestone)
	if b, ok := m.Booked[n.ID]; ok {
		n.booked, n.bookday = &b, m.in(b.Day)
	}
	if o, ok := m.Overrides[n.ID]; ok && !o.Day.IsZero() {
		n.override = &o
	}
	switch {
	case !n.Attended.IsZero():
		n.state, n.day = given, m.in(n.Attended)
	case n.booked != nil && n.bookday < m.on:
		n.state, n.day = given, n.bookday
	}
	m.cur[i] = noDay
	if n.state == given {
		m.cur[i] = n.day
	}
}

func (m *model) kindOf(s *graft.Milestone) int {
	k := kind{visit: s.Visit, role: s.Role, surgical: s.Surgical}
	if s.Visit != "" {
		k.role = ""
	}
	for i := range m.kinds {
		if o := &m.kinds[i]; o.visit == k.visit && o.role == k.role && o.surgical == k.surgical {
			return i
		}
	}
	m.kinds = append(m.kinds, k)
	return len(m.kinds) - 1
}
