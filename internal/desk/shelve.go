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

// anotherDesk says why a visit is left to a run that goes on at the same time.
const anotherDesk = "another desk is writing it: graftclock publish again"

// announce keeps what is about to be new in the shared calendar, without a tag: if no
// answer comes, the next run knows what it may find there.
func (k *Keeper) announce(shelf Shelf, list []onShelf, at time.Time) error {
	if !slices.ContainsFunc(list, func(s onShelf) bool { return s.Did == Adds }) {
		return nil
	}
	return k.store.Act(func(w Writing) error {
		now, err := shelvedIn(w, shelf)
		if err != nil {
			return err
		}
		for n := range list {
			s := &list[n]
			if s.Did != Adds {
				continue
			}
			row := s.next(shelf, at)
			switch {
			case !sameRow(now[s.Case][s.Milestone], s.read):
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
	row := ledger.Shelved{Calendar: shelf.Name, Case: s.Case, Milestone: s.Milestone, Path: s.row.Path, ETag: s.row.ETag, Event: s.data, State: ledger.AsPut, At: at}
	if s.Did == Removes {
		row.State, row.Event = ledger.TakenDown, s.row.Event
	}
	if row.Path == "" {
		row.Path = shelf.Path + s.event.UID + ".ics"
	}
	if s.Did == Adds {
		row.ETag = ""
	}
	return row
}

// shelve does one thing in the shared calendar and keeps that it is done.
func (k *Keeper) shelve(ctx context.Context, shelf Shelf, s *onShelf, at time.Time) error {
	row := s.next(shelf, at)
	act := k.put
	if s.Did == Removes {
		act = k.remove
	}
	if err := act(ctx, shelf, s, &row); err != nil {
		return err
	}
	return k.store.Act(func(w Writing) error {
		if row.State == ledger.ChangedThere || row.State == ledger.GoneThere {
			now, err := shelvedIn(w, shelf)
			if err != nil {
				return err
			}
			if !sameRow(now[s.Case][s.Milestone], s.read) {
				s.Why = anotherDesk
				return nil
			}
		}
		return w.AddShelved(row)
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
	if caldav.IsConflict(err) {
		tag, err = k.putAgain(ctx, shelf, s, row, data)
	}
	if err != nil || row.State != ledger.AsPut {
		return err
	}
	if row.ETag = tag; tag == "" { // the server does not say: ask
		there, err := shelf.Server.Get(ctx, row.Path)
		row.ETag = there.ETag
		return err
	}
	return nil
}

// putAgain writes a visit over what is there, if that is what was put there before.
func (k *Keeper) putAgain(ctx context.Context, shelf Shelf, s *onShelf, row *ledger.Shelved, data []byte) (string, error) {
	there, err := shelf.Server.Get(ctx, row.Path)
	if err != nil || there.Missing {
		return "", k.gone(s, row, err)
	}
	seen, err := k.seen(there.Data, s.event.UID)
	if err != nil {
		return "", k.foreign(s, row, there.ETag)
	}
	if same, err := k.shows(seen, s.data); err != nil || same {
		return there.ETag, err // a run before was cut off after writing it
	}
	if same, err := k.shows(seen, s.row.Event); err != nil || same {
		return shelf.Server.Put(ctx, row.Path, there.ETag, data)
	}
	return "", k.foreign(s, row, there.ETag)
}

// foreign keeps that somebody has changed a visit in the calendar.
func (k *Keeper) foreign(s *onShelf, row *ledger.Shelved, tag string) error {
	row.State, row.ETag, row.Event = ledger.ChangedThere, tag, s.lastPut()
	s.Did, s.Why = Keeps, "changed in the calendar: graftclock pull"
	return nil
}

// gone keeps that somebody has deleted a visit in the calendar.
func (k *Keeper) gone(s *onShelf, row *ledger.Shelved, err error) error {
	if err != nil && !caldav.IsMissing(err) {
		return err
	}
	row.State, row.ETag, row.Event = ledger.GoneThere, "", s.lastPut()
	s.Did, s.Why = Keeps, "deleted in the calendar: graftclock pull"
	return nil
}

// lastPut is what the ledger put there before or, if that is nothing, tried to put.
func (s *onShelf) lastPut() []byte {
	if len(s.row.Event) == 0 {
		return s.data
	}
	return s.row.Event
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
	if seen, err := k.seen(there.Data, ""); err == nil {
		if same, err := k.shows(seen, s.row.Event); err != nil || same {
			return errors.Join(err, shelf.Server.Delete(ctx, row.Path, there.ETag))
		}
	}
	return k.foreign(s, row, there.ETag)
}

// shows reports whether the calendar shows what the ledger keeps as put there.
func (k *Keeper) shows(seen sight, put []byte) (bool, error) {
	if len(put) == 0 {
		return false, nil
	}
	g, err := decoded(put)
	if err != nil {
		return false, err
	}
	was, err := k.asSeen(g)
	return err == nil && seen.saysSame(was), err
}
