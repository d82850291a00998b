package storetest

import (
	"fmt"
	"slices"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// awkward is a text that a careless store would spoil.
const awkward = " O'Brien said \"50 %\";\n-- Žofie Şimşek\tÅ Å 中文 🦷 ? $1 :a @b \r\n'' "

// kept are promises on what comes back.
var kept = []promise{
	{"an empty ledger is empty", func(d *desks) {
		same(d, "everything", seen(d, all), everything{})
		same(d, "booked", seen(d, booked(day.Span{From: day.First, To: day.Last})), nil)
		same(d, "visits", seen(d, visits(okafor)), nil)
		wantRefusal(d, "a case", d.first.View(func(l desk.Ledger) error { _, err := l.Case(okafor); return err }), graft.NotFound, string(okafor))
		wantRefusal(d, "a revision", d.first.View(func(l desk.Ledger) error { _, err := l.Revision(okafor, 1); return err }), graft.NotFound, string(okafor))
	}},
	{"the latest change of any visit is known", func(d *desks) {
		same(d, "of none", seen(d, desk.Ledger.VisitsChanged).Unix(), 0)
		d.admit(fenwick, okafor)
		for n, id := range []graft.CaseID{okafor, fenwick, okafor} {
			v := visit(id, uncovering+graft.MilestoneID(rune('a'+n)), ledger.WindowHeld, graft.Slot{})
			v.At = morning.Add([]time.Duration{time.Minute, time.Hour, time.Second}[n])
			d.act(func(w desk.Writing) error { _, err := w.AddVisit(v, entry(id, "hold")); return err })
			same(d, "of some", seen(d, desk.Ledger.VisitsChanged), morning.Add([]time.Duration{time.Minute, time.Hour, time.Hour}[n]).UTC())
		}
	}},
	{"a revision comes back as it was written", func(d *desks) {
		r := ledger.Revision{
			Case: "Ä 7/β", Number: 1, Patient: awkward, Record: []byte("a: \"x\"\n\x00\xff\xfe" + awkward), Timeline: []byte(`{"a": "b"}`), RulesVersion: awkward,
			Source: awkward, On: day.Last, At: morning.In(time.FixedZone("", 2*60*60)), By: awkward, Why: awkward,
		}
		d.act(func(w desk.Writing) error { return w.AddRevision(r, entry(r.Case, "admit")) })
		same(d, "revision", seen(d, func(l desk.Ledger) (ledger.Revision, error) { return l.Revision(r.Case, 1) }), r)
		same(d, "case", seen(d, kase(r.Case)), ledger.Kept{Case: r.Case, Patient: awkward, Revision: 1, Head: 1})
	}},
	{"a revision of empty fields comes back empty", func(d *desks) {
		r := ledger.Revision{Case: okafor, Number: 1}
		d.act(func(w desk.Writing) error { return w.AddRevision(r, ledger.Entry{}) })
		got := seen(d, func(l desk.Ledger) (ledger.Revision, error) { return l.Revision(okafor, 1) })
		if len(got.Record) != 0 || len(got.Timeline) != 0 || !got.On.IsZero() || !got.At.IsZero() {
			d.t.Errorf("got %+v", got)
		}
	}},
	{"every revision stays, and the latest is current", func(d *desks) {
		d.admit(fenwick, okafor)
		second := revision(okafor, 2)
		second.Patient, second.Why = "Teni Okafor-Lindt", "married"
		d.act(func(w desk.Writing) error { return w.AddRevision(second, entry(okafor, "set")) })
		same(d, "current", seen(d, desk.Ledger.Current), []ledger.Revision{second, revision(fenwick, 1)})
		same(d, "the first", seen(d, func(l desk.Ledger) (ledger.Revision, error) { return l.Revision(okafor, 1) }), revision(okafor, 1))
		same(d, "cases", seen(d, desk.Ledger.Cases), []ledger.Kept{{Case: okafor, Patient: second.Patient, Revision: 2, Head: 3}, {Case: fenwick, Patient: "Nora Fenwick", Revision: 1, Head: 1}})
	}},
	{"visits of every state come back in the order they were made", func(d *desks) {
		d.admit(okafor, fenwick)
		want := visitsOfEveryState()
		for i := range want {
			want[i].ID = d.added(want[i]).ID
		}
		same(d, "all", seen(d, desk.Ledger.AllVisits), want)
		same(d, "of one case", seen(d, visits(okafor)), slices.DeleteFunc(want, func(v ledger.Visit) bool { return v.Case != okafor }))
	}},
	{"a visit names the patient as the case does now", func(d *desks) {
		d.admit(okafor)
		d.added(visit(okafor, uncovering, ledger.Booked, slot(0, "Surgery 1", quill)))
		next := revision(okafor, 2)
		next.Patient = "Teni Lindt"
		d.act(func(w desk.Writing) error { return w.AddRevision(next, entry(okafor, "set")) })
		if got := seen(d, visits(okafor)); got[0].Patient != "Teni Lindt" {
			d.t.Errorf("got %q", got[0].Patient)
		}
	}},
	{"what is booked comes by day and time, from the first day of the span to the last", bookedInOrder},
	{"approvals, overrides and contacts come back oldest first", recorded},
	{"an entry comes back as it was written", func(d *desks) {
		d.admit(okafor)
		about := ledger.Entry{Seq: 99, At: morning, By: ledger.Person{Name: awkward, Role: awkward}, Case: okafor, Milestone: graft.MilestoneID(awkward), What: awkward, Was: awkward, Now: awkward, Why: awkward}
		none := ledger.Entry{At: morning, What: "backup"}
		unkept := entry("HR-9999", "admit refused")
		d.act(func(w desk.Writing) error {
			return first(w.AddEntry(about), w.AddEntry(none), w.AddEntry(unkept))
		})
		first := entry(okafor, "admit")
		first.Seq, about.Seq, none.Seq, unkept.Seq = 1, 2, 3, 4
		same(d, "all", seen(d, history("")), []ledger.Entry{first, about, none, unkept})
		same(d, "of the case", seen(d, history(okafor)), []ledger.Entry{first, about})
		same(d, "of the case that is not kept", seen(d, history("HR-9999")), []ledger.Entry{unkept})
	}},
	{"a case's head is its own latest entry", func(d *desks) {
		d.admit(okafor)
		before := seen(d, kase(okafor)).Head
		d.admit(fenwick)
		if got := seen(d, kase(okafor)).Head; got != before {
			d.t.Errorf("an entry about another case moves the head from %d to %d", before, got)
		}
		d.act(func(w desk.Writing) error { return w.AddEntry(entry(okafor, "look")) })
		head := seen(d, kase(okafor)).Head
		if head <= seen(d, kase(fenwick)).Head {
			d.t.Errorf("the head is %d after a new entry", head)
		}
		for _, what := range []string{ledger.Refused, ledger.SignIn, ledger.SignInRefused} {
			d.act(func(w desk.Writing) error { return w.AddEntry(entry(okafor, what)) })
			if got := seen(d, kase(okafor)).Head; got != head {
				d.t.Errorf("%q, which changes no case, moves the head from %d to %d", what, head, got)
			}
			for _, c := range seen(d, desk.Ledger.Cases) {
				if c.Case == okafor && c.Head != head {
					d.t.Errorf("%q moves the head to %d in the list of cases", what, c.Head)
				}
			}
		}
		d.act(func(w desk.Writing) error { return w.AddEntry(entry(okafor, "book")) })
		if got := seen(d, kase(okafor)).Head; got != head+4 {
			d.t.Errorf("the head is %d after the next change, was %d", got, head)
		}
	}},
}

// visitsOfEveryState are one visit of each state that the ledger keeps, of two
// cases in turn.
func visitsOfEveryState() []ledger.Visit {
	window := graft.Window{NotBefore: thursday, Earliest: thursday.AddDays(1), Target: thursday.AddDays(7), Latest: thursday.AddDays(20)}
	var all []ledger.Visit
	for n, state := range ledger.States[1:] {
		id := []graft.CaseID{okafor, fenwick}[n%2]
		v := visit(id, graft.MilestoneID(awkward+string(state)), state, slot(n, awkward, awkward))
		v.Window, v.Why, v.By, v.At = window, awkward, tate, morning.Add(time.Hour)
		all = append(all, v)
	}
	all[0].Slot = graft.Slot{} // a held window
	all[2].Slot = graft.Slot{Day: thursday}
	all[2].Window = graft.Window{}
	return all
}

func bookedInOrder(d *desks) {
	d.admit(okafor, fenwick)
	type place struct {
		day, minute int
		id          graft.CaseID
		state       ledger.State
	}
	var want []ledger.Visit
	for n, p := range []place{
		{3, 0, okafor, ledger.Booked},
		{0, 0, okafor, ledger.Booked},
		{1, 45, fenwick, ledger.Booked},
		{1, 0, okafor, ledger.Booked},
		{1, 0, fenwick, ledger.Booked},
		{1, 200, fenwick, ledger.Cancelled},
		{2, 0, fenwick, ledger.Missed},
		{2, 0, fenwick, ledger.WindowHeld},
		{2, 0, okafor, ledger.Attended},
		{4, 0, okafor, ledger.Booked},
	} {
		s := slot(p.minute, "", "")
		s.Day = thursday.AddDays(p.day)
		want = append(want, d.added(visit(p.id, graft.MilestoneIDOf(graft.Recall, "", string(rune('a'+n))), p.state, s)))
	}
	span := day.Span{From: thursday.AddDays(1), To: thursday.AddDays(3)}
	same(d, "booked", seen(d, booked(span)), []ledger.Visit{want[3], want[4], want[2], want[8], want[0]})
	same(d, "booked on one day", seen(d, booked(day.Span{From: thursday, To: thursday})), want[1:2])
	same(d, "booked on no day", seen(d, booked(day.Span{})), nil)
}

func recorded(d *desks) {
	d.admit(okafor, fenwick)
	v := d.added(visit(okafor, uncovering, ledger.Booked, slot(0, "Surgery 1", quill)))
	want := everything{
		Approvals: []ledger.Approval{{Case: okafor, Revision: 1, At: morning, By: quill}, {Case: okafor, Revision: 1, At: morning, By: awkward}},
		Overrides: []ledger.Override{
			{Case: okafor, Milestone: uncovering, Revision: 1, Day: thursday, On: day.Of(morning), At: morning, By: quill, Why: awkward},
			{Case: okafor, Milestone: uncovering, Revision: 1, On: day.Of(morning), At: morning.Add(-time.Hour), By: quill, Why: "taken back"},
		},
	}
	for n, outcome := range ledger.Outcomes {
		want.Contacts = append(want.Contacts, ledger.Contact{Case: okafor, Milestone: uncovering, Visit: v.ID * int64(n%2), Outcome: outcome, At: morning, By: ida, Says: awkward})
	}
	d.act(func(w desk.Writing) error {
		return first(
			w.AddApproval(want.Approvals[0], entry(okafor, "approve")), w.AddApproval(want.Approvals[1], entry(okafor, "approve")),
			w.AddOverride(want.Overrides[0], entry(okafor, "override")), w.AddOverride(want.Overrides[1], entry(okafor, "override")),
			w.AddApproval(ledger.Approval{Case: fenwick, Revision: 1}, entry(fenwick, "approve")),
			w.AddOverride(ledger.Override{Case: fenwick, Revision: 1}, entry(fenwick, "override")),
			w.AddContact(ledger.Contact{Case: fenwick, Outcome: ledger.NoAnswer}, entry(fenwick, "contact")),
		)
	})
	d.act(func(w desk.Writing) error {
		for _, c := range want.Contacts {
			if err := w.AddContact(c, entry(okafor, "contact")); err != nil {
				return err
			}
		}
		return nil
	})
	got := seen(d, all)
	same(d, "approvals", got.Approvals, want.Approvals)
	same(d, "overrides", got.Overrides, want.Overrides)
	same(d, "contacts", got.Contacts, want.Contacts)
}

// first returns the first error.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func kase(id graft.CaseID) func(desk.Ledger) (ledger.Kept, error) {
	return func(l desk.Ledger) (ledger.Kept, error) { return l.Case(id) }
}

func visits(id graft.CaseID) func(desk.Ledger) ([]ledger.Visit, error) {
	return func(l desk.Ledger) ([]ledger.Visit, error) { return l.Visits(id) }
}

func history(id graft.CaseID) func(desk.Ledger) ([]ledger.Entry, error) {
	return func(l desk.Ledger) ([]ledger.Entry, error) { return l.History(id) }
}

func booked(span day.Span) func(desk.Ledger) ([]ledger.Visit, error) {
	return func(l desk.Ledger) ([]ledger.Visit, error) { return l.TakenOn(span) }
}

// partsOfHistory compares parts of the history of each case, and of none, with what they
// are parts of.
func partsOfHistory(d *desks) {
	d.busyLedger()
	for _, id := range []graft.CaseID{"", okafor, okafor} {
		d.act(func(w desk.Writing) error { return w.AddEntry(entry(id, "contact")) })
	}
	all := d.entries()
	for _, id := range []graft.CaseID{"", fenwick, okafor, "HR-0"} {
		about := slices.DeleteFunc(slices.Clone(all), func(e ledger.Entry) bool { return e.Case != id })
		for seq := int64(-1); seq <= all[len(all)-1].Seq+1; seq++ {
			after := slices.DeleteFunc(slices.Clone(about), func(e ledger.Entry) bool { return e.Seq <= seq })
			before := slices.DeleteFunc(slices.Clone(about), func(e ledger.Entry) bool { return e.Seq >= seq })
			slices.Reverse(before)
			for _, most := range []int{1, 2, len(all)} {
				same(d, fmt.Sprintf("%d of %q after %d", most, id, seq), seen(d, func(l desk.Ledger) ([]ledger.Entry, error) { return l.HistoryAfter(id, seq, most) }), after[:min(len(after), most)])
				same(d, fmt.Sprintf("%d of %q before %d", most, id, seq), seen(d, func(l desk.Ledger) ([]ledger.Entry, error) { return l.HistoryBefore(id, seq, most) }), before[:min(len(before), most)])
			}
		}
	}
}
