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
	Data    []byte // nil: held back
	Held    string // why the file must stay as it is; empty if it need not
}

// OpenFeed starts the feed of a case: a file in a folder that a web server hands out,
// under a name that nobody can guess. A case that has one keeps its name; in another
// folder it is refused.
func (k *Keeper) OpenFeed(a Actor, id graft.CaseID, folder, token string) (ledger.Feed, error) {
	feed := ledger.Feed{Case: id, Token: token, Folder: folder, At: a.At, By: a.Name}
	_, err := k.act(a, id, func(t *turn) error {
		standing, err := t.w.Feeds(id)
		if err != nil {
			return err
		}
		if len(standing) == 0 {
			return t.w.AddFeed(feed, t.entry("feed", "", "", "calendar feed in "+folder, ""))
		}
		if feed = standing[0]; feed.Folder != folder {
			return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("case %s has its feed in %s", id, feed.Folder), Hint: "graftclock calendar " + string(id) + " --revoke ends it; then the patient subscribes anew"}
		}
		return nil
	})
	return feed, err
}

// RevokeFeed ends the feed of a case; whoever removes its file does so afterwards.
func (k *Keeper) RevokeFeed(a Actor, id graft.CaseID) (ledger.Feed, error) {
	var feed ledger.Feed
	_, err := k.act(a, id, func(t *turn) error {
		standing, err := t.w.Feeds(id)
		if err != nil {
			return err
		}
		if len(standing) == 0 {
			return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("case %s has no feed", id)}
		}
		feed = standing[0]
		feed.Revoked = a.At
		return t.w.RevokeFeed(feed, t.entry("feed", "", "calendar feed in "+feed.Folder, "revoked", ""))
	})
	return feed, err
}

// Feeds lists the feeds that stand; with a case, its own.
func (k *Keeper) Feeds(id graft.CaseID) ([]ledger.Feed, error) {
	var list []ledger.Feed
	err := k.store.View(func(l Ledger) (err error) {
		list, err = l.Feeds(id)
		return err
	})
	return list, err
}

// FillFeed writes what the feed of a case shows at a moment. While nothing for the
// patient may go out, the feed stays as it is and Held says why.
func (k *Keeper) FillFeed(feed ledger.Feed, on day.Day, at time.Time) (FeedFile, error) {
	file := FeedFile{Feed: feed}
	err := k.store.Act(func(w Writing) error {
		live, err := k.live(w, feed.Case, on)
		if err != nil {
			return err
		}
		file.Patient = live.Kept.Patient
		if file.Held = live.heldBack(); file.Held != "" {
			return nil
		}
		if err := k.issue(w, live, graft.ForPatient, at); err != nil {
			return err
		}
		events, err := k.feedEvents(live, at)
		if err != nil {
			return err
		}
		if len(events) == 0 {
			file.Held = "no visit lies ahead"
			return nil
		}
		file.Data, err = ics.Encode(ics.Calendar{Name: k.calendarName(live.Plan, graft.ForPatient), Zone: k.Clinic.Zone, Refresh: feedRefresh, Events: events})
		return err
	})
	return file, err
}

// feedEvents are the visits that stand, those that were, and those called off
// lately.
func (k *Keeper) feedEvents(live Live, at time.Time) ([]ics.Event, error) {
	var events []ics.Event
	for _, m := range live.shown(graft.ForPatient) {
		events = append(events, k.numbered(live.Plan, m, graft.ForPatient))
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
		switch {
		case i.Cancelled && at.Sub(i.At) < cancelledShown:
			events = append(events, k.calledOff(live.Plan, e))
		case !i.Cancelled && live.was(i.Milestone) && g.Minutes > 0:
			events = append(events, e)
		}
	}
	slices.SortFunc(events, func(a, b ics.Event) int {
		return cmp.Or(a.Day.Sub(b.Day), cmp.Compare(a.Start, b.Start), cmp.Compare(a.UID, b.UID))
	})
	return events, nil
}
