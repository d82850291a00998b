package storetest

import (
	"bytes"
	"slices"
	"time"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// given are promises on what was given out: calendar files, messages, feeds and
// the shared calendar.
var given = []promise{
	{"the calendar key is 32 bytes, one for all desks and for good", func(d *desks) {
		const length = 32
		key := seen(d, desk.Ledger.CalendarKey)
		if len(key) != length || bytes.Equal(key, make([]byte, length)) {
			d.t.Errorf("the key is %x", key)
		}
		key = bytes.Clone(key)
		clear(seen(d, desk.Ledger.CalendarKey)) // what is handed out is the reader's own
		d.busyLedger()
		d.act(func(w desk.Writing) error {
			mine, err := w.CalendarKey()
			same(d, "the key at the other desk", mine, key)
			return err
		})
		same(d, "the key later on", seen(d, desk.Ledger.CalendarKey), key)
	}},
	{"an issue comes back as it was written", func(d *desks) {
		d.admit(okafor)
		i := ledger.Issue{
			Case: okafor, Milestone: graft.MilestoneID(awkward), Audience: graft.ForPatient, Revision: 1, Sequence: 1<<31 - 1,
			At: morning.In(time.FixedZone("", -5*60*60)), Cancelled: true, Event: []byte("{\"a\": \"x\"}\n\x00\xff\xfe" + awkward),
		}
		d.act(func(w desk.Writing) error { return w.AddIssue(i) })
		same(d, "issues", seen(d, issues(okafor)), []ledger.Issue{i})
	}},
	{"of an event's issues the latest counts, by milestone and audience", latestIssues},
	{"issues to an audience come back after a number", issuesAfter},
	{"messages come back oldest first, with what became of them", messagesInOrder},
	{"feeds that stand come back by case", func(d *desks) {
		d.admit(fenwick, okafor)
		theirs, first := feed(fenwick, "b"), feed(okafor, "c")
		first.Folder, first.By = awkward, awkward
		d.give(theirs, first)
		same(d, "all", seen(d, feeds("")), []ledger.Feed{first, theirs})
		same(d, "of one case", seen(d, feeds(fenwick)), []ledger.Feed{theirs})
		first.Revoked = morning.Add(time.Hour)
		d.act(func(w desk.Writing) error { return w.RevokeFeed(first, entry(okafor, "feed revoked")) })
		same(d, "after one was revoked", seen(d, feeds("")), []ledger.Feed{theirs})
		same(d, "of the case whose feed was revoked", seen(d, feeds(okafor)), nil)
		next := feed(okafor, "d")
		d.give(next)
		same(d, "of the case that has a new one", seen(d, feeds(okafor)), []ledger.Feed{next})
	}},
	{"of a visit in a shared calendar the latest row counts, by case and milestone", latestShelved},
	{"of a visit under way to a shared calendar all rows count from the last that is not", underWayThere},
	{"the token of a shared calendar is kept until the next one", func(d *desks) {
		for _, c := range []struct{ calendar, token, here, there string }{
			{here, "one", "one", ""},
			{there, awkward, "one", awkward},
			{here, "two", "two", awkward},
			{here, "", "", awkward},
			{here, "three", "three", awkward},
		} {
			d.act(func(w desk.Writing) error { return w.SetSyncToken(c.calendar, c.token) })
			same(d, "here", seen(d, token(here)), c.here)
			same(d, "there", seen(d, token(there)), c.there)
		}
	}},
	{"what is given out writes no entry", func(d *desks) {
		d.admit(okafor)
		before := d.entries()
		d.act(func(w desk.Writing) error {
			_, err := w.AddInvitation(message(okafor, uncovering))
			return first(err, w.AddIssue(issue(okafor, uncovering, graft.ForDesk)), w.AddShelved(shelf(here, okafor, uncovering)), w.SetSyncToken(here, "one"), w.SetDraft(draft(ida, "record", "{}")), w.DropDraft(ida, "record"), w.DropDrafts(morning))
		})
		same(d, "the history", d.entries(), before)
	}},
}

// Two shared calendars.
const (
	here  = "https://calendar.example/desk/"
	there = "https://calendar.example/desk/" + awkward
)

func issue(id graft.CaseID, m graft.MilestoneID, who graft.Audience) ledger.Issue {
	return ledger.Issue{Case: id, Milestone: m, Audience: who, Revision: 1, At: morning, Event: []byte(`{"start": "10:00"}`)}
}

func message(id graft.CaseID, m graft.MilestoneID) ledger.Invitation {
	return ledger.Invitation{
		Case: id, Milestone: m, Revision: 1, Method: ledger.Request, To: "patient@example.org", MessageID: "1@harbour-row.example", Event: []byte(`{"start": "10:00"}`),
		State: ledger.UnderWay, At: morning, By: ida,
	}
}

func feed(id graft.CaseID, token string) ledger.Feed {
	return ledger.Feed{Case: id, Token: token, Folder: "/srv/feeds", At: morning, By: ida}
}

func shelf(calendar string, id graft.CaseID, m graft.MilestoneID) ledger.Shelved {
	return ledger.Shelved{Calendar: calendar, Case: id, Milestone: m, Path: "/desk/1.ics", ETag: `"1"`, Event: []byte(`{}`), State: ledger.AsPut, At: morning}
}

// latestIssues gives events out again and again, of two cases in turn.
func latestIssues(d *desks) {
	d.admit(okafor, fenwick)
	latest := map[string]ledger.Issue{}
	for round := range 3 {
		for _, id := range []graft.CaseID{fenwick, okafor} {
			for _, who := range []graft.Audience{graft.ForSurgeon, graft.ForPatient, graft.ForDesk} {
				for _, m := range []graft.MilestoneID{uncovering, review} {
					if round == 2 && m == review {
						continue // given out twice only
					}
					i := issue(id, m, who)
					i.Sequence, i.Cancelled = round, round == 1
					i.At = morning.Add(-time.Duration(round) * time.Hour) // a desk's clock may be wrong
					d.act(func(w desk.Writing) error { return w.AddIssue(i) })
					latest[string(id)+string(m)+string(who)] = i
				}
			}
		}
	}
	for _, id := range []graft.CaseID{okafor, fenwick} {
		var want []ledger.Issue
		for _, m := range []graft.MilestoneID{review, uncovering} { // in the order of their names
			for _, who := range []graft.Audience{graft.ForDesk, graft.ForPatient, graft.ForSurgeon} {
				want = append(want, latest[string(id)+string(m)+string(who)])
			}
		}
		same(d, string(id), seen(d, issues(id)), want)
	}
}

func messagesInOrder(d *desks) {
	d.admit(okafor, fenwick)
	var want []ledger.Invitation
	for n, state := range []ledger.Sending{ledger.Failed, ledger.Written, ledger.Sent, ledger.UnderWay} {
		i := message(okafor, uncovering)
		i.Method, i.Sequence, i.To, i.MessageID, i.By, i.Says = []ledger.Method{ledger.Cancellation, ledger.Request}[n%2], n, awkward, awkward, awkward, awkward
		i.Event = [][]byte{nil, {}, []byte("\x00\xff" + awkward), []byte("{}")}[n]
		d.sent(message(fenwick, graft.MilestoneIDOf(graft.Recall, "", string(state))))
		i = d.sent(i)
		if state != ledger.UnderWay {
			i.State, i.At, i.By, i.Says = state, morning.Add(-time.Hour), tate, awkward+string(state)
			if err := d.end(i); err != nil {
				d.t.Fatal(err)
			}
		}
		want = append(want, i)
	}
	same(d, "messages", seen(d, messages(okafor)), want)
	numbers := map[int64]bool{0: true}
	for _, i := range append(want, seen(d, messages(fenwick))...) {
		if numbers[i.ID] {
			d.t.Errorf("number %d is nobody's own", i.ID)
		}
		numbers[i.ID] = true
	}
}

func latestShelved(d *desks) {
	d.admit(okafor, fenwick)
	put := func(calendar string, id graft.CaseID, m graft.MilestoneID, state ledger.ShelfState, tag string) ledger.Shelved {
		s := shelf(calendar, id, m)
		s.State, s.ETag, s.Path, s.Event = state, tag, awkward+tag, []byte("\x00\xff"+awkward)
		s.At = morning.Add(-time.Duration(len(tag)) * time.Hour)
		d.act(func(w desk.Writing) error { return w.AddShelved(s) })
		return s
	}
	put(here, fenwick, uncovering, ledger.AsPut, "a")
	put(here, okafor, uncovering, ledger.AsPut, "bb")
	want := []ledger.Shelved{
		put(here, fenwick, uncovering, ledger.TakenDown, awkward),
		put(here, okafor, uncovering, ledger.ChangedThere, ""),
		put(here, okafor, review, ledger.GoneThere, "ccc"),
	}
	slices.Reverse(want) // written the other way round
	other := put(there, okafor, uncovering, ledger.AsPut, "d")
	same(d, "here", seen(d, shelved(here, "")), want)
	same(d, "there", seen(d, shelved(there, "")), []ledger.Shelved{other})
	same(d, "nowhere", seen(d, shelved("", "")), nil)
	same(d, "calendars", seen(d, desk.Ledger.Calendars), slices.Sorted(slices.Values([]string{here, there})))
	for n := range want {
		slices.Reverse(want[n].Event) // the rows before keep their own
		d.act(func(w desk.Writing) error { return w.AddShelved(want[n]) })
	}
	same(d, "here, put anew", seen(d, shelved(here, "")), want)
}

// underWayThere puts a visit under way again and again, then lets one of its runs end,
// beside another that has never arrived and a third that rests.
func underWayThere(d *desks) {
	d.admit(okafor, fenwick)
	put := func(calendar string, id graft.CaseID, m graft.MilestoneID, state ledger.ShelfState, event string) ledger.Shelved {
		s := shelf(calendar, id, m)
		s.State, s.Event = state, []byte(event)
		d.act(func(w desk.Writing) error { return w.AddShelved(s) })
		return s
	}
	put(here, okafor, uncovering, ledger.UnderWayThere, "before")
	sure := put(here, okafor, uncovering, ledger.ChangedThere, "sure")
	first := put(here, okafor, uncovering, ledger.UnderWayThere, "first")
	never := put(here, okafor, review, ledger.UnderWayThere, "never")
	put(there, okafor, uncovering, ledger.AsPut, "other")
	rests := put(here, fenwick, uncovering, ledger.AsPut, "rests")
	removal := put(here, okafor, uncovering, ledger.UnderWayThere, "")
	again := put(here, okafor, uncovering, ledger.UnderWayThere, "first")
	mine := []ledger.Shelved{never, sure, first, removal, again} // in the order of their names
	same(d, "all", seen(d, shelved(here, "")), append(slices.Clone(mine), rests))
	same(d, "of one case", seen(d, shelved(here, okafor)), mine)
	same(d, "of the other", seen(d, shelved(here, fenwick)), []ledger.Shelved{rests})
	same(d, "of none", seen(d, shelved(here, "HR-none")), nil)
	ended := put(here, okafor, uncovering, ledger.TakenDown, "ended")
	same(d, "when it has ended", seen(d, shelved(here, okafor)), []ledger.Shelved{never, ended})
}

// sent writes a message that is under way and returns it with its number.
func (d *desks) sent(i ledger.Invitation) ledger.Invitation {
	d.t.Helper()
	d.act(func(w desk.Writing) (err error) { i.ID, err = w.AddInvitation(i); return err })
	return i
}

// end says at the second desk what became of a message.
func (d *desks) end(i ledger.Invitation) error {
	return d.second.Act(func(w desk.Writing) error { return w.EndInvitation(i, entry(i.Case, string(i.State))) })
}

// give writes feeds.
func (d *desks) give(feeds ...ledger.Feed) {
	d.t.Helper()
	d.act(func(w desk.Writing) error {
		for _, f := range feeds {
			if err := w.AddFeed(f, entry(f.Case, "feed")); err != nil {
				return err
			}
		}
		return nil
	})
}

func issues(id graft.CaseID) func(desk.Ledger) ([]ledger.Issue, error) {
	return func(l desk.Ledger) ([]ledger.Issue, error) { return l.Issues(id) }
}

func messages(id graft.CaseID) func(desk.Ledger) ([]ledger.Invitation, error) {
	return func(l desk.Ledger) ([]ledger.Invitation, error) { return l.Invitations(id) }
}

func feeds(id graft.CaseID) func(desk.Ledger) ([]ledger.Feed, error) {
	return func(l desk.Ledger) ([]ledger.Feed, error) { return l.Feeds(id) }
}

func shelved(calendar string, id graft.CaseID) func(desk.Ledger) ([]ledger.Shelved, error) {
	return func(l desk.Ledger) ([]ledger.Shelved, error) { return l.Shelved(calendar, id) }
}

func token(calendar string) func(desk.Ledger) (string, error) {
	return func(l desk.Ledger) (string, error) { return l.SyncToken(calendar) }
}

// issuesAfter gives out to two audiences and looks after each number there was.
func issuesAfter(d *desks) {
	same(d, "the head of none", seen(d, desk.Ledger.IssueHead), 0)
	d.admit(fenwick, okafor)
	var toDesk []ledger.Issue
	var heads []int64
	for n, id := range []graft.CaseID{okafor, fenwick, okafor, okafor, fenwick} {
		heads = append(heads, seen(d, desk.Ledger.IssueHead))
		given := issue(id, uncovering, graft.ForDesk)
		given.Sequence = n
		toDesk = append(toDesk, given)
		d.act(func(w desk.Writing) error {
			return first(w.AddIssue(issue(id, uncovering, graft.ForPatient)), w.AddIssue(given))
		})
	}
	for n, head := range append(heads, seen(d, desk.Ledger.IssueHead)) {
		if n > 0 && n < len(heads) && head <= heads[n-1] {
			d.t.Errorf("heads %v do not grow", heads)
		}
		same(d, "to the desk", seen(d, func(l desk.Ledger) ([]ledger.Issue, error) { return l.IssuesAfter(head, graft.ForDesk) }), toDesk[n:])
		same(d, "to the surgeon", seen(d, func(l desk.Ledger) ([]ledger.Issue, error) { return l.IssuesAfter(head, graft.ForSurgeon) }), nil)
	}
}
