package desk

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
)

// cancelledShown is how long a visit that is called off stays in a feed, so that a
// program that looks once a day shows it struck out before it goes.
const cancelledShown = 14 * 24 * time.Hour

// feedRefresh is how often a program is asked to fetch a feed again. Some never ask.
const feedRefresh = 6 * time.Hour

// FeedFile is the whole file of a feed.
type FeedFile struct {
	ledger.Feed
	Patient string
	Data    []byte    // nil: there is nothing to hand out
	Held    string    // why nothing new may go out; empty if it may
	Changed time.Time // when Data last changed, or later: at the latest the moment it is filled at
}

// OpenFeed starts the feed of a case under a token that nobody can guess: a file in a
// folder that a web server hands out or, without a folder, one that graftclock serves
// by itself. A case that has one keeps its token; at another place it is refused.
func (k *Keeper) OpenFeed(a Actor, id graft.CaseID, folder, token string) (ledger.Feed, error) {
	feed := ledger.Feed{Case: id, Token: token, Folder: folder, At: a.At, By: a.Name}
	_, err := k.act(a, id, "feed", func(t *turn) error {
		standing, err := t.w.Feeds(id)
		if err != nil {
			return err
		}
		if len(standing) == 0 {
			return t.w.AddFeed(feed, t.entry("feed", "", "", "calendar feed "+placeOf(feed), ""))
		}
		if feed = standing[0]; feed.Folder != folder {
			return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("case %s has its feed %s", id, placeOf(feed)), Hint: "graftclock calendar " + string(id) + " --revoke ends it; then the patient subscribes anew"}
		}
		return nil
	})
	return feed, err
}

// placeOf says where a feed is to be had.
func placeOf(f ledger.Feed) string {
	if f.Served() {
		return "served by graftclock"
	}
	return "in " + f.Folder
}

// RevokeFeed ends the feed of a case; whoever removes its file does so afterwards.
func (k *Keeper) RevokeFeed(a Actor, id graft.CaseID) (ledger.Feed, error) {
	var feed ledger.Feed
	_, err := k.act(a, id, "revoke feed", func(t *turn) error {
		standing, err := t.w.Feeds(id)
		if err != nil {
			return err
		}
		if len(standing) == 0 {
			return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("case %s has no feed", id)}
		}
		feed = standing[0]
		feed.Revoked = a.At
		return t.w.RevokeFeed(feed, t.entry("feed", "", "calendar feed "+placeOf(feed), "revoked", ""))
	})
	return feed, err
}

// Feeds lists the feeds of cases that stand; with a case, its own.
func (k *Keeper) Feeds(id graft.CaseID) ([]ledger.Feed, error) {
	var list []ledger.Feed
	err := k.store.View(func(l Ledger) (err error) {
		list, err = l.Feeds(id)
		return err
	})
	return list, err
}

// ServedFeed fills the feed that graftclock serves under a token, of a case or of the
// desk. A token that never was and one that is revoked are refused alike, of kind
// NotFound.
func (k *Keeper) ServedFeed(token string, on day.Day, at time.Time) (FeedFile, error) {
	var feed ledger.Feed
	err := k.store.View(func(l Ledger) (err error) {
		feed, err = l.FeedOf(token)
		return err
	})
	switch {
	case err != nil:
		return FeedFile{}, err
	case feed.OfDesk():
		file := FeedFile{Feed: feed}
		file.Data, file.Changed, err = k.FillDeskFeed(feed, on, at)
		return file, err
	}
	return k.FillFeed(feed, on, at)
}

// FillFeed writes what the feed of a case shows at a moment, and keeps what it shows
// anew; where that is nothing the ledger is only read. While nothing new for the
// patient may go out Held says why: the file of a folder stays as it is, and a served
// feed shows what it last did.
func (k *Keeper) FillFeed(feed ledger.Feed, on day.Day, at time.Time) (FeedFile, error) {
	var file FeedFile
	var news counting
	err := k.store.View(func(l Ledger) (err error) {
		file, err = k.fill(l, &news, feed, on, at)
		return err
	})
	if err != nil || news == 0 {
		return file, err
	}
	err = k.store.Act(func(w Writing) (err error) {
		file, err = k.fill(w, w, feed, on, at)
		return err
	})
	return file, err
}

// counting counts what would be given out anew.
type counting int

// AddIssue implements issuer.
func (c *counting) AddIssue(ledger.Issue) error {
	*c++
	return nil
}

func (k *Keeper) fill(l Ledger, w issuer, feed ledger.Feed, on day.Day, at time.Time) (FeedFile, error) {
	file := FeedFile{Feed: feed}
	live, err := k.live(l, feed.Case, on)
	if err != nil {
		return file, err
	}
	file.Patient, file.Held = live.Kept.Patient, live.heldBack()
	if file.Held != "" && !feed.Served() {
		return file, nil
	}
	if file.Held == "" {
		if err := k.issue(w, live, graft.ForPatient, at); err != nil {
			return file, err
		}
	}
	events, err := k.feedEvents(live, file.Held != "", at)
	if err != nil {
		return file, err
	}
	if len(events) == 0 {
		file.Held = orElse(file.Held, "no visit lies ahead")
		return file, nil
	}
	if file.Changed, err = k.changed([]Live{live}, graft.ForPatient, on, at); err != nil {
		return file, err
	}
	file.Data, err = ics.Encode(ics.Calendar{Name: k.calendarName(live.Plan, graft.ForPatient), Zone: k.Clinic.Zone, Refresh: feedRefresh, Events: events})
	return file, err
}

// feedEvents are the visits that stand, those that were, and those called off lately;
// of a feed that is held back, those that it last showed.
func (k *Keeper) feedEvents(live Live, held bool, at time.Time) ([]ics.Event, error) {
	var events []ics.Event
	if !held {
		for _, m := range live.shown(graft.ForPatient) {
			events = append(events, k.numbered(live.Plan, m, graft.ForPatient))
		}
	}
	for key, i := range live.issues {
		if key.audience != graft.ForPatient {
			continue
		}
		g, err := decoded(i.Event)
		if err != nil {
			return nil, err
		}
		e := g.event(k.uid(live.Plan, i.Milestone, graft.ForPatient))
		e.Sequence, e.Stamp = i.Sequence, i.At
		stays := live.was(i.Milestone) && g.Minutes > 0
		if held {
			stays = g.Minutes > 0 || !g.last().Before(live.Timeline.On)
		}
		switch {
		case i.Cancelled && at.Sub(i.At) < cancelledShown:
			events = append(events, k.calledOff(live.Plan, e))
		case !i.Cancelled && stays:
			events = append(events, e)
		}
	}
	sortEvents(events)
	return events, nil
}

// sortEvents puts events in the order of their times.
func sortEvents(events []ics.Event) {
	slices.SortFunc(events, func(a, b ics.Event) int {
		return cmp.Or(a.Day.Sub(b.Day), cmp.Compare(a.Start, b.Start), cmp.Compare(a.UID, b.UID))
	})
}

// changed is when what an audience sees of some cases last changed: with an act on one
// of them, with an issue, with the end of a cancelled one, or with the day, on which
// windows pass and plans move.
func (k *Keeper) changed(lives []Live, who graft.Audience, on day.Day, at time.Time) (time.Time, error) {
	latest, err := k.midnight(on)
	if err != nil {
		return time.Time{}, err
	}
	for _, live := range lives {
		latest = later(latest, live.Changed())
		for key, i := range live.issues {
			if key.audience != who {
				continue
			}
			latest = later(latest, i.At)
			if end := i.At.Add(cancelledShown); i.Cancelled && !end.After(at) {
				latest = later(latest, end)
			}
		}
	}
	if latest.After(at) {
		latest = at
	}
	return latest.UTC(), nil
}

// midnight is when a day begins on the clinic's clocks.
func (k *Keeper) midnight(on day.Day) (time.Time, error) {
	zone, err := time.LoadLocation(k.Clinic.Zone)
	if err != nil {
		return time.Time{}, fmt.Errorf("the clinic's zone: %w", err)
	}
	year, month, date := on.Date()
	return time.Date(year, month, date, 0, 0, 0, 0, zone), nil
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
