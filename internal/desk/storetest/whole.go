package storetest

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// whole are promises on acts: all or nothing, one at a time, each with its entry.
var whole = []promise{
	{"every change writes its own entry and no other", func(d *desks) {
		d.admit(okafor)
		v := visit(okafor, uncovering, ledger.Booked, slot(0, "Surgery 1", quill))
		var want []ledger.Entry
		for n, write := range everyChange(&v, d.sent(message(okafor, uncovering))) {
			e := entry(okafor, fmt.Sprintf("change %d", n))
			e.Was, e.Now, e.Why, e.Milestone = fmt.Sprint("was ", n), "now", awkward, uncovering
			before := d.entries()
			d.act(func(w desk.Writing) error { return write(w, e) })
			e.Seq = seen(d, kase(okafor)).Head
			want = append(want, e)
			same(d, e.What, seen(d, history(okafor)), append(before, e))
		}
		same(d, "the history", d.entries()[1:], want)
	}},
	{"an act that fails leaves nothing", func(d *desks) {
		before := d.busyLedger()
		failure := errors.New("the printer is on fire")
		got := d.first.Act(func(w desk.Writing) error {
			d.spoil(w)
			return failure
		})
		if !errors.Is(got, failure) {
			d.t.Errorf("the error is %v", got)
		}
		same(d, "after a failed act", seen(d, all), before)
	}},
	{"an act that panics leaves nothing, and others may act", func(d *desks) {
		before := d.busyLedger()
		func() {
			defer func() {
				if got := recover(); got != "lights out" {
					d.t.Errorf("the panic is %v", got)
				}
			}()
			d.first.Act(func(w desk.Writing) error {
				d.spoil(w)
				panic("lights out")
			})
		}()
		same(d, "after a panic", seen(d, all), before)
		for _, store := range []desk.Store{d.second, d.first} {
			if err := store.Act(func(w desk.Writing) error { return w.AddEntry(entry(okafor, "look")) }); err != nil {
				d.t.Error(err)
			}
		}
	}},
	{"a change of a revision that is never written leaves nothing", func(d *desks) {
		d.admit(okafor)
		before := seen(d, all)
		err := d.first.Act(func(w desk.Writing) error {
			return w.AddOverride(ledger.Override{Case: okafor, Milestone: uncovering, Revision: 2, Day: thursday}, entry(okafor, "override"))
		})
		if err == nil {
			d.t.Error("an override of no revision is kept")
		}
		same(d, "everything", seen(d, all), before)
	}},
	{"an override may come before the revision it makes", func(d *desks) {
		d.admit(okafor)
		d.act(func(w desk.Writing) error {
			return first(
				w.AddOverride(ledger.Override{Case: okafor, Milestone: uncovering, Revision: 2, Day: thursday}, entry(okafor, "override")),
				w.AddRevision(revision(okafor, 2), entry(okafor, "revision")),
			)
		})
	}},
	{"an act goes on after a refusal", func(d *desks) {
		d.admit(okafor, fenwick)
		d.added(visit(okafor, uncovering, ledger.Booked, slot(0, "Surgery 1", quill)))
		d.act(func(w desk.Writing) error {
			_, err := w.AddVisit(visit(fenwick, review, ledger.Booked, slot(0, "Surgery 1", quill)), entry(fenwick, "book"))
			e := entry(fenwick, "book refused")
			e.Why = err.Error()
			return w.AddEntry(e)
		})
		got := seen(d, history(fenwick))
		if last := got[len(got)-1]; len(got) != 2 || !strings.Contains(last.Why, "is taken") {
			d.t.Errorf("history %v", got)
		}
	}},
	{"an act sees what it has written, and nobody else does before it is done", func(d *desks) {
		before := d.busyLedger()
		d.act(func(w desk.Writing) error {
			d.spoil(w)
			mine, err := all(w)
			if len(mine.History) == len(before.History) || len(mine.Visits) == len(before.Visits) {
				d.t.Error("the act does not see its own changes")
			}
			same(d, "what another sees meanwhile", seen(d, all), before)
			return err
		})
		if got := seen(d, all); len(got.History) == len(before.History) {
			d.t.Error("nobody sees the act after it is done")
		}
	}},
	{"a look sees one moment", func(d *desks) {
		before := d.busyLedger()
		err := d.second.View(func(l desk.Ledger) error {
			if _, err := l.Cases(); err != nil {
				return err
			}
			d.act(func(w desk.Writing) error { d.spoil(w); return nil })
			got, err := all(l)
			same(d, "what the look still sees", got, before)
			return err
		})
		if err != nil {
			d.t.Error(err)
		}
	}},
	{"of many who want one slot one gets it, and the others are told who", race},
}

// everyChange is every kind of change with an entry, in an order in which each is
// possible, of a message that is under way.
func everyChange(v *ledger.Visit, under ledger.Invitation) []func(desk.Writing, ledger.Entry) error {
	return []func(desk.Writing, ledger.Entry) error{
		func(w desk.Writing, e ledger.Entry) error { return w.AddRevision(revision(okafor, 2), e) },
		func(w desk.Writing, e ledger.Entry) (err error) { v.ID, err = w.AddVisit(*v, e); return err },
		func(w desk.Writing, e ledger.Entry) error { v.State = ledger.Cancelled; return w.ChangeVisit(*v, e) },
		func(w desk.Writing, e ledger.Entry) error {
			return w.AddApproval(ledger.Approval{Case: okafor, Revision: 2}, e)
		},
		func(w desk.Writing, e ledger.Entry) error {
			return w.AddOverride(ledger.Override{Case: okafor, Revision: 2}, e)
		},
		func(w desk.Writing, e ledger.Entry) error {
			return w.AddContact(ledger.Contact{Case: okafor, Outcome: ledger.NoAnswer}, e)
		},
		func(w desk.Writing, e ledger.Entry) error {
			under.State, under.At = ledger.Sent, morning.Add(time.Minute)
			return w.EndInvitation(under, e)
		},
		func(w desk.Writing, e ledger.Entry) error { return w.AddFeed(feed(okafor, "a"), e) },
		func(w desk.Writing, e ledger.Entry) error {
			return w.RevokeFeed(revokedFeed(feed(okafor, "a")), e)
		},
		func(w desk.Writing, e ledger.Entry) error { return w.AddFeed(deskFeed(ida, "desk a"), e) },
		func(w desk.Writing, e ledger.Entry) error {
			return w.RevokeFeed(revokedFeed(deskFeed(ida, "desk a")), e)
		},
		func(w desk.Writing, e ledger.Entry) error { return w.SetAccount(account(ida, 1), e) },
		func(w desk.Writing, e ledger.Entry) error { return w.EndAccount(ended(account(ida, 1)), e) },
		desk.Writing.AddEntry,
	}
}

// busyLedger writes one of everything and returns all of it.
func (d *desks) busyLedger() everything {
	d.t.Helper()
	d.admit(okafor, fenwick)
	v := visit(okafor, uncovering, ledger.Booked, slot(0, "Surgery 1", quill))
	for _, write := range everyChange(&v, d.sent(message(okafor, uncovering))) {
		d.act(func(w desk.Writing) error { return write(w, entry(okafor, "change")) })
	}
	d.give(feed(okafor, "b"), deskFeed("", "desk b"))
	d.act(func(w desk.Writing) error { return w.SetAccount(account(tate, 1), entry("", "password")) })
	d.sent(message(okafor, review))
	d.act(func(w desk.Writing) error { return giveOut(w, "one") })
	return seen(d, all)
}

// spoil changes something of every kind.
func (d *desks) spoil(w desk.Writing) {
	d.t.Helper()
	v := visit(okafor, review, ledger.Booked, slot(0, "Surgery 2", tate))
	id, err := w.AddVisit(v, entry(okafor, "book"))
	v.ID, v.State = id, ledger.Missed
	err = first(err,
		w.ChangeVisit(v, entry(okafor, "missed")),
		w.AddRevision(revision(okafor, 3), entry(okafor, "set")),
		w.AddApproval(ledger.Approval{Case: okafor, Revision: 3}, entry(okafor, "approve")),
		w.AddOverride(ledger.Override{Case: okafor, Revision: 3}, entry(okafor, "override")),
		w.AddContact(ledger.Contact{Case: okafor, Visit: id, Outcome: ledger.Declined}, entry(okafor, "contact")),
		w.AddEntry(entry(okafor, "look")),
		spoilGiven(w),
	)
	if err != nil {
		d.t.Error(err)
	}
}

// spoilGiven changes something of every kind that was given out.
func spoilGiven(w desk.Writing) error {
	kept, err := w.Invitations(okafor)
	if err != nil {
		return err
	}
	over := kept[len(kept)-1]
	over.State = ledger.Failed
	err = first(
		w.EndInvitation(over, entry(okafor, "invite")),
		w.RevokeFeed(revokedFeed(feed(okafor, "b")), entry(okafor, "feed revoked")),
		w.AddFeed(feed(fenwick, "c"), entry(fenwick, "feed")),
		w.RevokeFeed(revokedFeed(deskFeed("", "desk b")), entry("", "feed revoked")),
		w.AddFeed(deskFeed(tate, "desk c"), entry("", "feed")),
		w.EndAccount(ended(account(tate, 1)), entry("", "end sign-in")),
		w.SetAccount(account(quill, 1), entry("", "password")),
		w.DropDraft(ida, "record"),
		giveOut(w, "two"),
	)
	if err == nil {
		_, err = w.AddInvitation(message(okafor, review))
	}
	return err
}

// giveOut writes one of everything that comes without an entry, but for a message.
func giveOut(w desk.Writing, word string) error {
	i, s := issue(okafor, uncovering, graft.ForDesk), shelf(here, okafor, uncovering)
	i.Event, s.Event = []byte(word), []byte(word)
	return first(w.AddIssue(i), w.AddShelved(s), w.SetSyncToken(here, word), w.SetDraft(draft(ida, "record", word)))
}

// race has both desks book one slot for two patients, many times at once.
func race(d *desks) {
	d.admit(okafor, fenwick)
	var wait sync.WaitGroup
	results := make([]error, 20)
	for n := range results {
		wait.Go(func() {
			id, store := []graft.CaseID{okafor, fenwick}[n%2], []desk.Store{d.first, d.second}[n/2%2]
			results[n] = store.Act(func(w desk.Writing) error {
				_, err := w.AddVisit(visit(id, graft.MilestoneIDOf(graft.Recall, "", fmt.Sprint(n)), ledger.Booked, slot(n, "Surgery 1", "")), entry(id, "book"))
				return err
			})
		})
	}
	wait.Wait()
	held := seen(d, desk.Ledger.AllVisits)
	if len(held) != 1 {
		d.t.Fatalf("%d have the slot", len(held))
	}
	for _, err := range results {
		if err != nil {
			wantRefusal(d, "a loser", err, graft.Conflict, string(held[0].Case)+" "+held[0].Patient, ida)
		}
	}
}
