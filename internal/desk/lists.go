package desk

import (
	"fmt"
	"slices"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/sheet"
)

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

// cells writes a row in the columns: a visit for which the patient comes where it is
// booked, also one that does not fit, and any other step where the plan has it.
func (r *Row) cells() []string {
	s := r.Slot
	if !r.stays && r.List != Visits && r.List != Unconfirmed {
		s = graft.Slot{Day: r.Placed}
	}
	on, start := "no day", ""
	if !s.Day.IsZero() {
		on = dayText(s.Day)
	}
	if s.Minutes > 0 {
		start = s.Start.String()
	}
	return []string{on, start, string(r.Case), r.Patient, r.Title(), string(r.State), s.Room, s.Person, joined(r.Marks()), sentence(r.Do, r.says())}
}

// says writes why the row is here, and of a visit that does not fit why not.
func (r *Row) says() string {
	var unfit []string
	if r.Unfit != "" {
		unfit = []string{"does not fit, " + r.Unfit}
	}
	switch {
	case r.List == Visits:
		return joined(unfit)
	case r.List == Due:
		return "window to " + dayText(r.Window.Latest)
	case r.List == Unconfirmed:
		return joined(append(unfit, r.contacted()))
	case !r.Since.IsZero():
		return r.Why + ", late since " + dayText(r.Since)
	}
	return r.Why
}

// contacted says how often the patient was called about a visit and what came of
// it last.
func (r *Row) contacted() string {
	if r.Calls == 0 {
		return "not called yet"
	}
	often := fmt.Sprintf("called %d times", r.Calls)
	if r.Calls == 1 {
		often = "called once"
	}
	return fmt.Sprintf("%s, last: %s on %s", often, r.Last.Outcome, r.Last.At.Format(time.DateOnly))
}

func dayText(d day.Day) string {
	return d.Weekday().String()[:3] + " " + d.String()
}

func sentence(do, says string) string {
	if says == "" {
		return do
	}
	return do + ": " + says
}

func (k *Keeper) sheet(title string, on day.Day, columns []sheet.Column, sections ...sheet.Section) sheet.Sheet {
	return sheet.Sheet{Title: title, Clinic: k.Clinic.ShortName, On: on, Columns: columns, Sections: sections, Caution: Caution}
}

// section writes rows as one part of a list.
func section(name, empty string, rows []Line) sheet.Section {
	s := sheet.Section{Name: name, Empty: empty, Ticks: true}
	for _, r := range rows {
		s.Rows = append(s.Rows, r.cells())
	}
	return s
}

// lists plans every case and puts together what the desk has to do on a day; of what
// is to be booked, what is due until another.
func (k *Keeper) lists(on, until day.Day) (Morning, error) {
	all, err := k.All(on)
	g := gathering{Morning: Morning{On: on, Cases: len(all)}}
	for _, live := range all {
		s := k.shareOf(live, until)
		g.add(&s, false)
	}
	return g.sorted(), err
}

// Today lists the visits of a day, also those that do not fit, whom to call, and what
// waits for a surgeon.
func (k *Keeper) Today(on day.Day) (sheet.Sheet, error) {
	m, err := k.lists(on, on)
	return k.sheet("Today", on, columns("day", "state"),
		section("Visits", "No visit is booked.", m.Visits),
		section("To call", "Nobody needs a call.", m.Calls),
		waiting(m.Drafts)), err
}

// waiting lists the plans that no surgeon has approved, and what is in the way.
func waiting(drafts []Draft) sheet.Section {
	s := sheet.Section{Name: "Waiting for a surgeon", Empty: "Every plan is approved.", Ticks: true}
	for _, d := range drafts {
		s.Rows = append(s.Rows, []string{"", "", string(d.Case), d.Patient, fmt.Sprintf("plan, revision %d", d.Revision), "draft", "", d.Surgeon, "", d.Do()})
	}
	return s
}

// Due lists what is to be booked: the steps whose proposed day lies within so many
// weeks and that have no slot yet.
func (k *Keeper) Due(on day.Day, weeks int) (sheet.Sheet, error) {
	const daysPerWeek = 7
	m, err := k.lists(on, on.AddDays(weeks*daysPerWeek))
	return k.sheet(fmt.Sprintf("Due within %d weeks", weeks), on, columns("time", "room", "with"), section("Due", "Nothing is due.", m.Firm)), err
}

// Overdue lists the steps whose window has passed, the gravest first.
func (k *Keeper) Overdue(on day.Day) (sheet.Sheet, error) {
	m, err := k.lists(on, on)
	return k.sheet("Overdue", on, columns("time", "room", "with"), section("Overdue", "Nothing is overdue.", m.calls(Overdue))), err
}

// Unconfirmed lists the visits of the coming days that the patient has not
// confirmed. Long lead and a missed visit before ask for two contacts.
func (k *Keeper) Unconfirmed(on day.Day) (sheet.Sheet, error) {
	m, err := k.lists(on, on)
	return k.sheet("Unconfirmed", on, columns("state", "room"), section("Unconfirmed", "Every visit of the coming days is confirmed.", m.calls(Unconfirmed))), err
}

// hitColumns are those of the visits that do not fit.
var hitColumns = []sheet.Column{
	{Key: "case", Head: "Case"}, {Key: "patient", Head: "Patient", Names: true}, {Key: "step", Head: "Step"}, {Key: "booked", Head: "Booked"}, {Key: "why", Head: "Why"}, {Key: "proposal", Head: "Proposal"},
}

// HitSheet lists the visits that the clinic cannot hold as its file now stands.
func (k *Keeper) HitSheet(on day.Day) (sheet.Sheet, error) {
	m, err := k.lists(on, on)
	s := sheet.Section{Name: "Hit", Empty: "The clinic can hold every visit that is booked."}
	for _, h := range m.Hits {
		s.Rows = append(s.Rows, []string{string(h.Case), h.Patient, h.Title(), h.Was.String(), h.Why, h.Does()})
	}
	return k.sheet("Visits hit by closures and absences", on, hitColumns, s), err
}
