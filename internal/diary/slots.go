package diary

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Slots offers the days of a span on which a milestone can be had, at most so many
// of them, best first; most 0 is all. The zero span is the milestone's window.
// Days inside the window come first, by what the whole plan costs with the visit
// on that day; then days outside by how far out they lie; then days before the gate
// and below the hard floor. Of days as good the earlier comes first. Where the
// milestone is booked, that booking is left aside. The error is a refusal of a
// milestone that is not there or brings nobody in; one that waits for a step
// without a day has no offers, nor has one that is attended.
func Slots(r Request, c Clinic, id graft.MilestoneID, span day.Span, most int) ([]Offer, error) {
	return slotsOf(r, c, id, span, most, everyStep)
}

// slotsOf is Slots with no more steps free, beside the milestone, than of a scope.
func slotsOf(r Request, c Clinic, id graft.MilestoneID, span day.Span, most int, widest scope) ([]Offer, error) {
	r.Milestones, _ = parted(r.Milestones)
	i := slices.IndexFunc(r.Milestones, func(m graft.Milestone) bool { return m.ID == id })
	if i < 0 || r.Milestones[i].Visit == "" {
		return nil, &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("the plan has no visit %s", id.Title())}
	}
	r.Booked = maps.Clone(r.Booked)
	delete(r.Booked, id)
	base, _ := solve(r, c, mostStates)
	if base.nodes[i].state != open || base.lost[i] {
		return nil, nil
	}
	o := newOfferer(base, i, span, most)
	o.weigh(widest)
	slices.SortStableFunc(o.offers, compareOffers)
	var offers []Offer
	for k := range o.offers {
		if most > 0 && len(offers) == most {
			break
		}
		if offer, ok := o.tell(&o.offers[k]); ok {
			offers = append(offers, offer)
		}
	}
	return offers, nil
}

// offerer weighs the days of one milestone. Where the plan leaves too much to try
// for every day, it weighs them by the plans that stay close to the best.
type offerer struct {
	base   *joint // with the best plan of all
	i      int
	frame  frame
	choice choice
	span   span
	most   int // states for a day
	scope  scope
	parts  *parts // of the request, once they are needed
	offers []weighed
}

// weighed is an offer with what it costs.
type weighed struct {
	day     int
	starts  []day.Clock
	cost    cost
	outside int // days from the window
	gate    bool
	floor   bool
}

// newOfferer looks at the days of a window, and at those outside it where the
// window has fewer than are asked for: days outside come after all inside.
func newOfferer(base *joint, i int, asked day.Span, most int) *offerer {
	o := &offerer{base: base, i: i, frame: base.windows[i]}
	o.frame.floor = base.floor(i)
	o.choice = base.choices(&base.nodes[i], o.frame)
	first, last := base.offered(o.frame, o.choice)
	o.span = span{first, last}
	if !asked.From.IsZero() {
		o.span = span{max(base.in(asked.From), base.on), base.in(asked.To)}
	}
	o.look(max(o.span.from, first), min(o.span.to, last), first, last)
	if most <= 0 || len(o.offers) < most {
		o.look(o.span.from, min(o.span.to, first-1), first, last)
		o.look(max(o.span.from, last+1), o.span.to, first, last)
	}
	return o
}

// look offers the days from one to another that have a free start.
func (o *offerer) look(from, to, first, last int) {
	for d := from; d <= to; d++ {
		if starts := o.starts(d); len(starts) > 0 {
			o.offers = append(o.offers, o.place(d, starts, first, last))
		}
	}
}

// floor returns the hard floor of a milestone in a plan, whether or not it can bind.
func (m *model) floor(i int) int {
	floor := m.in(day.Day{})
	for _, w := range m.nodes[i].Waits {
		if !w.Hard {
			continue
		}
		from := m.in(m.Surgery)
		if w.From != graft.SurgeryDay {
			from = m.cur[m.byID[w.From]]
		}
		floor = max(floor, m.pointsOf(w, from).notBefore)
	}
	return floor
}

// place says where a day lies to the window.
func (o *offerer) place(d int, starts []day.Clock, first, last int) weighed {
	w := weighed{day: d, starts: starts, outside: max(0, first-d, d-last)}
	w.floor = d < o.frame.floor
	w.gate = d < o.frame.notBefore
	return w
}

// starts lists the free starts of a day beside the other booked visits of the
// patient; a visit that takes no time has one, at midnight.
func (o *offerer) starts(d int) []day.Clock {
	m := o.base
	n := &m.nodes[o.i]
	if !m.fits(n.kind, d, false) {
		return nil
	}
	s := m.startsOf(n.kind, d)
	if s.minutes == 0 {
		return []day.Clock{0}
	}
	list := s.all()
	for k := range m.nodes {
		if b := m.nodes[k].booked; b != nil && m.nodes[k].state == open && m.nodes[k].bookday == d {
			list = slices.DeleteFunc(list, func(t day.Clock) bool {
				return b.Overlaps(graft.Slot{Day: b.Day, Start: t, Minutes: s.minutes})
			})
		}
	}
	return list
}

// compareOffers ranks two offers.
func compareOffers(a, b weighed) int {
	return cmp.Or(boolean(a.floor)-boolean(b.floor), boolean(a.gate)-boolean(b.gate), cmp.Compare(a.outside, b.outside),
		cmp.Compare(a.cost>>distanceAt, b.cost>>distanceAt), cmp.Compare(a.day, b.day))
}

// tell writes an offer, with what the plan round it shows; false if no such plan is
// found, as may be with a day outside the window, which is not weighed before.
func (o *offerer) tell(w *weighed) (Offer, bool) {
	s, tired := o.price(w)
	for ; tired && o.scope < stepByStep; s, tired = o.price(w) {
		o.scope++
	}
	if w.cost >= never {
		return Offer{}, false
	}
	s.walk(w.cost)
	n := &o.base.nodes[o.i]
	d := s.out(w.day)
	opening := s.clinic.Opening(d, n.Visit)
	offer := Offer{
		Slot: graft.Slot{Day: d, Start: w.starts[0], Minutes: opening.Minutes}, Starts: w.starts,
		Inside: w.outside == 0, BeforeGate: w.gate, BelowFloor: w.floor,
		Trips: s.visitDays(), Distance: w.cost.distance(), Breaks: o.breaks(s),
	}
	if opening.Minutes > 0 {
		s.house(&offer.Slot, opening)
	}
	offer.Says = o.says(w, s, offer.Breaks)
	return offer, true
}

// breaks lists what the best plan keeps and the plan with this day does not.
func (o *offerer) breaks(s *joint) []graft.MilestoneID {
	var ids []graft.MilestoneID
	for _, k := range s.order {
		moved := s.nodes[k].booked != nil && !s.stay[k] && o.base.stay[k]
		lost := s.cur[k] == noDay && o.base.cur[k] != noDay
		if k != o.i && (moved || lost) {
			ids = append(ids, s.nodes[k].ID)
		}
	}
	return ids
}

// says is half a line on an offer.
func (o *offerer) says(w *weighed, s *joint, breaks []graft.MilestoneID) string {
	text := o.where(w)
	for _, k := range s.order {
		if k != o.i && s.comes(k) && s.cur[k] == w.day {
			text += "; one trip with " + s.nodes[k].Title()
		}
	}
	for _, id := range breaks {
		k := s.byID[id]
		if s.cur[k] == noDay {
			text += "; leaves no day for " + id.Title()
		} else {
			text += "; moves " + id.Title()
		}
	}
	return text
}

// where says how a day lies to the target and the window.
func (o *offerer) where(w *weighed) string {
	off := w.day - o.frame.target
	text := "on target"
	if off > 0 {
		text = day.Period{Days: off}.Words() + " after target"
	} else if off < 0 {
		text = day.Period{Days: -off}.Words() + " before target"
	}
	switch {
	case w.floor:
		return text + "; below the hard floor"
	case w.gate:
		return text + "; before the gate"
	case o.choice.overdue:
		return text + "; overdue"
	case w.outside > 0 && w.day > o.frame.latest:
		return text + "; " + day.Period{Days: w.outside}.Words() + " after the window"
	case w.outside > 0:
		return text + "; " + day.Period{Days: w.outside}.Words() + " before the window"
	case off == 0:
		return text
	}
	return text + "; inside"
}
