package desk

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Live is a case of the ledger as it stands on one day: its current revision,
// planned round what is booked, with what no longer fits.
type Live struct {
	Plan
	*Standing
}

// Standing is what the ledger knows of a case beyond its record.
type Standing struct {
	Kept       ledger.Kept
	Revision   ledger.Revision
	Approval   *ledger.Approval // of this revision by the rules in force; nil: a draft
	OtherRules bool             // the rules have changed since the revision was made
	Visits     []ledger.Visit   // all of the case, oldest first
	Contacts   []ledger.Contact // oldest first
	Misfits    []diary.Misfit   // booked visits that cannot stay
	Gone       []ledger.Visit   // open visits whose milestone the plan no longer has

	request  diary.Request // what the diary was asked
	calendar diary.Clinic
	key      []byte // of the ledger: makes the names of calendar events
	issues   issues // what was last given out
}

// Latest returns the latest visit of a milestone; false if it never had one.
func (s *Standing) Latest(id graft.MilestoneID) (ledger.Visit, bool) {
	for n := len(s.Visits) - 1; n >= 0; n-- {
		if s.Visits[n].Milestone == id {
			return s.Visits[n], true
		}
	}
	return ledger.Visit{}, false
}

// State returns where the visit of a milestone stands.
func (s *Standing) State(id graft.MilestoneID) ledger.State {
	if v, ok := s.Latest(id); ok {
		return v.State
	}
	return ledger.Planned
}

// Missed counts the visits that the patient did not come to.
func (s *Standing) Missed() int {
	n := 0
	for _, v := range s.Visits {
		if v.State == ledger.Missed {
			n++
		}
	}
	return n
}

// ConfirmedVisit reports whether the patient has confirmed the visit.
func (s *Standing) ConfirmedVisit(v ledger.Visit) bool {
	confirmed := false
	for _, c := range s.Contacts {
		if c.Visit == v.ID {
			confirmed = c.Outcome == ledger.Confirmed
		}
	}
	return confirmed
}

// Changed is the time of the latest change to what the case's readers see.
func (s *Standing) Changed() time.Time {
	latest := s.Revision.At
	if s.Approval != nil && s.Approval.At.After(latest) {
		latest = s.Approval.At
	}
	for _, v := range s.Visits {
		if v.At.After(latest) {
			latest = v.At
		}
	}
	return latest
}

// Settled reports whether everything that is booked fits the plan.
func (s *Standing) Settled() bool {
	return len(s.Misfits) == 0 && len(s.Gone) == 0 && !s.OtherRules
}

// Live returns a case as it stands on a day.
func (k *Keeper) Live(id graft.CaseID, on day.Day) (Live, error) {
	var live Live
	err := k.store.View(func(l Ledger) (err error) {
		live, err = k.live(l, id, on)
		return err
	})
	return live, err
}

// live reads one case of the ledger and plans it.
func (k *Keeper) live(l Ledger, id graft.CaseID, on day.Day) (Live, error) {
	kept, err := l.Case(id)
	if err != nil {
		return Live{}, err
	}
	revision, err := l.Revision(id, kept.Revision)
	if err != nil {
		return Live{}, err
	}
	visits, err := l.Visits(id)
	if err != nil {
		return Live{}, err
	}
	book, err := k.booked(l, on)
	if err != nil {
		return Live{}, err
	}
	f, err := factsOf(l, Standing{Kept: kept, Revision: revision, Visits: visits})
	if err != nil {
		return Live{}, err
	}
	return k.liven(f, book, on)
}

// facts are what the ledger holds of a case.
type facts struct {
	Standing
	overrides []ledger.Override
	approvals []ledger.Approval
}

// factsOf reads what the ledger holds of a case whose revision and visits are
// known.
func factsOf(l Ledger, s Standing) (f facts, err error) {
	f.Standing = s
	id := s.Kept.Case
	if f.overrides, err = l.Overrides(id); err != nil {
		return f, err
	}
	if f.approvals, err = l.Approvals(id); err != nil {
		return f, err
	}
	if f.Contacts, err = l.Contacts(id); err != nil {
		return f, err
	}
	if f.key, err = l.CalendarKey(); err != nil {
		return f, err
	}
	given, err := l.Issues(id)
	f.issues = issuesOf(given)
	return f, err
}

// record reads the record of a revision.
func (f facts) record() (casefile.Case, error) {
	c, faults := casefile.ReadCase(recordName(f.Revision), f.Revision.Record)
	if len(faults) > 0 {
		return c, fmt.Errorf("the ledger's record of %s is no longer readable: %w", f.Kept.Case, faults)
	}
	return c, nil
}

// liven plans a revision round its visits.
func (d *Desk) liven(f facts, book *diary.Book, on day.Day) (Live, error) {
	c, err := f.record()
	if err != nil {
		return Live{}, err
	}
	return d.livenRecord(f, c, book, on)
}

// livenRecord is liven for who has read the record.
func (d *Desk) livenRecord(f facts, c casefile.Case, book *diary.Book, on day.Day) (Live, error) {
	s := f.Standing
	known := knownOf(s.Visits, f.overrides, book)
	plan, err := d.plan(c, on, &known)
	if err != nil {
		return Live{}, err
	}
	s.OtherRules = s.Revision.RulesVersion != d.Rules.Version()
	for _, a := range f.approvals {
		if a.Revision == s.Revision.Number && !s.OtherRules {
			s.Approval = &a
		}
	}
	s.Misfits, s.request, s.calendar = known.misfits, known.request, known.calendar
	for _, v := range s.Visits {
		if _, there := plan.Timeline.Find(v.Milestone); v.State.Open() && !there {
			s.Gone = append(s.Gone, v)
		}
	}
	plan.Standing = &s
	return Live{plan, &s}, nil
}

// recordName stands for the file in complaints about a record of the ledger.
func recordName(r ledger.Revision) string { return fmt.Sprintf("%s, revision %d", r.Case, r.Number) }

// known is what the ledger adds to a record when it is planned, and what the
// diary said of it.
type known struct {
	attended  map[graft.MilestoneID]day.Day
	booked    map[graft.MilestoneID]diary.Booked
	overrides map[graft.MilestoneID]graft.Override
	book      *diary.Book

	misfits  []diary.Misfit
	request  diary.Request
	calendar diary.Clinic
}

// knownOf sorts what the ledger holds of a case by milestone.
func knownOf(visits []ledger.Visit, overrides []ledger.Override, book *diary.Book) known {
	k := known{map[graft.MilestoneID]day.Day{}, map[graft.MilestoneID]diary.Booked{}, map[graft.MilestoneID]graft.Override{}, book, nil, diary.Request{}, nil}
	for _, v := range visits {
		delete(k.attended, v.Milestone)
		delete(k.booked, v.Milestone)
		switch v.State {
		case ledger.Attended:
			k.attended[v.Milestone] = v.Day
		case ledger.Booked:
			k.booked[v.Milestone] = diary.Booked{Slot: v.Slot, Window: v.Window}
		}
	}
	for _, o := range overrides {
		delete(k.overrides, o.Milestone)
		if !o.Day.IsZero() {
			k.overrides[o.Milestone] = graft.Override{Day: o.Day, By: o.By, On: o.On, Why: o.Why}
		}
	}
	return k
}

// All returns every case of the ledger as it stands on a day, by case number. It
// plans as many at once as there are cores.
func (k *Keeper) All(on day.Day) ([]Live, error) {
	var every []facts
	var book *diary.Book
	err := k.store.View(func(l Ledger) (err error) {
		if book, err = k.taken(l, on); err != nil {
			return err
		}
		every, err = allFacts(l)
		return err
	})
	if err != nil {
		return nil, err
	}
	all, errs := make([]Live, len(every)), make([]error, len(every))
	var next atomic.Int64
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for n := int(next.Add(1)) - 1; n < len(every); n = int(next.Add(1)) - 1 {
				all[n], errs[n] = k.liven(every[n], book, on)
			}
		})
	}
	workers.Wait()
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return all, nil
}

// allFacts reads what the ledger holds of every case.
func allFacts(l Ledger) ([]facts, error) {
	cases, err := l.Cases()
	if err != nil {
		return nil, err
	}
	current, err := l.Current()
	if err != nil {
		return nil, err
	}
	visits, err := visitsByCase(l)
	if err != nil {
		return nil, err
	}
	every := make([]facts, len(cases))
	for n, kept := range cases {
		if every[n], err = factsOf(l, Standing{Kept: kept, Revision: current[n], Visits: visits[kept.Case]}); err != nil {
			return nil, err
		}
	}
	return every, nil
}

func visitsByCase(l Ledger) (map[graft.CaseID][]ledger.Visit, error) {
	all, err := l.AllVisits()
	if err != nil {
		return nil, err
	}
	byCase := map[graft.CaseID][]ledger.Visit{}
	for _, v := range all {
		byCase[v.Case] = append(byCase[v.Case], v)
	}
	return byCase, nil
}
