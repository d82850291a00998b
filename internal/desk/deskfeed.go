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

// FillDeskFeed writes what a feed of the desk shows at a moment: the visits of the past
// 30 days and the coming year that are booked or were attended, as the desk's calendar
// has them. Data is nil if there are none. Changed is when that last changed, or later.
// What is shown anew is kept; where that is nothing the ledger is only read. Only the
// cases are planned that have such a visit, and of those only what has changed since the
// last time.
func (k *Keeper) FillDeskFeed(feed ledger.Feed, on day.Day, at time.Time) (data []byte, changed time.Time, err error) {
	k.feeding.Lock()
	defer k.feeding.Unlock()
	a, err := k.deskFeed(feed.Person, on, at)
	if err != nil {
		k.feeds = keptFeeds{}
		return nil, time.Time{}, err
	}
	if a.changed.After(at) {
		a.changed = at
	}
	return a.data, a.changed.UTC(), nil
}

// deskFeed is the feed of a person, or of all.
func (k *Keeper) deskFeed(person string, on day.Day, at time.Time) (filledFeed, error) {
	f := &k.feeds
	err := k.store.View(func(l Ledger) error { return k.catchFeeds(l, person, on) })
	if err != nil {
		return filledFeed{}, err
	}
	if filled, there := f.filled[person]; there {
		return filled, nil
	}
	if f.news(person) {
		err := k.store.Act(func(w Writing) error {
			if err := k.catchFeeds(w, person, on); err != nil {
				return err
			}
			return k.giveVisits(w, person, at)
		})
		if err != nil {
			return filledFeed{}, err
		}
	}
	filled, err := k.fillKept(person)
	if err == nil {
		f.filled[person] = filled
	}
	return filled, err
}

// giveVisits gives the events of visits their SEQUENCE and stamp, and records what is new
// of them.
func (k *Keeper) giveVisits(w Writing, person string, at time.Time) (err error) {
	f := &k.feeds
	clear(f.filled)
	for _, id := range f.order() {
		c := f.cases[id]
		for _, v := range c.visitsOf(person) {
			if err := k.issueOne(w, c.live, v.key(), v.data, false, at); err != nil {
				return err
			}
		}
	}
	f.issued, err = w.IssueHead()
	return err
}

// fillKept writes the calendar of the visits that are kept.
func (k *Keeper) fillKept(person string) (filledFeed, error) {
	f := &k.feeds
	midnight, err := k.midnight(f.on)
	if err != nil {
		return filledFeed{}, err
	}
	filled := filledFeed{changed: later(midnight, f.latest)}
	var events []ics.Event
	for _, c := range f.cases {
		for _, v := range c.visitsOf(person) {
			g, err := decoded(v.data)
			if err != nil {
				return filledFeed{}, err
			}
			e, i := g.event(v.uid), c.live.issues[v.key()]
			e.Sequence, e.Stamp = i.Sequence, i.At
			events = append(events, e)
			filled.changed = later(later(filled.changed, c.changed), i.At)
		}
	}
	if len(events) == 0 {
		return filled, nil
	}
	sortEvents(events)
	name := k.Clinic.ShortName + ": " + whose(person)
	filled.data, err = ics.Encode(ics.Calendar{Name: name, Zone: k.Clinic.Zone, Refresh: feedRefresh, Events: events})
	return filled, err
}

// deskVisits are the latest visits of a case's steps, where they have or had a time in
// the days that a feed of the desk shows.
func (l Live) deskVisits() []graft.Milestone {
	shown := shownDays(l.Timeline.On)
	var list []graft.Milestone
	for _, id := range l.visited() {
		v, _ := l.Latest(id)
		stands := v.State == ledger.Booked || v.State == ledger.Attended
		if !stands || v.Minutes == 0 || !shown.Contains(v.Day) {
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

// shownDays are the days that a feed of the desk shows.
func shownDays(on day.Day) day.Span {
	return day.Span{From: on.AddDays(-deskFeedBack), To: on.AddDays(deskFeedAhead)}
}
