package diary

import "graftclock/internal/graft"

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
