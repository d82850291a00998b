package desk

import (
	"fmt"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
)

// The days that a feed of the desk shows, before and after today.
const (
	deskFeedBack  = 30
	deskFeedAhead = 365
)

// OpenDeskFeed starts a feed of the desk that graftclock serves: of the visits of one
// person of the clinic file or, with nobody named, of all. One that stands keeps its
// token.
func (k *Keeper) OpenDeskFeed(a Actor, person, token string) (ledger.Feed, error) {
	feed := ledger.Feed{Person: person, Token: token, At: a.At, By: a.Name}
	err := k.acted(a, "", "feed", func(w Writing) error {
		if person != "" {
			if _, err := k.Person(person); err != nil {
				return err
			}
		}
		standing, found, err := deskFeed(w, person)
		if err != nil || found {
			feed = standing
			return err
		}
		return w.AddFeed(feed, ledger.Entry{At: a.At, By: a.Person, What: "feed", Now: "calendar feed of " + whose(person)})
	})
	return feed, err
}

// RevokeDeskFeed ends a feed of the desk.
func (k *Keeper) RevokeDeskFeed(a Actor, person string) (ledger.Feed, error) {
	var feed ledger.Feed
	err := k.acted(a, "", "revoke feed", func(w Writing) error {
		standing, found, err := deskFeed(w, person)
		if err != nil {
			return err
		}
		if !found {
			return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("%s has no feed", whose(person))}
		}
		feed = standing
		feed.Revoked = a.At
		return w.RevokeFeed(feed, ledger.Entry{At: a.At, By: a.Person, What: "feed", Was: "calendar feed of " + whose(person), Now: "revoked"})
	})
	return feed, err
}

// DeskFeeds lists the feeds of the desk that stand, by person; that of all comes first.
func (k *Keeper) DeskFeeds() ([]ledger.Feed, error) {
	var list []ledger.Feed
	err := k.store.View(func(l Ledger) (err error) {
		list, err = l.DeskFeeds()
		return err
	})
	return list, err
}

func deskFeed(l Ledger, person string) (ledger.Feed, bool, error) {
	all, err := l.DeskFeeds()
	for _, f := range all {
		if f.Person == person {
			return f, true, err
		}
	}
	return ledger.Feed{}, false, err
}

// whose names a feed of the desk.
func whose(person string) string {
	if person == "" {
		return "the desk"
	}
	return person
}

// onDesk is a case with those of its visits that a feed of the desk shows.
type onDesk struct {
	live   Live
	visits []graft.Milestone
}

// FillDeskFeed writes what a feed of the desk shows at a moment: the visits of the past
// 30 days and the coming year that are booked or were attended, as the desk's calendar
// has them. Data is nil if there are none. Changed is when that last changed, or later.
// What is shown anew is kept; where that is nothing the ledger is only read.
func (k *Keeper) FillDeskFeed(feed ledger.Feed, on day.Day, at time.Time) (data []byte, changed time.Time, err error) {
	all, err := k.All(on)
	if err != nil {
		return nil, time.Time{}, err
	}
	var list []*onDesk
	for _, live := range all {
		list = append(list, &onDesk{live, live.deskVisits(feed.Person)})
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

// deskVisits are the latest visits of a case's steps, where they have or had a time in
// the days that a feed of the desk shows and, with a person named, are with them.
func (l Live) deskVisits(person string) []graft.Milestone {
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
				o.visits = o.live.deskVisits(person)
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
