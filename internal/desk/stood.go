package desk

import (
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// stood is how a visit may stand in the shared calendar as far as the ledger knows:
// as the last row says that is sure, or as one says that was under way since. Each of
// those is of a run whose end is not known, so that any of them may have arrived.
type stood struct {
	sure  ledger.Shelved   // zero: it was never there
	tried []ledger.Shelved // oldest first
}

// shelvedIn returns what the ledger knows of the shared calendar, of one case or, with
// none, of all: by case and milestone, in their order.
func shelvedIn(l Ledger, shelf Shelf, id graft.CaseID) ([]stood, error) {
	rows, err := l.Shelved(shelf.Name, id)
	var list []stood
	for n, r := range rows {
		if n == 0 || r.Case != rows[n-1].Case || r.Milestone != rows[n-1].Milestone {
			list = append(list, stood{})
		}
		s := &list[len(list)-1]
		if r.State == ledger.UnderWayThere {
			s.tried = append(s.tried, r)
		} else {
			s.sure = r
		}
	}
	return list, err
}

// byVisit puts rows in order by case and milestone.
func byVisit(list []stood) map[graft.CaseID]map[graft.MilestoneID]stood {
	all := map[graft.CaseID]map[graft.MilestoneID]stood{}
	for _, s := range list {
		r := s.last()
		if all[r.Case] == nil {
			all[r.Case] = map[graft.MilestoneID]stood{}
		}
		all[r.Case][r.Milestone] = s
	}
	return all
}

// lastRow returns the latest row of one visit.
func lastRow(l Ledger, shelf Shelf, id graft.CaseID, m graft.MilestoneID) (ledger.Shelved, error) {
	list, err := shelvedIn(l, shelf, id)
	return byVisit(list)[id][m].last(), err
}

// last is the latest row.
func (s stood) last() ledger.Shelved {
	if len(s.tried) > 0 {
		return s.tried[len(s.tried)-1]
	}
	return s.sure
}

// standing reports whether it was there when that was last sure. What was put there
// without a tag may not have arrived: so ledgers kept it before they knew of rows under
// way.
func (s stood) standing() bool {
	return s.sure.State == ledger.AsPut && s.sure.ETag != "" || s.sure.State == ledger.ChangedThere
}

// unsure reports whether a run may have been cut off.
func (s stood) unsure() bool {
	return len(s.tried) > 0 || s.sure.State == ledger.AsPut && s.sure.ETag == ""
}

// mayBeGone reports whether nothing need be there, although nobody has deleted it: it
// was not there before, or its removal may have arrived.
func (s stood) mayBeGone() bool {
	for _, r := range s.tried {
		if len(r.Event) == 0 {
			return true
		}
	}
	return !s.standing()
}

// events are what of ours may stand there, oldest first.
func (s stood) events() [][]byte {
	var list [][]byte
	for _, r := range append([]ledger.Shelved{s.sure}, s.tried...) {
		if len(r.Event) > 0 {
			list = append(list, r.Event)
		}
	}
	return list
}

// put is what stood there when that was last sure or, if nothing did, was tried first.
func (s stood) put() []byte {
	if list := s.events(); len(list) > 0 {
		return list[0]
	}
	return nil
}

// origin returns from which of the events that the desk put there, or was about to, a
// sight comes, and whether it says the same still. What somebody has dragged keeps the
// words of its event; what they have rewritten keeps its time.
func (k *Keeper) origin(s stood, seen sight) (event []byte, same bool, err error) {
	const byTime, byWords = 1, 2
	event, found := s.put(), 0
	for _, own := range s.events() {
		was, err := k.shown(own)
		switch {
		case err != nil:
			return nil, false, err
		case seen.saysSame(was):
			return own, true, nil
		case seen.sameWords(was) && found < byWords:
			event, found = own, byWords
		case seen.sameTime(was.given) && seen.Location == was.Location && found < byTime:
			event, found = own, byTime
		}
	}
	return event, false, nil
}

// shown is what the ledger keeps of an event as the calendar shows it.
func (k *Keeper) shown(event []byte) (sight, error) {
	g, err := decoded(event)
	if err != nil {
		return sight{}, err
	}
	return k.asSeen(g)
}
