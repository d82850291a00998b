package storetest

import (
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// refused are promises on what a store will not do.
var refused = []promise{
	{"a revision that does not follow is refused and told whose is current", func(d *desks) {
		add := func(id graft.CaseID, number int) error {
			return d.second.Act(func(w desk.Writing) error { return w.AddRevision(revision(id, number), entry(id, "set")) })
		}
		d.admit(okafor)
		before := seen(d, all)
		for _, number := range []int{-1, 0, 1, 3} {
			wantRefusal(d, "a number that does not follow", add(okafor, number), graft.Conflict, string(okafor), "revision 1", quill)
		}
		same(d, "after refusals", seen(d, all), before)
		if err := add(okafor, 2); err != nil {
			d.t.Error(err)
		}
		if err := add(fenwick, 2); err == nil {
			d.t.Error("a case that is not kept begins with revision 2")
		}
	}},
	{"a slot that is taken is refused and told who has it", func(d *desks) {
		for _, c := range clashes {
			d.clash(c)
		}
	}},
	{"a visit that was attended keeps its slot", func(d *desks) {
		d.admit(okafor, fenwick)
		s := slot(0, "Surgery 1", quill)
		if err := d.change(d.added(visit(okafor, uncovering, ledger.Booked, s)), ledger.Attended); err != nil {
			d.t.Fatal(err)
		}
		_, err := d.add(visit(fenwick, uncovering, ledger.Booked, s))
		wantRefusal(d, "where somebody was", err, graft.Conflict, "Surgery 1", "10:00-10:45", string(okafor), ida)
	}},
	{"a visit that has ended gives its slot back", func(d *desks) {
		d.admit(okafor, fenwick)
		s := slot(0, "Surgery 1", quill)
		for _, state := range []ledger.State{ledger.Missed, ledger.Moved, ledger.Cancelled, ledger.Superseded} {
			v := d.added(visit(okafor, uncovering, ledger.Booked, s))
			if err := d.change(v, state); err != nil {
				d.t.Fatalf("%s: %v", state, err)
			}
			other := d.added(visit(fenwick, uncovering, ledger.Booked, s))
			wantRefusal(d, "to take back what was given back", d.change(v, ledger.Booked), graft.Conflict, "Surgery 1", "10:00-10:45", string(fenwick), ida)
			if err := d.change(other, ledger.Cancelled); err != nil {
				d.t.Fatal(err)
			}
		}
	}},
	{"a visit without minutes is in nobody's way", func(d *desks) {
		d.admit(okafor, fenwick)
		d.added(visit(okafor, uncovering, ledger.Booked, lasting(slot(10, "Surgery 1", quill), 0)))
		d.added(visit(fenwick, uncovering, ledger.Booked, slot(0, "Surgery 1", quill)))
	}},
	{"a milestone has one open visit", func(d *desks) {
		d.admit(okafor)
		later := slot(0, "Surgery 1", quill)
		later.Day = thursday.AddDays(7)
		for _, open := range []ledger.State{ledger.WindowHeld, ledger.Booked} {
			v := d.added(visit(okafor, uncovering, open, slot(0, "Surgery 1", quill)))
			for _, again := range []ledger.State{ledger.WindowHeld, ledger.Booked} {
				_, err := d.add(visit(okafor, uncovering, again, later))
				wantRefusal(d, string(open)+", then "+string(again), err, graft.Conflict, uncovering.Title(), "Teni Okafor", ida)
			}
			d.added(visit(okafor, uncovering, ledger.Attended, later)) // not open
			d.added(visit(okafor, graft.MilestoneIDOf(graft.Recall, "", string(open)), ledger.WindowHeld, later))
			if err := d.change(v, ledger.Cancelled); err != nil {
				d.t.Fatal(err)
			}
		}
	}},
	{"what is about a case that is not kept is refused", func(d *desks) {
		for name, write := range map[string]func(desk.Writing) error{
			"visit": func(w desk.Writing) error {
				_, err := w.AddVisit(visit(okafor, uncovering, ledger.WindowHeld, graft.Slot{}), entry(okafor, "hold"))
				return err
			},
			"approval": func(w desk.Writing) error {
				return w.AddApproval(ledger.Approval{Case: okafor, Revision: 1}, entry(okafor, "approve"))
			},
			"override": func(w desk.Writing) error {
				return w.AddOverride(ledger.Override{Case: okafor, Revision: 1}, entry(okafor, "override"))
			},
			"contact": func(w desk.Writing) error {
				return w.AddContact(ledger.Contact{Case: okafor, Outcome: ledger.NoAnswer}, entry(okafor, "contact"))
			},
			"issue":           func(w desk.Writing) error { return w.AddIssue(issue(okafor, uncovering, graft.ForDesk)) },
			"message":         func(w desk.Writing) error { _, err := w.AddInvitation(message(okafor, uncovering)); return err },
			"feed":            func(w desk.Writing) error { return w.AddFeed(feed(okafor, "a"), entry(okafor, "feed")) },
			"revoked feed":    func(w desk.Writing) error { return w.RevokeFeed(feed(okafor, "a"), entry(okafor, "feed revoked")) },
			"shared calendar": func(w desk.Writing) error { return w.AddShelved(shelf(here, okafor, uncovering)) },
		} {
			wantRefusal(d, name, d.first.Act(write), graft.NotFound, string(okafor))
		}
		same(d, "everything", seen(d, all), everything{})
	}},
	{"the slot of a visit never changes", func(d *desks) {
		d.admit(okafor, fenwick)
		v := d.added(visit(okafor, uncovering, ledger.Booked, slot(0, "Surgery 1", quill)))
		for name, spoil := range map[string]func(*ledger.Visit){
			"case":      func(v *ledger.Visit) { v.Case = fenwick },
			"milestone": func(v *ledger.Visit) { v.Milestone = review },
			"day":       func(v *ledger.Visit) { v.Day = v.Day.AddDays(1) },
			"time":      func(v *ledger.Visit) { v.Start += 60 },
			"room":      func(v *ledger.Visit) { v.Room = "Surgery 2" },
			"window":    func(v *ledger.Visit) { v.Window.Latest = thursday },
		} {
			other := v
			spoil(&other)
			wantRefusal(d, name, d.change(other, ledger.Attended), graft.Invalid)
		}
		other := v
		other.ID += 5
		wantRefusal(d, "another number", d.change(other, ledger.Attended), graft.NotFound)
		same(d, "the visit", seen(d, desk.Ledger.AllVisits), []ledger.Visit{v})
	}},
	{"a day that could not be read back is not written", func(d *desks) {
		d.admit(okafor)
		s := slot(0, "", "")
		s.Day = day.Last.AddDays(1)
		if _, err := d.add(visit(okafor, uncovering, ledger.Booked, s)); err == nil {
			d.t.Error("written")
		}
		if got := seen(d, desk.Ledger.AllVisits); len(got) > 0 {
			d.t.Errorf("kept %v", got)
		}
	}},
}

// clash is a slot beside that of Teni Okafor, in Surgery 1 with Dr Alba Quill on
// the Thursday at 10:00-10:45.
type clash struct {
	name  string
	who   graft.CaseID
	slot  graft.Slot
	taken string // what the refusal begins with; empty: it may be booked
}

var clashes = []clash{
	{"same time, room and person", fenwick, slot(0, "Surgery 1", quill), "Surgery 1"},
	{"same room", fenwick, slot(0, "Surgery 1", tate), "Surgery 1"},
	{"same person", fenwick, slot(0, "Surgery 2", quill), quill},
	{"same patient", okafor, slot(0, "Surgery 2", tate), "the patient"},
	{"no room and no person, same patient", okafor, slot(0, "", ""), "the patient"},
	{"begins in its last minute", fenwick, slot(44, "Surgery 1", ""), "Surgery 1"},
	{"ends in its first minute", fenwick, slot(-44, "Surgery 1", ""), "Surgery 1"},
	{"lies inside", fenwick, lasting(slot(10, "Surgery 1", ""), 5), "Surgery 1"},
	{"lies around", fenwick, lasting(slot(-10, "", quill), 90), quill},
	{"begins at its end", fenwick, slot(45, "Surgery 1", quill), ""},
	{"ends at its beginning", fenwick, slot(-45, "Surgery 1", quill), ""},
	{"same patient, begins at its end", okafor, slot(45, "Surgery 1", quill), ""},
	{"other room and person", fenwick, slot(0, "Surgery 2", tate), ""},
	{"no room and no person", fenwick, slot(0, "", ""), ""},
	{"no minutes", okafor, lasting(slot(10, "Surgery 1", quill), 0), ""},
	{"next day", fenwick, graft.Slot{Day: thursday.AddDays(1), Start: 600, Minutes: 45, Room: "Surgery 1", Person: quill}, ""},
}

func lasting(s graft.Slot, minutes int) graft.Slot {
	s.Minutes = minutes
	return s
}

// clash books a slot beside that of Teni Okafor, which is booked before and
// cancelled after.
func (d *desks) clash(c clash) {
	d.t.Helper()
	if len(seen(d, desk.Ledger.Cases)) == 0 {
		d.admit(okafor, fenwick)
	}
	v := d.added(visit(okafor, uncovering, ledger.Booked, slot(0, "Surgery 1", quill)))
	history := len(seen(d, history("")))
	second, err := d.add(visit(c.who, review, ledger.Booked, c.slot))
	switch {
	case c.taken == "" && err != nil:
		d.t.Errorf("%s: %v", c.name, err)
	case c.taken == "":
		d.change(second, ledger.Cancelled)
	default:
		wantRefusal(d, c.name, err, graft.Conflict, c.taken+" is taken 10:00-10:45: HR-2044 Teni Okafor, "+uncovering.Title()+", booked by "+ida)
		if after := len(d.entries()); after != history {
			d.t.Errorf("%s: the refusal wrote %d entries", c.name, after-history)
		}
	}
	if err := d.change(v, ledger.Cancelled); err != nil {
		d.t.Error(err)
	}
}

func (d *desks) entries() []ledger.Entry {
	d.t.Helper()
	return seen(d, history(""))
}
