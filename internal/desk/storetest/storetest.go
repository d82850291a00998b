// Package storetest holds every desk.Store to what the desk relies on. It knows
// what a store promises and not how it keeps it.
package storetest

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Run holds a store to its promises. Open returns two handles on one empty ledger
// that is new each time, as two desks would have them.
func Run(t *testing.T, open func(t *testing.T) (first, second desk.Store)) {
	for _, group := range [][]promise{kept, refused, whole, given, withheld, signing} {
		for _, p := range group {
			t.Run(p.name, func(t *testing.T) {
				first, second := open(t)
				p.check(&desks{t, first, second})
			})
		}
	}
}

type promise struct {
	name  string
	check func(*desks)
}

// desks are two desks at one ledger.
type desks struct {
	t             *testing.T
	first, second desk.Store
}

// The cast.
const (
	okafor  = graft.CaseID("HR-2044")
	fenwick = graft.CaseID("HR-2045")
	ida     = "Ida Marlow"
	quill   = "Dr Alba Quill"
	tate    = "Nurse Wyn Tate"
)

var (
	patients   = map[graft.CaseID]string{okafor: "Teni Okafor", fenwick: "Nora Fenwick"}
	uncovering = graft.MilestoneIDOf(graft.Uncovering, "left molar", "")
	review     = graft.MilestoneIDOf(graft.HealingReview, "", "")
	morning    = time.Date(2027, time.January, 14, 9, 30, 5, 0, time.UTC)
	thursday   = day.New(2027, time.February, 11)
)

// slot is 10:00-10:45 on the Thursday, shifted by some minutes.
func slot(shift int, room, person string) graft.Slot {
	return graft.Slot{Day: thursday, Start: day.Clock(10*60 + shift), Minutes: 45, Room: room, Person: person}
}

func revision(id graft.CaseID, number int) ledger.Revision {
	return ledger.Revision{
		Case: id, Number: number, Patient: patients[id], Record: []byte("case: " + string(id) + "\n"), Timeline: []byte("{}"),
		RulesVersion: "0123456789ab", Source: "admit", On: day.Of(morning), At: morning, By: quill, Why: "first plan",
	}
}

func visit(id graft.CaseID, m graft.MilestoneID, state ledger.State, s graft.Slot) ledger.Visit {
	return ledger.Visit{Case: id, Patient: patients[id], Milestone: m, State: state, Slot: s, Revision: 1, Booked: morning, At: morning, By: ida}
}

func entry(id graft.CaseID, what string) ledger.Entry {
	return ledger.Entry{At: morning, By: ledger.Person{Name: ida, Role: "front desk"}, Case: id, What: what}
}

// act changes the ledger at the first desk and wants that to succeed.
func (d *desks) act(do func(w desk.Writing) error) {
	d.t.Helper()
	if err := d.first.Act(do); err != nil {
		d.t.Fatalf("act: %v", err)
	}
}

// admit keeps the first revision of cases.
func (d *desks) admit(ids ...graft.CaseID) {
	d.t.Helper()
	d.act(func(w desk.Writing) error {
		for _, id := range ids {
			if err := w.AddRevision(revision(id, 1), entry(id, "admit")); err != nil {
				return err
			}
		}
		return nil
	})
}

// add writes a visit at the first desk.
func (d *desks) add(v ledger.Visit) (added ledger.Visit, err error) {
	err = d.first.Act(func(w desk.Writing) error {
		v.ID, err = w.AddVisit(v, entry(v.Case, "book"))
		return err
	})
	return v, err
}

// added writes a visit and wants that to succeed.
func (d *desks) added(v ledger.Visit) ledger.Visit {
	d.t.Helper()
	v, err := d.add(v)
	if err != nil {
		d.t.Fatalf("add a visit: %v", err)
	}
	return v
}

// change brings a visit into another state at the first desk.
func (d *desks) change(v ledger.Visit, state ledger.State) error {
	v.State = state
	return d.first.Act(func(w desk.Writing) error { return w.ChangeVisit(v, entry(v.Case, string(state))) })
}

// seen returns what the second desk sees.
func seen[T any](d *desks, look func(desk.Ledger) (T, error)) T {
	d.t.Helper()
	var got T
	err := d.second.View(func(l desk.Ledger) (err error) {
		got, err = look(l)
		return err
	})
	if err != nil {
		d.t.Fatalf("look: %v", err)
	}
	return got
}

// everything is all that a ledger keeps of the cast.
type everything struct {
	Cases     []ledger.Kept
	Current   []ledger.Revision
	Visits    []ledger.Visit
	Approvals []ledger.Approval
	Overrides []ledger.Override
	Contacts  []ledger.Contact
	History   []ledger.Entry

	Issues   []ledger.Issue
	Messages []ledger.Invitation
	Feeds    []ledger.Feed
	Shelved  []ledger.Shelved
	Token    string

	DeskFeeds []ledger.Feed
	Accounts  []ledger.Account
	Draft     []byte
}

func all(l desk.Ledger) (e everything, err error) {
	var errs [15]error
	e.Cases, errs[0] = l.Cases()
	e.Current, errs[1] = l.Current()
	e.Visits, errs[2] = l.AllVisits()
	e.Approvals, errs[3] = l.Approvals(okafor)
	e.Overrides, errs[4] = l.Overrides(okafor)
	e.Contacts, errs[5] = l.Contacts(okafor)
	e.History, errs[6] = l.History("")
	e.Issues, errs[7] = l.Issues(okafor)
	e.Messages, errs[8] = l.Invitations(okafor)
	e.Feeds, errs[9] = l.Feeds("")
	e.Shelved, errs[10] = l.Shelved(here, "")
	e.Token, errs[11] = l.SyncToken(here)
	e.DeskFeeds, errs[12] = l.DeskFeeds()
	e.Accounts, errs[13] = l.Accounts()
	e.Draft, errs[14] = typed(l, ida, "record")
	return e, errors.Join(errs[:]...)
}

var asText = cmp.Transformer("day", day.Day.String)

// same compares what is kept with what was written.
func same[T any](d *desks, what string, got, want T) {
	d.t.Helper()
	if diff := cmp.Diff(want, got, asText, cmpopts.EquateEmpty()); diff != "" {
		d.t.Errorf("%s (- written, + kept):\n%s", what, diff)
	}
}

// wantRefusal wants a refusal of a kind that says all of the words.
func wantRefusal(d *desks, what string, err error, kind graft.RefusalKind, words ...string) {
	d.t.Helper()
	var refusal *graft.Refusal
	if !errors.As(err, &refusal) || refusal.Kind != kind {
		d.t.Errorf("%s: %v; want a refusal of kind %q", what, err, kind)
		return
	}
	for _, word := range words {
		if !strings.Contains(refusal.Message, word) {
			d.t.Errorf("%s: %q does not say %q", what, refusal.Message, word)
		}
	}
}
