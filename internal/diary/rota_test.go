package diary_test

import (
	"slices"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// rota is a clinic as small as the diary's questions: weekdays, closures, and
// the weekdays on which each visit and each role can be had.
type rota struct {
	Open   day.Weekdays
	Closed []day.Span
	Visits map[string]day.Weekdays
	Roles  map[string]day.Weekdays
}

var _ diary.Clinic = rota{}

func (r rota) FitsAny(d day.Day) (bool, string) {
	for _, c := range r.Closed {
		if c.Contains(d) {
			return false, "closed: refit"
		}
	}
	if !r.Open.Has(d.Weekday()) {
		return false, "closed on " + d.Weekday().String() + "s"
	}
	return true, ""
}

func (r rota) has(d day.Day, days day.Weekdays, what string) (bool, string) {
	if ok, why := r.FitsAny(d); !ok {
		return false, why
	}
	if !days.Has(d.Weekday()) {
		return false, "no " + what + " on " + d.Weekday().String() + "s"
	}
	return true, ""
}

func (r rota) Fits(d day.Day, visit string) (bool, string) {
	return r.has(d, r.Visits[visit], visit)
}

func (r rota) FitsRole(d day.Day, role string) (bool, string) {
	return r.has(d, r.Roles[role], role+" in")
}

func (r rota) Obstacles(d day.Day, visit, role string) []string {
	ok, why := r.FitsAny(d)
	switch {
	case ok && visit != "":
		ok, why = r.Fits(d, visit)
	case ok && role != "":
		ok, why = r.FitsRole(d, role)
	}
	if ok {
		return nil
	}
	return []string{why}
}

// Opening offers a room-free morning on every day on which the visit fits.
func (r rota) Opening(d day.Day, visit string) graft.Opening {
	if ok, _ := r.Fits(d, visit); !ok {
		return graft.Opening{}
	}
	return graft.Opening{Minutes: 30, Grid: 10, Hours: []day.Hours{{From: 8 * 60, To: 12 * 60}}}
}

func (r rota) ClosedRunAfter(d day.Day) int {
	const enough = 90
	for n := range enough {
		if ok, _ := r.FitsAny(d.AddDays(n + 1)); ok {
			return n
		}
	}
	return enough
}

const (
	everyDay = day.Weekdays(127)
	weekdays = everyDay &^ 1 &^ (1 << 6)
)

// weekly is open from Monday to Friday; the surgeon and the surgery are not to
// be had on Fridays.
func weekly() rota {
	thursday := weekdays &^ (1 << 5)
	return rota{
		Open:   weekdays,
		Visits: map[string]day.Weekdays{"check": weekdays, "surgery": thursday},
		Roles:  map[string]day.Weekdays{"nurse": weekdays, "surgeon": thursday},
	}
}

// on reads a day.
func on(text string) day.Day {
	d, err := day.Parse(text)
	if err != nil {
		panic(err)
	}
	return d
}

// span reads a span of days.
func span(text string) day.Span {
	s, err := day.ParseSpan(text)
	if err != nil {
		panic(err)
	}
	return s
}

// days is a wait of four points in days.
func days(from graft.MilestoneID, notBefore, earliest, target, latest int) graft.Wait {
	in := func(n int) day.Period { return day.Period{Days: n} }
	return graft.Wait{From: from, NotBefore: in(notBefore), Earliest: in(earliest), Target: in(target), Latest: in(latest)}
}

// gate is a wait of a gate, its target on the gate.
func gate(from graft.MilestoneID, gate, latest int) graft.Wait {
	return days(from, gate, gate, gate, latest)
}

// step is a check that is named after its id.
func step(id graft.MilestoneID, shift graft.Shift, waits ...graft.Wait) graft.Milestone {
	return graft.Milestone{ID: id, Step: graft.Step(id), Shift: shift, Visit: "check", Waits: waits}
}

// find returns the milestone of an id, which must be there.
func find(t testing.TB, milestones []graft.Milestone, id graft.MilestoneID) graft.Milestone {
	t.Helper()
	i := slices.IndexFunc(milestones, func(m graft.Milestone) bool { return m.ID == id })
	if i < 0 {
		t.Fatalf("no milestone %q", id)
	}
	return milestones[i]
}

// placeAll returns the milestones of a plan and what has no day.
func placeAll(r diary.Request, c diary.Clinic) ([]graft.Milestone, []diary.Unplaced) {
	p := diary.PlaceAll(r, c)
	return p.Milestones, p.Unplaced
}
