package diary

import (
	"fmt"
	"slices"
	"strings"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// At finds a room and a person for a visit at one exact time, or says everything
// that is in the way. Room and person may be asked for by name; where they are
// not, the first that is free is taken. A slot with minutes keeps them, as a slot
// that was booked does, and need not lie on the grid. The window is not looked at.
func At(r Request, c Clinic, id graft.MilestoneID, want graft.Slot) (graft.Slot, []string) {
	m := bareModel(r, c)
	i, ok := m.byID[id]
	if !ok {
		return graft.Slot{}, []string{"the plan has no " + id.Title()}
	}
	n := &m.nodes[i]
	whys := m.dayWhys(n.Milestone, m.in(want.Day))
	if !n.visit {
		return want, whys
	}
	o := m.clinic.Opening(want.Day, n.Visit)
	if want.Minutes == 0 {
		if grid := gridOf(o); int(want.Start)%grid != 0 {
			whys = append(whys, fmt.Sprintf("visits start every %d minutes", grid))
		}
		want.Minutes = o.Minutes
	}
	if len(o.Hours) > 0 && !slices.ContainsFunc(o.Hours, insideOf(want)) {
		whys = append(whys, "open "+listedHours(o.Hours)+" only")
	}
	var gone []string
	if o.NeedsRoom {
		want.Room, gone = m.one(o.Rooms, want.Room, true, want)
		whys = append(whys, gone...)
	}
	if o.NeedsPerson {
		want.Person, gone = m.one(o.People, want.Person, false, want)
		whys = append(whys, gone...)
	}
	whys = append(whys, m.ownVisits(id, want)...)
	if len(whys) > 0 {
		return graft.Slot{}, whys
	}
	return want, nil
}

func listedHours(hours []day.Hours) string {
	var list []string
	for _, h := range hours {
		list = append(list, h.String())
	}
	return strings.Join(list, ", ")
}

// one returns the first of the names that is free for a slot, or the one asked
// for; if it is not free, or none is, who has them.
func (m *model) one(names []string, asked string, room bool, s graft.Slot) (string, []string) {
	if asked != "" && !slices.Contains(names, asked) {
		return "", []string{asked + " cannot be had for it that day"}
	}
	if asked != "" {
		names = []string{asked}
	}
	var whys []string
	for _, name := range names {
		e := m.frees.holder(m.frees.book.find(name), room, s)
		if e == nil {
			return name, nil
		}
		whys = append(whys, e.taken(name))
	}
	return "", whys
}

// ownVisits tells of other visits of the patient at the time of a slot.
func (m *model) ownVisits(id graft.MilestoneID, s graft.Slot) []string {
	var whys []string
	for i := range m.nodes {
		n := &m.nodes[i]
		if n.booked != nil && n.ID != id && n.Attended.IsZero() && n.booked.Overlaps(s) {
			whys = append(whys, fmt.Sprintf("the patient has %s %s-%s", n.Title(), n.booked.Start, n.booked.End()))
		}
	}
	return whys
}
