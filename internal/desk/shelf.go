package desk

import (
	"context"
	"fmt"
	"time"

	"graftclock/internal/caldav"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
)

// Shelf is the clinic's shared calendar: one collection on a CalDAV server (RFC
// 4791), with one resource for each booked visit.
type Shelf struct {
	Server Server
	Path   string // of the collection on its server; ends in /
	Name   string // by which the ledger knows it: its address
}

// Server is what the desk asks of a calendar server. An empty tag in Put means that
// nothing may be there yet; another one that what is there must still bear it.
type Server interface {
	Put(ctx context.Context, path, etag string, data []byte) (newTag string, err error)
	Delete(ctx context.Context, path, etag string) error
	Get(ctx context.Context, path string) (caldav.Object, error)
	Changes(ctx context.Context, collection, token string) ([]caldav.Change, string, error)
	Fetch(ctx context.Context, collection string, paths []string) ([]caldav.Object, error)
}

// Shelving is what was done, or is to be done, with one visit in the shared calendar.
type Shelving struct {
	Case      graft.CaseID
	Patient   string
	Milestone graft.MilestoneID
	Did       string     // add, change, remove, or keep where Why says what stands in the way
	Slot      graft.Slot // in the ledger; zero: it has none any more
	There     graft.Slot // in the calendar, where it is known and another
	Why       string
}

// The words of Shelving.Did.
const (
	Adds    = "add"
	Changes = "change"
	Removes = "remove"
	Keeps   = "keep"
)

// onShelf is one visit as ledger and calendar have it.
type onShelf struct {
	Shelving
	event *ics.Event     // nil: it is not to be there
	data  []byte         // the event as the ledger keeps it
	stood stood          // how it is taken to stand in the calendar
	read  ledger.Shelved // the latest row of the ledger that this run knows of
}

// Publish brings the shared calendar up to date: one resource for each booked visit.
// What somebody has changed or deleted there stays as it is and is told. It keeps
// what it is about to do before anything leaves, and after each visit what it did, so
// that a run that was cut off is finished by the next. With dry nothing is written
// anywhere. An error ends the run; what was done before is returned with it.
func (k *Keeper) Publish(ctx context.Context, shelf Shelf, on day.Day, at time.Time, dry bool) ([]Shelving, error) {
	list, err := k.toShelve(shelf, on, at, dry)
	if err != nil {
		return nil, err
	}
	if !dry {
		if err := k.announce(shelf, list, at); err != nil {
			return nil, err
		}
	}
	var did []Shelving
	for _, s := range list {
		if s.Did != Keeps && !dry {
			if err := k.shelve(ctx, shelf, &s, at); err != nil {
				return did, fmt.Errorf("%s of %s: %w", s.Milestone.Title(), s.Case, err)
			}
		}
		did = append(did, s.Shelving)
	}
	return did, nil
}

// toShelve compares ledger and shared calendar as it last stood, and returns what
// differs.
func (k *Keeper) toShelve(shelf Shelf, on day.Day, at time.Time, dry bool) ([]onShelf, error) {
	all, err := k.All(on)
	if err != nil {
		return nil, err
	}
	if !dry {
		if err := k.numberShelf(all, on, at); err != nil {
			return nil, err
		}
	}
	rows, err := k.shelved(shelf)
	if err != nil {
		return nil, err
	}
	var list []onShelf
	for _, live := range all {
		mine, err := k.shelfOf(live, rows[live.Kept.Case], false)
		if err != nil {
			return nil, err
		}
		list = append(list, mine...)
	}
	return list, nil
}

// numberShelf gives the events of all cases their SEQUENCE and stamp. A case that
// another desk has changed since it was read is read again.
func (k *Keeper) numberShelf(all []Live, on day.Day, at time.Time) error {
	return k.store.Act(func(w Writing) error {
		for n, live := range all {
			kept, err := w.Case(live.Kept.Case)
			if err != nil {
				return err
			}
			if kept.Head != live.Kept.Head {
				if all[n], err = k.live(w, kept.Case, on); err != nil {
					return err
				}
			}
			now, err := w.Issues(kept.Case)
			if err != nil {
				return err
			}
			all[n].issues = issuesOf(now)
			if err := k.issue(w, all[n], graft.ForDesk, at); err != nil {
				return err
			}
		}
		return nil
	})
}

// shelved returns how visits stand in the shared calendar, by case and milestone.
func (k *Keeper) shelved(shelf Shelf) (map[graft.CaseID]map[graft.MilestoneID]stood, error) {
	var list []stood
	err := k.store.View(func(l Ledger) (err error) {
		list, err = shelvedIn(l, shelf, "")
		return err
	})
	return byVisit(list), err
}

// shelfOf lists what is to be done for the visits of one case; with over also for
// one that the calendar should show as it is.
func (k *Keeper) shelfOf(live Live, rows map[graft.MilestoneID]stood, over bool) ([]onShelf, error) {
	var list []onShelf
	for _, id := range live.visited() {
		s := onShelf{Shelving: Shelving{Case: live.Kept.Case, Patient: live.Kept.Patient, Milestone: id}, stood: rows[id], read: rows[id].last()}
		v, _ := live.Latest(id)
		if m, there := live.Timeline.Find(id); there && v.State == ledger.Booked && m.Booked {
			e := k.numbered(live.Plan, m, graft.ForDesk)
			s.event, s.Slot = &e, v.Slot
		} else if v.State == ledger.Booked || v.State == ledger.Attended || v.State == ledger.Missed {
			continue // it does not fit and waits to be settled, or it has been: as it is
		}
		if err := s.decide(k.Clinic.Zone, over); err != nil {
			return nil, err
		}
		if s.Did != "" {
			list = append(list, s)
		}
	}
	return list, nil
}

// decide says what is to be done; nothing where the calendar says it already. Where a
// run may have been cut off it is done again, and told by how it was before that run.
func (s *onShelf) decide(zone string, over bool) (err error) {
	if s.event != nil {
		if s.data, err = encoded(givenOf(*s.event, zone)); err != nil {
			return err
		}
	}
	standing, was := s.stood.standing(), s.stood.sure.State
	switch {
	case s.stood.unsure() && s.event == nil:
		s.Did = Removes
	case s.stood.unsure() && standing:
		s.Did = Changes
	case s.stood.unsure():
		s.Did = Adds
	case was == ledger.GoneThere && s.event != nil:
		s.Did, s.Why = Keeps, deletedThere
	case s.event == nil && !standing:
	case was == ledger.ChangedThere:
		s.Did, s.Why = Keeps, changedThere
	case s.event == nil:
		s.Did = Removes
	case !standing:
		s.Did = Adds
	case over || string(s.data) != string(s.stood.sure.Event):
		s.Did = Changes
	}
	return nil
}
