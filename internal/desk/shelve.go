package desk

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"time"

	"graftclock/internal/caldav"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
)

// Why a visit is left as it is.
const (
	anotherDesk  = "another desk is writing it: graftclock publish again"
	changedThere = "changed in the calendar: graftclock pull"
	deletedThere = "deleted in the calendar: graftclock pull"
	copiedThere  = "the calendar has it already, in an entry that graftclock did not write: delete that one there, then graftclock publish again"
)

// announce keeps what is about to be written in the shared calendar before it leaves:
// if no answer comes, the next run knows what it may find there.
func (k *Keeper) announce(shelf Shelf, list []onShelf, at time.Time) error {
	if !slices.ContainsFunc(list, func(s onShelf) bool { return s.Did != Keeps }) {
		return nil
	}
	return k.store.Act(func(w Writing) error {
		now, err := shelvedIn(w, shelf, "")
		if err != nil {
			return err
		}
		rows := byVisit(now)
		for n := range list {
			s := &list[n]
			if s.Did == Keeps {
				continue
			}
			row := s.underWay(shelf, at)
			switch {
			case !sameRow(rows[s.Case][s.Milestone].last(), s.read):
				s.Did, s.Why = Keeps, anotherDesk
			case !sameRow(row, s.read):
				if err := w.AddShelved(row); err != nil {
					return err
				}
				s.read = row
			}
		}
		return nil
	})
}

// next is what the ledger keeps of a visit when what is to be done is done.
func (s *onShelf) next(shelf Shelf, at time.Time) ledger.Shelved {
	last := s.stood.last()
	row := ledger.Shelved{Calendar: shelf.Name, Case: s.Case, Milestone: s.Milestone, Path: last.Path, ETag: last.ETag, Event: s.data, State: ledger.AsPut, At: at}
	if s.Did == Removes {
		row.State, row.Event = ledger.TakenDown, s.lastPut()
	}
	if row.Path == "" {
		row.Path = shelf.Path + s.event.UID + ".ics"
	}
	if s.Did == Adds {
		row.ETag = ""
	}
	return row
}

// underWay is what the ledger keeps of a visit as long as nobody knows whether what is
// to be done is done.
func (s *onShelf) underWay(shelf Shelf, at time.Time) ledger.Shelved {
	row := s.next(shelf, at)
	row.State, row.Event = ledger.UnderWayThere, s.data
	return row
}

// shelve does one thing in the shared calendar and keeps that it is done.
func (k *Keeper) shelve(ctx context.Context, shelf Shelf, s *onShelf, at time.Time) error {
	row := s.next(shelf, at)
	act := k.put
	if s.Did == Removes {
		act = k.remove
	}
	if err := act(ctx, shelf, s, &row); err != nil || row.State == ledger.UnderWayThere {
		return err
	}
	return k.store.Act(func(w Writing) error {
		now, err := lastRow(w, shelf, s.Case, s.Milestone)
		switch {
		case err != nil:
			return err
		case sameRow(now, s.read):
			return w.AddShelved(row)
		case sameRow(now, row): // another desk has found the same
			return nil
		case row.State == ledger.ChangedThere || row.State == ledger.GoneThere:
			s.Why = anotherDesk
			return nil
		}
		// Another desk has written there too, and nobody knows which of the two came last.
		late := s.underWay(shelf, at)
		late.ETag = row.ETag
		return w.AddShelved(late)
	})
}

// sameRow reports whether two rows say the same of a visit.
func sameRow(a, b ledger.Shelved) bool {
	return a.State == b.State && a.ETag == b.ETag && a.Path == b.Path && bytes.Equal(a.Event, b.Event)
}

// put writes a visit as a resource of its own. Where something else is there than
// the ledger remembers, it looks: the server may have rewritten what it was given,
// or a run before may have been cut off after writing; anything else was somebody's
// doing and stays.
func (k *Keeper) put(ctx context.Context, shelf Shelf, s *onShelf, row *ledger.Shelved) error {
	data, err := ics.Encode(ics.Calendar{Zone: k.Clinic.Zone, Events: []ics.Event{*s.event}})
	if err != nil {
		return err
	}
	tag, err := shelf.Server.Put(ctx, row.Path, row.ETag, data)
	if caldav.IsConflict(err) && !uidTaken(err) {
		tag, err = k.putAgain(ctx, shelf, s, row, data)
	}
	switch {
	case uidTaken(err):
		s.leave(row, copiedThere)
		return nil
	case caldav.IsConflict(err): // it has changed between the look and the write
		s.leave(row, anotherDesk)
		return nil
	case err != nil || row.State != ledger.AsPut:
		return err
	}
	if row.ETag = tag; tag == "" { // the server does not say: ask
		there, err := shelf.Server.Get(ctx, row.Path)
		row.ETag = there.ETag
		return err
	}
	return nil
}

// uidTaken reports that the calendar has the event under another address (RFC 4791
// 5.3.2.1).
func uidTaken(err error) bool {
	var answer *caldav.StatusError
	return errors.As(err, &answer) && answer.Condition == "no-uid-conflict"
}

// leave gives a visit up for this run; the ledger has it under way, and so has the next
// run.
func (s *onShelf) leave(row *ledger.Shelved, why string) {
	row.State = ledger.UnderWayThere
	s.Did, s.Why = Keeps, why
}

// putAgain writes a visit over what is there, if that is of a run before.
func (k *Keeper) putAgain(ctx context.Context, shelf Shelf, s *onShelf, row *ledger.Shelved, data []byte) (string, error) {
	there, err := shelf.Server.Get(ctx, row.Path)
	switch {
	case err != nil && !caldav.IsMissing(err):
		return "", err
	case (err != nil || there.Missing) && s.stood.mayBeGone():
		return shelf.Server.Put(ctx, row.Path, "", data)
	case err != nil || there.Missing:
		s.gone(row)
		return "", nil
	}
	seen, err := k.seen(there.Data, s.event.UID)
	if err != nil {
		s.foreign(row, there.ETag, s.lastPut())
		return "", nil
	}
	if wanted, err := k.shown(s.data); err != nil || seen.saysSame(wanted) {
		return there.ETag, err // a run before was cut off after writing it
	}
	from, ours, err := k.origin(s.stood, seen)
	switch {
	case err != nil:
		return "", err
	case ours:
		return shelf.Server.Put(ctx, row.Path, there.ETag, data)
	}
	s.foreign(row, there.ETag, from)
	return "", nil
}

// foreign keeps that somebody has changed a visit in the calendar, and what it was
// before.
func (s *onShelf) foreign(row *ledger.Shelved, tag string, was []byte) {
	if len(was) == 0 {
		was = s.data
	}
	row.State, row.ETag, row.Event = ledger.ChangedThere, tag, was
	s.Did, s.Why = Keeps, changedThere
}

// gone keeps that somebody has deleted a visit in the calendar.
func (s *onShelf) gone(row *ledger.Shelved) {
	row.State, row.ETag, row.Event = ledger.GoneThere, "", s.lastPut()
	s.Did, s.Why = Keeps, deletedThere
}

// lastPut is what the ledger put there before or, if that is nothing, tried to put.
func (s *onShelf) lastPut() []byte {
	if was := s.stood.put(); len(was) > 0 {
		return was
	}
	return s.data
}

// remove takes down a visit that is no more.
func (k *Keeper) remove(ctx context.Context, shelf Shelf, s *onShelf, row *ledger.Shelved) error {
	if row.ETag != "" { // else nobody knows whether it has arrived
		err := shelf.Server.Delete(ctx, row.Path, row.ETag)
		if caldav.IsMissing(err) {
			return nil // it is gone already, which is what was wanted
		}
		if !caldav.IsConflict(err) {
			return err
		}
	}
	there, err := shelf.Server.Get(ctx, row.Path)
	if caldav.IsMissing(err) || err == nil && there.Missing {
		return nil
	}
	if err != nil {
		return err
	}
	seen, err := k.seen(there.Data, "")
	if err != nil {
		s.foreign(row, there.ETag, s.lastPut())
		return nil
	}
	from, ours, err := k.origin(s.stood, seen)
	switch {
	case err != nil:
		return err
	case !ours:
		s.foreign(row, there.ETag, from)
		return nil
	}
	err = shelf.Server.Delete(ctx, row.Path, there.ETag)
	switch {
	case caldav.IsMissing(err):
		return nil
	case caldav.IsConflict(err): // it has changed between the look and the write
		s.leave(row, anotherDesk)
		return nil
	}
	return err
}
