package desk

import (
	"fmt"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Untold lists what the patient has not been told by mail, and why each waits; with
// an empty reason it would go out now.
func (k *Keeper) Untold(a Actor, id graft.CaseID) ([]Invited, error) {
	var list []Invited
	err := k.store.View(func(l Ledger) error {
		live, err := k.live(l, id, a.On)
		if err != nil {
			return err
		}
		if err := k.mailed(live); err != nil {
			return err
		}
		earlier, err := l.Invitations(id)
		if err != nil {
			return err
		}
		list, err = k.untold(live, earlier, a.At)
		return err
	})
	return list, err
}

// untold compares what is booked with what the last message about each visit said.
func (k *Keeper) untold(live Live, earlier []ledger.Invitation, at time.Time) ([]Invited, error) {
	var list []Invited
	for _, id := range live.visited() {
		i, tell, err := k.difference(live, id, earlier)
		if err != nil {
			return nil, err
		}
		if !tell {
			continue
		}
		i.Waits = live.waits(i)
		if open := lastOf(earlier, id, isOpen); open != nil {
			i.Waits = stuck(*open, at)
		}
		list = append(list, i)
	}
	return list, nil
}

// visited lists the milestones that ever had a visit, in the order of the first.
func (l Live) visited() []graft.MilestoneID {
	var list []graft.MilestoneID
	seen := map[graft.MilestoneID]bool{}
	for _, v := range l.Visits {
		if !seen[v.Milestone] {
			seen[v.Milestone] = true
			list = append(list, v.Milestone)
		}
	}
	return list
}

// difference is what there is to tell about one visit, if there is anything: wherever
// anything that the patient may have got last says otherwise than the ledger.
func (k *Keeper) difference(live Live, id graft.MilestoneID, earlier []ledger.Invitation) (Invited, bool, error) {
	address := live.Case.Patient.Mail.Address
	i := Invited{Invitation: ledger.Invitation{Case: live.Kept.Case, Milestone: id, Revision: live.Kept.Revision, To: address}, Title: id.Title()}
	last, err := possible(earlier, id, address)
	if err != nil {
		return i, false, err
	}
	v, _ := live.Latest(id)
	if v.State != ledger.Booked || v.Day.Before(live.Timeline.On) || live.was(id) {
		i.Method = ledger.Cancellation
		return i, i.callsOff(live, v, last), nil
	}
	i.Method, i.Slot = ledger.Request, graft.Slot{Day: v.Day, Start: v.Start, Minutes: v.Minutes}
	return i, i.asks(k.Clinic.Zone, last), nil
}

// got is a message that the patient may have got last; the zero one is none.
type got struct {
	method ledger.Method
	number int // SEQUENCE
	given
}

func (g given) slot() graft.Slot { return graft.Slot{Day: g.Day, Start: g.Start, Minutes: g.Minutes} }

// possible lists the messages about a visit that the patient may have got last at an
// address, oldest first: the last that went out, and those since of which nobody knows.
func possible(earlier []ledger.Invitation, id graft.MilestoneID, address string) ([]got, error) {
	list := []got{{}}
	for _, i := range earlier {
		if i.Milestone != id || i.To != address || i.State == ledger.Failed && i.Says != countedLost {
			continue
		}
		event, err := decoded(i.Event)
		if err != nil {
			return nil, err
		}
		if i.State == ledger.Sent || i.State == ledger.Written {
			list = nil
		}
		list = append(list, got{i.Method, i.Sequence, event})
	}
	return list, nil
}

// asks reports whether the time of a visit has to be told.
func (i *Invited) asks(zone string, last []got) bool {
	tell := false
	for _, g := range last {
		switch {
		case g.method != ledger.Request:
			i.Was, tell = graft.Slot{}, true
		case g.slot() != i.Slot || g.Zone != zone:
			i.Was, tell = g.slot(), true
		}
	}
	return tell
}

// callsOff reports whether it has to be told that a visit is off.
func (i *Invited) callsOff(live Live, v ledger.Visit, last []got) bool {
	tell := false
	for _, g := range last {
		if g.method != ledger.Request {
			continue
		}
		i.number = max(i.number, g.number)
		if !g.Day.Before(live.Timeline.On) && !live.tookPlace(v, g.Day) {
			i.Was, i.before, tell = g.slot(), g.given, true
		}
	}
	return tell
}

// tookPlace reports whether a visit is, or was, on the day that the patient was told.
// One that the record has as attended on another day is not booked any more.
func (l Live) tookPlace(v ledger.Visit, told day.Day) bool {
	return v.Day == told && (v.State == ledger.Attended || v.State == ledger.Missed || v.State == ledger.Booked && !l.was(v.Milestone))
}

// waits says why a message must not go out yet. That a visit is off may always be
// told.
func (l Live) waits(i Invited) string {
	switch {
	case i.Method == ledger.Cancellation:
		return ""
	case l.heldBack() != "":
		return l.heldBack()
	case l.Draft():
		return "a draft: graftclock approve " + string(l.Kept.Case)
	}
	return ""
}

// stuck says that a message was cut off, or is on its way just now.
func stuck(i ledger.Invitation, at time.Time) string {
	since := fmt.Sprintf("a message has been under way since %s, by %s", i.At.UTC().Format("2006-01-02 15:04 UTC"), i.By)
	if at.Sub(i.At) < surelyOver {
		return since + ": wait until it is over"
	}
	return since + ": it may have arrived; ask the patient, then --arrived or --again"
}

func isOpen(i ledger.Invitation) bool { return i.State == ledger.UnderWay }

// lastOf returns the last message about a milestone that is such.
func lastOf(list []ledger.Invitation, id graft.MilestoneID, such func(ledger.Invitation) bool) *ledger.Invitation {
	for n := len(list) - 1; n >= 0; n-- {
		if list[n].Milestone == id && such(list[n]) {
			return &list[n]
		}
	}
	return nil
}
