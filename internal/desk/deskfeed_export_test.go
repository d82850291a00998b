package desk

import (
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
)

// onDesk is a case with those of its visits that a feed of the desk shows.
type onDesk struct {
	live   Live
	visits []graft.Milestone
}

// EveryDeskFeed is FillDeskFeed by planning every case.
func (k *Keeper) EveryDeskFeed(feed ledger.Feed, on day.Day, at time.Time) (data []byte, changed time.Time, err error) {
	all, err := k.All(on)
	if err != nil {
		return nil, time.Time{}, err
	}
	var list []*onDesk
	for _, live := range all {
		list = append(list, &onDesk{live, live.everyDeskVisit(feed.Person)})
	}
	if err := k.numberVisits(list, feed.Person, on, at); err != nil {
		return nil, time.Time{}, err
	}
	var events []ics.Event
	for n, o := range list {
		all[n] = o.live
		for _, m := range o.visits {
			events = append(events, k.numbered(o.live.Plan, m, graft.ForDesk))
		}
	}
	if changed, err = k.changed(all, graft.ForDesk, on, at); err != nil || len(events) == 0 {
		return nil, changed, err
	}
	sortEvents(events)
	name := k.Clinic.ShortName + ": " + whose(feed.Person)
	data, err = ics.Encode(ics.Calendar{Name: name, Zone: k.Clinic.Zone, Refresh: feedRefresh, Events: events})
	return data, changed, err
}

// everyDeskVisit are the latest visits of a case's steps, where they have or had a time in
// the days that a feed of the desk shows and, with a person named, are with them.
func (l Live) everyDeskVisit(person string) []graft.Milestone {
	shown := day.Span{From: l.Timeline.On.AddDays(-deskFeedBack), To: l.Timeline.On.AddDays(deskFeedAhead)}
	var list []graft.Milestone
	for _, id := range l.visited() {
		v, _ := l.Latest(id)
		stands := v.State == ledger.Booked || v.State == ledger.Attended
		if !stands || v.Minutes == 0 || !shown.Contains(v.Day) || person != "" && v.Person != person {
			continue
		}
		m, there := l.Timeline.Find(id)
		if !there {
			m = graft.Milestone{ID: id}
		}
		m.Booked, m.Slot = true, v.Slot
		list = append(list, m)
	}
	return list
}

// numberVisits gives the events of visits their SEQUENCE and stamp, and keeps what is
// new of them. A case that another desk has changed since it was read is read again.
func (k *Keeper) numberVisits(list []*onDesk, person string, on day.Day, at time.Time) error {
	var late []*onDesk
	for _, o := range list {
		var news counting
		if err := k.issueVisits(&news, o, at); err != nil {
			return err
		}
		if news > 0 {
			late = append(late, o)
		}
	}
	if len(late) == 0 {
		return nil
	}
	return k.store.Act(func(w Writing) error {
		for _, o := range late {
			kept, err := w.Case(o.live.Kept.Case)
			if err != nil {
				return err
			}
			if kept.Head != o.live.Kept.Head {
				if o.live, err = k.live(w, kept.Case, on); err != nil {
					return err
				}
				o.visits = o.live.everyDeskVisit(person)
			}
			now, err := w.Issues(kept.Case)
			if err != nil {
				return err
			}
			o.live.issues = issuesOf(now)
			if err := k.issueVisits(w, o, at); err != nil {
				return err
			}
		}
		return nil
	})
}

// issueVisits holds the events of visits against what the desk got before, and records
// what is new.
func (k *Keeper) issueVisits(w issuer, o *onDesk, at time.Time) error {
	for _, m := range o.visits {
		data, err := encoded(givenOf(k.event(o.live.Plan, m, graft.ForDesk), k.Clinic.Zone))
		if err != nil {
			return err
		}
		if err := k.issueOne(w, o.live, issueKey{m.ID, graft.ForDesk}, data, false, at); err != nil {
			return err
		}
	}
	return nil
}
