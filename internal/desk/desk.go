// Package desk is where plan meets diary: one method for each thing a clinician
// or a front desk asks. Command line and, later, web pages call the same
// methods, so what one can do the other can. It reads no clock and writes no
// file.
package desk

import (
	"fmt"
	"sync"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/letter"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
)

// Desk plans the cases of one clinic by one set of rules. It serves any number
// of callers at once.
type Desk struct {
	Clinic    casefile.Clinic
	Rules     *protocol.Rules
	Templates *letter.Templates // words and layouts of what the patient reads

	mutex     sync.Mutex
	calendars map[int]*clinic.Calendar // by year of surgery
}

// New returns the desk of a clinic, with the letters that come with the program.
func New(c casefile.Clinic, rules *protocol.Rules) *Desk {
	return &Desk{Clinic: c, Rules: rules, Templates: letter.BuiltIn(), calendars: map[int]*clinic.Calendar{}}
}

// yearsBefore and yearsAfter are the years of the clinic's calendar around a
// surgery: a plan reaches two years past loading.
const (
	yearsBefore = 1
	yearsAfter  = 8
)

// Calendar returns the clinic's day table around a year.
func (d *Desk) Calendar(year int) (*clinic.Calendar, table.Faults) {
	d.mutex.Lock()
	defer d.mutex.Unlock()
	if c, ok := d.calendars[year]; ok {
		return c, nil
	}
	horizon := day.Span{From: day.New(year-yearsBefore, time.January, 1), To: day.New(year+yearsAfter, time.December, 31)}
	c, faults := d.Clinic.Calendar(horizon)
	if len(faults) > 0 {
		return nil, faults
	}
	d.calendars[year] = c
	return c, nil
}

// Plan is a case with its timeline.
type Plan struct {
	Case     casefile.Case
	Timeline graft.Timeline
	Own      []string // rule values of the clinic's own, one sentence each
	Notes    []string // what to know of the clinic's calendar

	Standing *Standing // what the ledger knows of the case; nil: planned from a file alone
}

// Stopped reports whether a stop finding stands in the plan.
func (p Plan) Stopped() bool { return graft.HasStop(p.Timeline.Findings) }

// Plan derives the timeline of a case as seen on one day. The error is of type
// table.Faults when the clinic's settings are at fault.
func (d *Desk) Plan(c casefile.Case, on day.Day) (Plan, error) { return d.plan(c, on, nil) }

// plan derives the timeline of a case with what the ledger knows of it; nil for a
// case planned from a file alone.
func (d *Desk) plan(c casefile.Case, on day.Day, k *known) (Plan, error) {
	calendar, faults := d.Calendar(c.Surgery.Day.Year())
	if len(faults) > 0 {
		return Plan{}, faults
	}
	timeline, err := protocol.Plan(c.Case, d.Rules, on)
	if err != nil {
		return Plan{}, err
	}
	d.surgeryDay(&timeline, c.Case, calendar)
	d.place(&timeline, c.Case, calendar, k)
	d.Rules.Review(&timeline, c.Surgery)
	if _, err := d.Templates.WordsFor(c.Patient.Language); err != nil {
		timeline.Findings = append(timeline.Findings, d.Rules.Finding("letter-language", "patient.language", err.Error()+"."))
	}
	for i := range timeline.Findings {
		timeline.Findings[i].Line = c.LineOf(timeline.Findings[i].Path)
	}
	graft.SortFindings(timeline.Findings)
	return Plan{Case: c, Timeline: timeline, Own: d.Rules.Own(), Notes: calendar.Notes()}, nil
}

// place asks the diary for days and turns its refusals into findings.
func (d *Desk) place(t *graft.Timeline, c graft.Case, calendar *clinic.Calendar, k *known) {
	request := diary.Request{
		Case:        c.ID,
		Milestones:  t.Milestones,
		Surgery:     c.Surgery.Day,
		On:          t.On,
		Unavailable: c.Patient.Unavailable,
		Closure:     d.Rules.Closure(),
		FirmWithin:  d.Rules.Period("firm-slots"),
	}
	if k != nil {
		k.add(&request)
		request.Overdue, request.OverdueWait = d.Rules.Period("overdue-window"), d.Rules.Period("overdue-wait")
		k.calendar = calendar
	}
	placed := diary.PlaceAll(request, calendar)
	t.Milestones = placed.Milestones
	if k != nil {
		k.request, k.misfits = request, placed.Misfits
	}
	for _, m := range t.Milestones {
		if !m.Attended.IsZero() && m.Attended.Before(m.Window.NotBefore) {
			t.Findings = append(t.Findings, d.Rules.Finding("attended-early", "", fmt.Sprintf("%s on %s, not before %s.", m.Title(), m.Attended, m.Window.NotBefore)))
		}
	}
	d.outOfOrder(t)
	if placed.Untried {
		t.Findings = append(t.Findings, d.Rules.Finding("not-all-tried", "", fmt.Sprintf("%d trips.", placed.Trips)))
	}
	for _, f := range placed.Unplaced {
		m, _ := t.Find(f.ID)
		rule := graft.RuleID("no-day-left")
		if f.Passed {
			rule = "window-passed"
		}
		t.Findings = append(t.Findings, d.Rules.Finding(rule, "", m.Title()+". "+f.Says))
	}
}

// outOfOrder warns of days of the surgeon's own that lie before a step that they wait for.
func (d *Desk) outOfOrder(t *graft.Timeline) {
	for _, m := range t.Milestones {
		if m.Override == nil || m.Placed.IsZero() {
			continue
		}
		for _, w := range m.Waits {
			if from, ok := t.Find(w.From); ok && from.Placed.After(m.Placed) {
				t.Findings = append(t.Findings, d.Rules.Finding("override-out-of-order", "", fmt.Sprintf("%s on %s, before %s on %s.", m.Title(), m.Placed, from.Title(), from.Placed)))
			}
		}
	}
}

// add tells the diary what the ledger knows.
func (k *known) add(r *diary.Request) {
	for n, m := range r.Milestones {
		if attended, ok := k.attended[m.ID]; ok && m.Attended.IsZero() {
			r.Milestones[n].Attended = attended
		}
	}
	r.Booked, r.Overrides, r.Book = k.booked, k.overrides, k.book
}

// surgeryDay warns of a surgery that lies ahead on a day on which the clinic
// cannot operate.
func (d *Desk) surgeryDay(t *graft.Timeline, c graft.Case, calendar *clinic.Calendar) {
	if !c.Ahead(t.On) {
		return
	}
	ok, why := calendar.Fits(c.Surgery.Day, string(graft.Placement))
	run := calendar.ClosedRunAfter(c.Surgery.Day)
	switch {
	case !ok:
		t.Findings = append(t.Findings, d.Rules.Finding("surgery-on-a-closed-day", "surgery.day", diary.Long(c.Surgery.Day)+": "+why+"."))
	case run >= d.Rules.Closure():
		t.Findings = append(t.Findings, d.Rules.Finding("surgery-before-closure", "surgery.day", diary.Long(c.Surgery.Day)+" is the last open day before a closure."))
	}
}

// Undisturbed returns the milestones as the rules alone would date them, on a
// calendar without a closed day.
func Undisturbed(t graft.Timeline, surgery day.Day) []graft.Milestone {
	return diary.Undisturbed(t.Milestones, surgery)
}
