package desk

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/sheet"
)

// line is one row of a list: a milestone of a case with what the desk does about
// it.
type line struct {
	live Live
	m    graft.Milestone
	do   string
	says string // why it is here
	rank int    // of harm; 0 is the gravest
}

// pick walks over the milestones of every case that still wait to be attended.
func pick(all []Live, want func(l Live, m graft.Milestone) (line, bool)) []line {
	var picked []line
	for _, live := range all {
		for _, m := range live.Timeline.Milestones {
			if row, ok := want(live, m); ok && m.Attended.IsZero() {
				row.live, row.m = live, m
				picked = append(picked, row)
			}
		}
	}
	return picked
}

// columns are those of every list of visits; the page to print has room for eight
// of them, so a list says which it leaves out there.
func columns(offPage ...string) []sheet.Column {
	all := []sheet.Column{
		{Key: "day", Head: "Day"}, {Key: "time", Head: "Time"}, {Key: "case", Head: "Case"}, {Key: "patient", Head: "Patient", Names: true}, {Key: "step", Head: "Step"},
		{Key: "state", Head: "State"}, {Key: "room", Head: "Room"}, {Key: "with", Head: "With"}, {Key: "marks", Head: "Marks"}, {Key: "do", Head: "Do"},
	}
	for n := range all {
		all[n].OffPage = slices.Contains(offPage, all[n].Key)
	}
	return all
}

// row writes a line in the columns.
func (k *Keeper) row(r line) []string {
	s, state := r.m.Slot, r.live.State(r.m.ID)
	if !r.m.Booked {
		s = graft.Slot{Day: r.m.Placed}
	}
	start := ""
	if s.Minutes > 0 {
		start = s.Start.String()
	}
	return []string{dayText(s.Day), start, string(r.live.Kept.Case), r.live.Kept.Patient, r.m.Title(), string(state), s.Room, s.Person, joined(k.marks(r)), sentence(r.do, r.says)}
}

func dayText(d day.Day) string {
	if d.IsZero() {
		return ""
	}
	return d.Weekday().String()[:3] + " " + d.String()
}

func sentence(do, says string) string {
	if says == "" {
		return do
	}
	return do + ": " + says
}

// marks are what the desk should know of a visit before it picks up the phone.
func (k *Keeper) marks(r line) []string {
	var marks []string
	if v, ok := r.live.Latest(r.m.ID); ok && v.State == ledger.Booked && k.longLead(v) {
		marks = append(marks, "long lead")
	}
	if r.live.Missed() > 0 {
		marks = append(marks, "missed before")
	}
	if r.m.Override != nil {
		marks = append(marks, "set by surgeon")
	}
	if r.live.Approval == nil {
		marks = append(marks, "draft")
	}
	return marks
}

// longLead reports whether the visit was booked longer ahead than the rules think
// safe from being forgotten.
func (k *Keeper) longLead(v ledger.Visit) bool {
	return v.Day.After(day.Of(v.Booked).Add(k.Rules.Period("long-lead")))
}

func (k *Keeper) sheet(title string, on day.Day, columns []sheet.Column, sections ...sheet.Section) sheet.Sheet {
	return sheet.Sheet{Title: title, Clinic: k.Clinic.ShortName, On: on, Columns: columns, Sections: sections, Caution: Caution}
}

// section writes lines as one part of a list.
func (k *Keeper) section(name, empty string, lines []line) sheet.Section {
	s := sheet.Section{Name: name, Empty: empty, Ticks: true}
	for _, l := range lines {
		s.Rows = append(s.Rows, k.row(l))
	}
	return s
}

// Today lists the visits of a day, whom to call, and what waits for a surgeon.
func (k *Keeper) Today(on day.Day) (sheet.Sheet, error) {
	all, err := k.All(on)
	visits := pick(all, func(_ Live, m graft.Milestone) (line, bool) {
		return line{do: "receive"}, m.Booked && m.Placed == on
	})
	slices.SortStableFunc(visits, byTime)
	return k.sheet("Today", on, columns("day", "state"),
		k.section("Visits", "No visit is booked.", visits),
		k.section("To call", "Nobody needs a call.", k.toCall(all, on)),
		waiting(all)), err
}

// waiting lists the plans that no surgeon has approved, and what is in the way.
func waiting(all []Live) sheet.Section {
	s := sheet.Section{Name: "Waiting for a surgeon", Empty: "Every plan is approved.", Ticks: true}
	for _, l := range all {
		if l.Approval != nil {
			continue
		}
		do := "approve or override"
		switch {
		case l.Stopped():
			do = "stop: " + firstStop(l.Timeline.Findings)
		case !l.Settled():
			do = "settle first: something booked does not fit"
		}
		s.Rows = append(s.Rows, []string{"", "", string(l.Kept.Case), l.Kept.Patient, fmt.Sprintf("plan, revision %d", l.Kept.Revision), "draft", "", l.Case.Surgery.Surgeon, "", do})
	}
	return s
}

func byTime(a, b line) int {
	return cmp.Or(a.m.Placed.Sub(b.m.Placed), cmp.Compare(a.m.Slot.Start, b.m.Slot.Start), strings.Compare(string(a.live.Kept.Case), string(b.live.Kept.Case)))
}

// toCall lists the calls of a day: after surgery, overdue by harm, unconfirmed.
func (k *Keeper) toCall(all []Live, on day.Day) []line {
	calls := pick(all, func(_ Live, m graft.Milestone) (line, bool) {
		return line{do: "call", says: "the call after surgery"}, m.Step == graft.PhoneCall && !m.Overdue && m.Placed == on
	})
	return slices.Concat(calls, overdue(all, on), k.unconfirmed(all, on))
}

// Due lists what is to be booked: the steps whose proposed day lies within so many
// weeks and that have no slot yet.
func (k *Keeper) Due(on day.Day, weeks int) (sheet.Sheet, error) {
	const daysPerWeek = 7
	until := on.AddDays(weeks * daysPerWeek)
	all, err := k.All(on)
	due := pick(all, func(_ Live, m graft.Milestone) (line, bool) {
		row := line{do: "book", says: "window to " + dayText(m.Window.Latest)}
		if m.Visit == "" {
			row.do = "do"
		}
		return row, !m.Booked && !m.Overdue && !m.Placed.IsZero() && !m.Placed.After(until)
	})
	slices.SortStableFunc(due, byTime)
	return k.sheet(fmt.Sprintf("Due within %d weeks", weeks), on, columns("time", "room", "with"), k.section("Due", "Nothing is due.", due)), err
}

// Overdue lists the steps whose window has passed, the gravest first.
func (k *Keeper) Overdue(on day.Day) (sheet.Sheet, error) {
	all, err := k.All(on)
	return k.sheet("Overdue", on, columns("time", "room", "with"), k.section("Overdue", "Nothing is overdue.", overdue(all, on))), err
}

func overdue(all []Live, on day.Day) []line {
	late := pick(all, func(l Live, m graft.Milestone) (line, bool) {
		missed := l.State(m.ID) == ledger.Missed
		rank, harm := harmOf(m.Step, missed)
		row := line{do: "call and book", rank: rank, says: harm}
		switch {
		case m.Booked && m.Placed.Before(on):
			row.do, row.says = "record attended or missed", harm+", if nobody came"
		case m.Booked:
			return row, false
		case m.Overdue:
			row.says = harm + ", late since " + dayText(m.Window.Latest)
		case !missed:
			return row, false
		}
		if m.Visit == "" {
			row.do = "do"
		}
		return row, true
	})
	slices.SortStableFunc(late, func(a, b line) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), a.m.Window.Latest.Sub(b.m.Window.Latest), byTime(a, b))
	})
	return late
}

// harm ranks what is overdue, the gravest first: what goes unseen in the first
// weeks, stitches left in, a loading that waits, a recall.
var harm = []struct {
	says  string
	steps []graft.Step
}{
	{"early check missed", []graft.Step{graft.PhoneCall, graft.LateCheck}},
	{"stitches past their time", []graft.Step{graft.WoundCheck}},
	{"loading waits", []graft.Step{graft.Placement, graft.Uncovering, graft.Impression, graft.FirstLoading, graft.DefinitiveRestoration, graft.ReEntry, graft.ImagingDecision}},
	{"review overdue", []graft.Step{graft.HealingReview}},
	{"recall overdue", []graft.Step{graft.Recall}},
}

// harmOf ranks a step; a wound check that the patient missed is an early check.
func harmOf(step graft.Step, missed bool) (rank int, says string) {
	if missed && step == graft.WoundCheck {
		return 0, harm[0].says
	}
	for rank, h := range harm {
		if slices.Contains(h.steps, step) {
			return rank, h.says
		}
	}
	return len(harm), "overdue"
}

// Unconfirmed lists the visits of the coming days that the patient has not
// confirmed. Long lead and a missed visit before ask for two contacts.
func (k *Keeper) Unconfirmed(on day.Day) (sheet.Sheet, error) {
	all, err := k.All(on)
	return k.sheet("Unconfirmed", on, columns("state", "room"), k.section("Unconfirmed", "Every visit of the coming days is confirmed.", k.unconfirmed(all, on))), err
}

func (k *Keeper) unconfirmed(all []Live, on day.Day) []line {
	until := on.Add(k.Rules.Period("unconfirmed-within"))
	open := pick(all, func(l Live, m graft.Milestone) (line, bool) {
		v, ok := l.Latest(m.ID)
		if !ok || v.State != ledger.Booked || v.Day.Before(on) || v.Day.After(until) || l.ConfirmedVisit(v) {
			return line{}, false
		}
		return line{do: "confirm", says: l.contacted(v)}, true
	})
	slices.SortStableFunc(open, byTime)
	return open
}

// contacted says how often the patient was called about a visit and what came of
// it last.
func (l Live) contacted(v ledger.Visit) string {
	calls, last := 0, ledger.Contact{}
	for _, c := range l.Contacts {
		if c.Visit == v.ID {
			calls, last = calls+1, c
		}
	}
	if calls == 0 {
		return "not called yet"
	}
	often := fmt.Sprintf("called %d times", calls)
	if calls == 1 {
		often = "called once"
	}
	return fmt.Sprintf("%s, last: %s on %s", often, last.Outcome, last.At.Format(time.DateOnly))
}

// hitColumns are those of the visits that do not fit.
var hitColumns = []sheet.Column{
	{Key: "case", Head: "Case"}, {Key: "patient", Head: "Patient", Names: true}, {Key: "step", Head: "Step"}, {Key: "booked", Head: "Booked"}, {Key: "why", Head: "Why"}, {Key: "proposal", Head: "Proposal"},
}

// HitSheet lists the visits that the clinic cannot hold as its file now stands.
func (k *Keeper) HitSheet(on day.Day) (sheet.Sheet, error) {
	hits, err := k.Hits(on)
	s := sheet.Section{Name: "Hit", Empty: "The clinic can hold every visit that is booked."}
	for _, h := range hits {
		s.Rows = append(s.Rows, []string{string(h.Case), h.Patient, h.ID.Title(), h.Was.String(), h.Why, h.Does()})
	}
	return k.sheet("Visits hit by closures and absences", on, hitColumns, s), err
}
