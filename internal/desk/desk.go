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
	Clinic casefile.Clinic
	Rules  *protocol.Rules

	mutex     sync.Mutex
	calendars map[int]*clinic.Calendar // by year of surgery
}

// New returns the desk of a clinic.
func New(c casefile.Clinic, rules *protocol.Rules) *Desk {
	return &Desk{Clinic: c, Rules: rules, calendars: map[int]*clinic.Calendar{}}
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
}

// Stopped reports whether a stop finding stands in the plan.
func (p Plan) Stopped() bool { return graft.HasStop(p.Timeline.Findings) }

// Plan derives the timeline of a case as seen on one day. The error is of type
// table.Faults when the clinic's settings are at fault.
func (d *Desk) Plan(c casefile.Case, on day.Day) (Plan, error) {
	calendar, faults := d.Calendar(c.Surgery.Day.Year())
	if len(faults) > 0 {
		return Plan{}, faults
	}
	timeline, err := protocol.Plan(c.Case, d.Rules, on)
	if err != nil {
		return Plan{}, err
	}
	d.surgeryDay(&timeline, c.Case, calendar)
	d.place(&timeline, c.Case, calendar)
	d.Rules.Review(&timeline, c.Surgery)
	if _, err := letter.WordsFor(c.Patient.Language); err != nil {
		timeline.Findings = append(timeline.Findings, d.Rules.Finding("letter-language", "patient.language", err.Error()+"."))
	}
	for i := range timeline.Findings {
		timeline.Findings[i].Line = c.LineOf(timeline.Findings[i].Path)
	}
	graft.SortFindings(timeline.Findings)
	return Plan{Case: c, Timeline: timeline, Own: d.Rules.Own(), Notes: calendar.Notes()}, nil
}

// place asks the diary for days and turns its refusals into findings.
func (d *Desk) place(t *graft.Timeline, c graft.Case, calendar *clinic.Calendar) {
	firm, _ := d.Rules.Lookup("firm-slots")
	placed, failed := diary.Place(diary.Request{
		Milestones:  t.Milestones,
		Surgery:     c.Surgery.Day,
		On:          t.On,
		Unavailable: c.Patient.Unavailable,
		Closure:     d.Rules.Closure(),
		FirmWithin:  firm.Value.Period,
	}, calendar)
	t.Milestones = placed
	for _, m := range placed {
		if !m.Attended.IsZero() && m.Attended.Before(m.Window.NotBefore) {
			t.Findings = append(t.Findings, d.Rules.Finding("attended-early", "", fmt.Sprintf("%s on %s, not before %s.", m.Title(), m.Attended, m.Window.NotBefore)))
		}
	}
	for _, f := range failed {
		m, _ := t.Find(f.ID)
		rule := graft.RuleID("no-day-left")
		if f.Passed {
			rule = "window-passed"
		}
		t.Findings = append(t.Findings, d.Rules.Finding(rule, "", m.Title()+". "+f.Says))
	}
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

// everyDay is a clinic that is open every day for everything.
type everyDay struct{}

func (everyDay) Fits(day.Day, string) (bool, string)     { return true, "" }
func (everyDay) FitsRole(day.Day, string) (bool, string) { return true, "" }
func (everyDay) FitsAny(day.Day) (bool, string)          { return true, "" }
func (everyDay) ClosedRunAfter(day.Day) int              { return 0 }

// Undisturbed returns the milestones as the rules alone would date them, on a
// calendar without a closed day.
func Undisturbed(t graft.Timeline, surgery day.Day) []graft.Milestone {
	milestones, _ := diary.Place(diary.Request{Milestones: t.Milestones, Surgery: surgery, On: surgery}, everyDay{})
	return milestones
}
