package diary

import (
	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Clash returns the smallest conflict of some milestones as one line for each
// constraint, with windows that go on so many days when their end is not enforced.
func Clash(r Request, clinic Clinic, of []graft.MilestoneID, beyond int) (set [][2]string, sure bool) {
	m := bareModel(r, clinic)
	m.keepAll = true
	m.link()
	m.hold()
	part := make([]bool, len(m.nodes))
	for _, id := range of {
		part[m.byID[id]] = true
	}
	c := newConflict(m, part)
	c.beyond = beyond
	bits, sure := c.smallest()
	names := []string{"end", "planning", "away", "time", "closure"}
	for _, b := range bits {
		name := ""
		if b.which < firstObstacle {
			name = names[b.which]
		} else {
			name = c.names[b.node][b.which-firstObstacle]
		}
		set = append(set, [2]string{string(m.nodes[b.node].ID), name})
	}
	return set, sure
}

// InParts is PlaceAll for steps of which none follows, part by part.
func InParts(r Request, c Clinic) Plan { return newTeller(solve(r, c, 0)).plan() }

// StepByStep is InParts where a part itself is too much.
func StepByStep(r Request, c Clinic) Plan {
	p := newParts(r, c)
	p.most, p.again = 0, 0
	s, total := p.solve()
	s.walk(total)
	return newTeller(s, total).plan()
}

// CloseSlots is Slots by the plans that stay close to the best.
func CloseSlots(r Request, c Clinic, id graft.MilestoneID, span day.Span) ([]Offer, error) {
	return slotsOf(r, c, id, span, 0, ownPart)
}

// SlotsStepByStep is Slots by the plans that stay closest to it.
func SlotsStepByStep(r Request, c Clinic, id graft.MilestoneID, span day.Span) ([]Offer, error) {
	return slotsOf(r, c, id, span, 0, stepByStep)
}

// Explored counts the states that the plan of a request takes, and those that the
// same plan takes with a milestone held on each of the days that are offered; and the
// days that are tried in all of these.
func Explored(r Request, c Clinic, id graft.MilestoneID) (plan, offers, days int) {
	base, _ := solve(r, c, mostStates)
	i := base.byID[id]
	o := newOfferer(base, i, day.Span{}, 0)
	o.weigh(everyStep)
	days = base.looked
	for k := range o.offers {
		s, _ := o.price(&o.offers[k])
		offers, days = offers+s.spent(), days+s.looked
	}
	return base.spent(), offers, days
}
