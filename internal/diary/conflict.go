package diary

import (
	"slices"
)

// Constraints are numbered within each milestone: the few that every milestone
// may have come first, then what the clinic says against days.
const (
	windowEnds = iota
	planning
	patientAway
	timeTaken
	beforeClosure
	firstObstacle
)

// lookAround is how many days a window goes on when its end is not enforced, and
// how far the nearest days that fit are looked for.
const lookAround = 400

// conflict finds the smallest set of constraints under which not all of some
// milestones can have a day. A set is enforced alone: a day may break whatever is
// not in it. Starts and gates of windows always hold, and so does the time of a
// booked visit that stays.
type conflict struct {
	*model
	names  [][]string       // by milestone, what the clinic says
	masks  []map[int]uint64 // by milestone and day, what that day breaks
	part   []bool           // the milestones that are to have days
	all    []uint64         // by milestone, the constraints there are
	broken []uint64         // by milestone, what the days last found break
	frames []frame
	failed memo
	key    []int32
	beyond int // how many days a window goes on when its end is not enforced
	left   int // days that are left to try in all
	visits int // and in this test
}

// Bounds on the days tried, after which the answer may not be the smallest.
const (
	visitsInAll = 3_000_000
	visitsATest = 300_000
	costATest   = 1000
)

func newConflict(m *model, part []bool) *conflict {
	n := len(m.nodes)
	return &conflict{model: m, part: part, names: make([][]string, n), masks: make([]map[int]uint64, n), all: make([]uint64, n),
		broken: make([]uint64, n), frames: make([]frame, n), left: visitsInAll, beyond: lookAround}
}

// mask returns what a day breaks, window apart.
func (c *conflict) mask(i, d int) uint64 {
	if v, ok := c.masks[i][d]; ok {
		return v
	}
	n := &c.nodes[i]
	var v uint64
	if n.visit && c.isAway(d) {
		v |= 1 << patientAway
	}
	on, role := c.out(d), n.Role
	if n.visit {
		role = ""
	}
	whys := c.clinic.Obstacles(on, n.Visit, role)
	for _, why := range whys {
		v |= 1 << c.number(i, why)
	}
	if c.shut(&c.kinds[n.kind], on) {
		v |= 1 << beforeClosure
	}
	if n.visit && d >= c.on && len(whys) == 0 {
		if o := c.clinic.Opening(on, n.Visit); o.Minutes > 0 && c.free(o, on).none() {
			v |= 1 << timeTaken
		}
	}
	if c.masks[i] == nil {
		c.masks[i] = map[int]uint64{}
	}
	c.masks[i][d] = v
	c.all[i] |= v
	return v
}

// number gives what the clinic says its constraint; more than there is room for
// share the last.
func (c *conflict) number(i int, why string) int {
	k := slices.Index(c.names[i], why)
	if k < 0 && len(c.names[i]) < 64-firstObstacle {
		k = len(c.names[i])
		c.names[i] = append(c.names[i], why)
	} else if k < 0 {
		k = len(c.names[i]) - 1
	}
	return firstObstacle + k
}

// run is the days a milestone may have, and what those outside its window break.
type run struct {
	first, last int // when nothing of the window is enforced but its start
	from, to    int // of the window itself
	timed       bool
}

// days returns the run of a milestone whose anchors have their days.
func (c *conflict) days(i int) run {
	n, w := &c.nodes[i], c.frames[i]
	ch := c.choices(n, w)
	r := run{ch.start(), ch.latest + c.beyond, ch.start(), ch.latest, !ch.past}
	if !ch.past && !ch.overdue {
		r.first = w.earliest
		if ch.forward() {
			r.first = w.target
		}
	}
	return r
}

// breaks returns all that a day of a run breaks.
func (c *conflict) breaks(i, d int, r run) uint64 {
	v := c.mask(i, d)
	if d > r.to {
		v |= 1 << windowEnds
	}
	if d < r.from {
		v |= 1 << planning
	}
	if !r.timed {
		v &^= 1 << timeTaken
	}
	return v
}
