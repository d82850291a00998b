package storetest

import (
	"sync"
	"time"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// withheld are promises on what a store will not do with messages and feeds.
var withheld = []promise{
	{"a second message under way is refused and told who sends the first", func(d *desks) {
		d.admit(okafor, fenwick)
		under := d.sent(message(okafor, uncovering))
		add := func(i ledger.Invitation) error {
			return d.second.Act(func(w desk.Writing) error { _, err := w.AddInvitation(i); return err })
		}
		again := message(okafor, uncovering)
		again.Method, again.By, again.At = ledger.Cancellation, tate, morning.Add(time.Hour)
		for _, end := range []ledger.Sending{ledger.Failed, ledger.Sent, ledger.Written} {
			wantRefusal(d, "before it is "+string(end), add(again), graft.Conflict, "under way", ida, "2027-01-14 09:30 UTC", string(okafor), "Teni Okafor", uncovering.Title())
			same(d, "the latest message", d.latest(okafor), under)
			under.State = end
			if err := d.end(under); err != nil {
				d.t.Fatal(err)
			}
			under = d.sent(message(okafor, uncovering))
		}
		if err := first(add(message(okafor, review)), add(message(fenwick, uncovering))); err != nil {
			d.t.Errorf("about another visit: %v", err)
		}
	}},
	{"a message begins under way", func(d *desks) {
		d.admit(okafor)
		for _, state := range []ledger.Sending{"", ledger.Sent, ledger.Written, ledger.Failed, "lost"} {
			i := message(okafor, uncovering)
			i.State = state
			wantRefusal(d, string(state), d.first.Act(func(w desk.Writing) error { _, err := w.AddInvitation(i); return err }), graft.Invalid, string(state))
		}
		same(d, "messages", seen(d, messages(okafor)), nil)
	}},
	{"a message ends once", func(d *desks) {
		d.admit(okafor)
		ends := []ledger.Sending{ledger.Sent, ledger.Written, ledger.Failed}
		for _, end := range ends {
			i := d.sent(message(okafor, uncovering))
			i.State, i.By = end, tate
			if err := d.end(i); err != nil {
				d.t.Fatal(err)
			}
			for _, again := range append(ends, ledger.UnderWay) {
				other := i
				other.State, other.By = again, ida
				wantRefusal(d, string(end)+", then "+string(again), d.end(other), graft.Conflict, string(end), tate, "2027-01-14 09:30 UTC")
			}
			same(d, string(end), d.latest(okafor), i)
		}
	}},
	{"what a message says never changes, and its end is one of three", spoiltEnds},
	{"of many who want to send one message one does", func(d *desks) {
		d.admit(okafor)
		var wait sync.WaitGroup
		results := make([]error, 12)
		for n := range results {
			wait.Go(func() {
				results[n] = []desk.Store{d.first, d.second}[n%2].Act(func(w desk.Writing) error {
					_, err := w.AddInvitation(message(okafor, uncovering))
					return err
				})
			})
		}
		wait.Wait()
		if held := seen(d, messages(okafor)); len(held) != 1 {
			d.t.Errorf("%d are under way", len(held))
		}
		for _, err := range results {
			if err != nil {
				wantRefusal(d, "a loser", err, graft.Conflict, ida)
			}
		}
	}},
	{"a second feed that stands is refused and told who made the first", func(d *desks) {
		d.admit(okafor)
		f := feed(okafor, "a")
		d.give(f)
		next := feed(okafor, "b")
		next.By = tate
		add := func() error {
			return d.second.Act(func(w desk.Writing) error { return w.AddFeed(next, entry(okafor, "feed")) })
		}
		wantRefusal(d, "a second feed", add(), graft.Conflict, string(okafor), ida, "2027-01-14 09:30 UTC")
		same(d, "feeds", seen(d, feeds("")), []ledger.Feed{f})
		f.Revoked = morning
		d.act(func(w desk.Writing) error { return w.RevokeFeed(f, entry(okafor, "feed revoked")) })
		if err := add(); err != nil {
			d.t.Errorf("after the first was revoked: %v", err)
		}
	}},
	{"a feed that does not stand cannot be revoked", func(d *desks) {
		d.admit(okafor, fenwick)
		d.give(feed(fenwick, "a"))
		f := feed(okafor, "b")
		revoke := func(at time.Time) error {
			f.Revoked = at
			return d.second.Act(func(w desk.Writing) error { return w.RevokeFeed(f, entry(okafor, "feed revoked")) })
		}
		wantRefusal(d, "none was made", revoke(morning), graft.NotFound, string(okafor))
		d.give(f)
		wantRefusal(d, "at no time", revoke(time.Time{}), graft.Invalid, string(okafor))
		if err := revoke(morning); err != nil {
			d.t.Error(err)
		}
		before := seen(d, all)
		wantRefusal(d, "twice", revoke(morning), graft.NotFound, string(okafor))
		same(d, "everything", seen(d, all), before)
		same(d, "the other's", seen(d, feeds(fenwick)), []ledger.Feed{feed(fenwick, "a")})
	}},
	{"a feed's token is its own for good, and not empty", func(d *desks) {
		d.admit(okafor, fenwick)
		f := feed(okafor, "a")
		d.give(f)
		add := func(token string) error {
			return d.first.Act(func(w desk.Writing) error { return w.AddFeed(feed(fenwick, token), entry(fenwick, "feed")) })
		}
		wantRefusal(d, "another's token", add("a"), graft.Conflict)
		f.Revoked = morning
		d.act(func(w desk.Writing) error { return w.RevokeFeed(f, entry(okafor, "feed revoked")) })
		wantRefusal(d, "the token of one that was revoked", add("a"), graft.Conflict)
		if add("") == nil {
			d.t.Error("a feed without a token is kept")
		}
		same(d, "feeds", seen(d, feeds("")), nil)
	}},
}

// latest is the message of a case that was written last.
func (d *desks) latest(id graft.CaseID) ledger.Invitation {
	d.t.Helper()
	all := seen(d, messages(id))
	return all[len(all)-1]
}

// spoiltEnds ends a message in every way that is none.
func spoiltEnds(d *desks) {
	d.admit(okafor, fenwick)
	under := d.sent(message(okafor, uncovering))
	for name, spoil := range map[string]func(*ledger.Invitation){
		"case":       func(i *ledger.Invitation) { i.Case = fenwick },
		"milestone":  func(i *ledger.Invitation) { i.Milestone = review },
		"revision":   func(i *ledger.Invitation) { i.Revision++ },
		"method":     func(i *ledger.Invitation) { i.Method = ledger.Cancellation },
		"sequence":   func(i *ledger.Invitation) { i.Sequence++ },
		"address":    func(i *ledger.Invitation) { i.To = "other@example.org" },
		"message id": func(i *ledger.Invitation) { i.MessageID = "2@harbour-row.example" },
		"its event":  func(i *ledger.Invitation) { i.Event = []byte("{}") },
		"no event":   func(i *ledger.Invitation) { i.Event = nil },
		"no end":     func(i *ledger.Invitation) { i.State = ledger.UnderWay },
		"no state":   func(i *ledger.Invitation) { i.State = "" },
		"not one":    func(i *ledger.Invitation) { i.State = "lost" },
	} {
		other := under
		other.State = ledger.Sent
		spoil(&other)
		wantRefusal(d, name, d.end(other), graft.Invalid)
	}
	other := under
	other.ID, other.State = under.ID+5, ledger.Sent
	wantRefusal(d, "another number", d.end(other), graft.NotFound)
	same(d, "the message", seen(d, messages(okafor)), []ledger.Invitation{under})
	if entries := d.entries(); len(entries) != 2 {
		d.t.Errorf("refusals wrote entries: %v", entries)
	}
}
