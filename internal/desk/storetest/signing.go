package storetest

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// signing are promises on who may sign in, on what they are typing, on the feeds that
// the program serves and on the history as a whole.
var signing = []promise{
	{"a sign-in comes back as it was written, by name", func(d *desks) {
		wantRefusal(d, "before it is written", d.first.View(func(l desk.Ledger) error { _, err := l.Account(awkward); return err }), graft.NotFound)
		last, first := account(awkward+"b", 7), account(awkward+"a", 1)
		first.Hash, first.By, first.At = awkward, awkward, morning.In(time.FixedZone("", 3*60*60))
		d.act(func(w desk.Writing) error {
			if err := w.SetAccount(last, entry("", "password")); err != nil {
				return err
			}
			return w.SetAccount(first, entry("", "password"))
		})
		same(d, "one", seen(d, accountOf(first.Name)), first)
		same(d, "all", seen(d, desk.Ledger.Accounts), []ledger.Account{first, last})
	}},
	{"a sign-in is set anew, ends, and stands again", func(d *desks) {
		d.password(account(ida, 1))
		next := account(ida, 2)
		next.Hash, next.By, next.At = "$other", quill, morning.Add(time.Hour)
		d.password(next)
		same(d, "set anew", seen(d, accountOf(ida)), next)
		over := ended(next)
		d.act(func(w desk.Writing) error { return w.EndAccount(over, entry("", "end sign-in")) })
		over.Hash = ""
		same(d, "ended, it keeps no hash", seen(d, accountOf(ida)), over)
		same(d, "ended, in the list", seen(d, desk.Ledger.Accounts), []ledger.Account{over})
		d.password(account(ida, 3))
		same(d, "it stands again", seen(d, accountOf(ida)), account(ida, 3))
	}},
	{"a sign-in's version never falls, and one that is none is refused", func(d *desks) {
		d.password(account(ida, 2))
		d.password(account(ida, 2)) // hashed anew
		before := seen(d, all)
		set := func(spoil func(*ledger.Account)) error {
			a := account(ida, 3)
			spoil(&a)
			return d.second.Act(func(w desk.Writing) error { return w.SetAccount(a, entry("", "password")) })
		}
		wantRefusal(d, "an earlier version", set(func(a *ledger.Account) { a.Version = 1 }), graft.Conflict)
		wantRefusal(d, "no version", set(func(a *ledger.Account) { a.Version = 0 }), graft.Invalid, ida)
		wantRefusal(d, "no hash", set(func(a *ledger.Account) { a.Hash = "" }), graft.Invalid, ida)
		wantRefusal(d, "one that has ended", set(func(a *ledger.Account) { a.Ended = morning }), graft.Invalid, ida)
		if set(func(a *ledger.Account) { a.Name = "" }) == nil {
			d.t.Error("a sign-in of nobody is kept")
		}
		same(d, "everything", seen(d, all), before)
	}},
	{"a sign-in that does not stand cannot end", func(d *desks) {
		end := func(a ledger.Account) error {
			return d.second.Act(func(w desk.Writing) error { return w.EndAccount(a, entry("", "end sign-in")) })
		}
		wantRefusal(d, "none was set", end(ended(account(ida, 1))), graft.NotFound, ida)
		d.password(account(ida, 1))
		wantRefusal(d, "at no time", end(account(ida, 1)), graft.Invalid, ida)
		if err := end(ended(account(ida, 1))); err != nil {
			d.t.Error(err)
		}
		before := seen(d, all)
		wantRefusal(d, "twice", end(ended(account(ida, 1))), graft.NotFound, ida)
		same(d, "everything", seen(d, all), before)
	}},
	{"no hash of a password is in the history", func(d *desks) {
		d.password(account(ida, 1))
		if said := fmt.Sprint(d.entries()); len(d.entries()) != 1 || strings.Contains(said, account(ida, 1).Hash) {
			d.t.Error(said)
		}
	}},
	{"a draft is one person's for one form, until it is dropped", drafts},
	{"old drafts are dropped together", func(d *desks) {
		old, edge := draft(ida, "old", "x"), draft(tate, "edge", "y")
		old.At, edge.At = morning.Add(-time.Hour-time.Second), morning.Add(-time.Hour)
		d.act(func(w desk.Writing) error {
			return first(w.SetDraft(old), w.SetDraft(edge), w.SetDraft(draft(ida, "new", "z")), w.DropDrafts(morning.Add(-time.Hour)))
		})
		wantRefusal(d, "the old one", d.first.View(func(l desk.Ledger) error { _, err := l.Draft(ida, "old"); return err }), graft.NotFound)
		same(d, "at the edge", seen(d, draftOf(tate, "edge")), edge)
		same(d, "the new one", seen(d, draftOf(ida, "new")), draft(ida, "new", "z"))
	}},
	{"a draft of nobody or for no form is not kept", func(d *desks) {
		for _, spoilt := range []ledger.Draft{draft("", "record", "x"), draft(ida, "", "x")} {
			if d.first.Act(func(w desk.Writing) error { return w.SetDraft(spoilt) }) == nil {
				d.t.Errorf("kept %+v", spoilt)
			}
		}
	}},
	{"feeds of the desk stand one a person, beside those of cases", deskFeeds},
	{"a served feed is found by its token, and nothing else is", foundByToken},
	{"a token is one feed's for good, of a case or of the desk", func(d *desks) {
		d.admit(okafor)
		f := served(feed(okafor, "a"))
		d.give(f, deskFeed("", "b"))
		add := func(f ledger.Feed) error {
			return d.second.Act(func(w desk.Writing) error { return w.AddFeed(f, entry(f.Case, "feed")) })
		}
		wantRefusal(d, "a case's", add(deskFeed(ida, "a")), graft.Conflict)
		d.act(func(w desk.Writing) error { return w.RevokeFeed(revokedFeed(f), entry(okafor, "feed revoked")) })
		wantRefusal(d, "a revoked one's", add(deskFeed(ida, "a")), graft.Conflict)
		wantRefusal(d, "the desk's", add(served(feed(okafor, "b"))), graft.Conflict)
		if add(deskFeed(ida, "")) == nil {
			d.t.Error("a feed without a token is kept")
		}
		same(d, "feeds of the desk", seen(d, desk.Ledger.DeskFeeds), []ledger.Feed{deskFeed("", "b")})
	}},
	{"the head of the history is its latest entry, whatever it says", func(d *desks) {
		same(d, "of an empty one", seen(d, desk.Ledger.Head), 0)
		d.busyLedger()
		d.act(func(w desk.Writing) error { return w.AddEntry(entry("", ledger.SignInRefused)) })
		entries := d.entries()
		head := entries[len(entries)-1].Seq
		same(d, "head", seen(d, desk.Ledger.Head), head)
		for _, after := range []int64{-1, 0, 1, head - 1, head, head + 1} {
			want := slices.DeleteFunc(slices.Clone(entries), func(e ledger.Entry) bool { return e.Seq <= after })
			same(d, fmt.Sprintf("entries after %d", after), seen(d, func(l desk.Ledger) ([]ledger.Entry, error) { return l.EntriesAfter(after) }), want)
		}
	}},
	{"a part of the history lies next to a number", partsOfHistory},
}

func account(name string, version int) ledger.Account {
	return ledger.Account{Name: name, Hash: "$hash of " + name, Version: version, At: morning, By: quill}
}

func ended(a ledger.Account) ledger.Account {
	a.Ended = morning.Add(2 * time.Hour)
	return a
}

func draft(who, form, fields string) ledger.Draft {
	return ledger.Draft{Who: who, Form: form, Fields: []byte(fields), At: morning}
}

func deskFeed(person, token string) ledger.Feed {
	return ledger.Feed{Person: person, Token: token, At: morning, By: ida}
}

func served(f ledger.Feed) ledger.Feed {
	f.Folder = ""
	return f
}

func revokedFeed(f ledger.Feed) ledger.Feed {
	f.Revoked = morning
	return f
}

// password writes a sign-in.
func (d *desks) password(a ledger.Account) {
	d.t.Helper()
	d.act(func(w desk.Writing) error { return w.SetAccount(a, entry("", "password")) })
}

func accountOf(name string) func(desk.Ledger) (ledger.Account, error) {
	return func(l desk.Ledger) (ledger.Account, error) { return l.Account(name) }
}

func draftOf(who, form string) func(desk.Ledger) (ledger.Draft, error) {
	return func(l desk.Ledger) (ledger.Draft, error) { return l.Draft(who, form) }
}

// typed is what somebody has typed into a form; nothing if no draft is kept.
func typed(l desk.Ledger, who, form string) ([]byte, error) {
	d, err := l.Draft(who, form)
	var refusal *graft.Refusal
	if errors.As(err, &refusal) && refusal.Kind == graft.NotFound {
		return nil, nil
	}
	return d.Fields, err
}

func drafts(d *desks) {
	none := func(what, who, form string) {
		d.t.Helper()
		wantRefusal(d, what, d.second.View(func(l desk.Ledger) error { _, err := l.Draft(who, form); return err }), graft.NotFound)
	}
	none("before it is kept", ida, "record")
	mine, other, theirs := draft(ida, "record", "one"), draft(ida, awkward, "two"), draft(tate, "record", "three")
	mine.Fields, other.At = []byte("\x00\xff"+awkward), morning.In(time.FixedZone("", -3*60*60))
	d.act(func(w desk.Writing) error { return first(w.SetDraft(mine), w.SetDraft(other), w.SetDraft(theirs)) })
	same(d, "mine", seen(d, draftOf(ida, "record")), mine)
	same(d, "mine for another form", seen(d, draftOf(ida, awkward)), other)
	same(d, "another's", seen(d, draftOf(tate, "record")), theirs)
	mine.Fields, mine.At = nil, morning.Add(-time.Hour)
	d.act(func(w desk.Writing) error { return w.SetDraft(mine) })
	same(d, "kept anew", seen(d, draftOf(ida, "record")), mine)
	d.act(func(w desk.Writing) error { return first(w.DropDraft(ida, "record"), w.DropDraft(ida, "record")) })
	none("dropped", ida, "record")
	same(d, "another's stays", seen(d, draftOf(tate, "record")), theirs)
}

func deskFeeds(d *desks) {
	d.admit(okafor)
	whole, own := deskFeed("", "b"), deskFeed(awkward, "a")
	own.By = awkward
	ofCase := served(feed(okafor, "c"))
	d.give(own, ofCase, whole)
	same(d, "of the desk", seen(d, desk.Ledger.DeskFeeds), []ledger.Feed{whole, own})
	same(d, "of cases", seen(d, feeds("")), []ledger.Feed{ofCase})
	add := func(f ledger.Feed) error {
		return d.second.Act(func(w desk.Writing) error { return w.AddFeed(f, entry("", "feed")) })
	}
	wantRefusal(d, "a second of all", add(deskFeed("", "d")), graft.Conflict, "the desk", ida, "2027-01-14 09:30 UTC")
	wantRefusal(d, "a second of one person", add(deskFeed(awkward, "d")), graft.Conflict, awkward)
	inFolder := deskFeed(tate, "d")
	inFolder.Folder = "/srv/feeds"
	wantRefusal(d, "one in a folder", add(inFolder), graft.Invalid, tate)
	revoke := func(f ledger.Feed) error {
		return d.second.Act(func(w desk.Writing) error { return w.RevokeFeed(f, entry("", "feed revoked")) })
	}
	wantRefusal(d, "revoked at no time", revoke(own), graft.Invalid)
	wantRefusal(d, "none to revoke", revoke(revokedFeed(deskFeed(tate, "a"))), graft.NotFound, tate)
	if err := revoke(revokedFeed(own)); err != nil {
		d.t.Error(err)
	}
	wantRefusal(d, "revoked twice", revoke(revokedFeed(own)), graft.NotFound)
	same(d, "after one was revoked", seen(d, desk.Ledger.DeskFeeds), []ledger.Feed{whole})
	if err := add(deskFeed(awkward, "e")); err != nil {
		d.t.Errorf("a new one: %v", err)
	}
}

func foundByToken(d *desks) {
	d.admit(okafor, fenwick)
	inFolder, ofCase, whole, own := feed(fenwick, "a"), served(feed(okafor, "b")), deskFeed("", "c"), deskFeed(tate, awkward)
	d.give(inFolder, ofCase, whole, own)
	for _, f := range []ledger.Feed{ofCase, whole, own} {
		same(d, f.Token, seen(d, func(l desk.Ledger) (ledger.Feed, error) { return l.FeedOf(f.Token) }), f)
	}
	find := func(token string) error {
		return d.second.View(func(l desk.Ledger) error { _, err := l.FeedOf(token); return err })
	}
	never := find("never was")
	wantRefusal(d, "one that never was", never, graft.NotFound)
	for _, f := range []ledger.Feed{ofCase, whole, own} {
		d.act(func(w desk.Writing) error { return w.RevokeFeed(revokedFeed(f), entry(f.Case, "feed revoked")) })
	}
	for _, token := range []string{"a", "b", "c", awkward, "", "B", "b ", "' OR 1 = 1 --"} {
		if err := find(token); err == nil || err.Error() != never.Error() {
			d.t.Errorf("%q: %v, and one that never was: %v", token, err, never)
		}
	}
}
