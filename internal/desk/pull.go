package desk

import (
	"context"
	"errors"
	"fmt"
	"time"

	"graftclock/internal/caldav"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Pulled is one visit that somebody has changed or deleted in the shared calendar.
type Pulled struct {
	Shelving
	Move graft.Slot // what it could be moved to, room and person included; zero: it cannot

	row  ledger.Shelved // as it is now
	read ledger.Shelved // as the ledger had it
	seen sight
	put  given // what was put there
	was  sight // the same as it would be seen
}

// movedThere is the reason in the history of a move that was made in the calendar.
const movedThere = "moved in the calendar"

// Pull asks the shared calendar what has changed there, keeps it, and returns every
// visit that is not there as the ledger has it: moved, with what the ledger would
// say to that, changed otherwise, or deleted. What a run of publish left half done is
// nobody's change. Nothing in the ledger's bookings and nothing in the calendar is
// changed.
func (k *Keeper) Pull(ctx context.Context, shelf Shelf, on day.Day, at time.Time) ([]Pulled, error) {
	known, token, err := k.shelfKnown(shelf)
	if err != nil {
		return nil, err
	}
	looked, err := look(ctx, shelf, known, token)
	if err != nil {
		return nil, err
	}
	var all []Pulled
	for _, s := range known {
		p, err := k.compare(s, looked)
		if err != nil {
			return nil, err
		}
		p.row.At = at
		all = append(all, p)
	}
	pulled, err := k.keepPulled(shelf, all, looked.token)
	if err != nil {
		return nil, err
	}
	return k.weigh(pulled, on)
}

// shelfKnown returns what the ledger knows of the shared calendar.
func (k *Keeper) shelfKnown(shelf Shelf) (known []stood, token string, err error) {
	err = k.store.View(func(l Ledger) (err error) {
		if known, err = shelvedIn(l, shelf, ""); err != nil {
			return err
		}
		token, err = l.SyncToken(shelf.Name)
		return err
	})
	return known, token, err
}

// looked is what the calendar says now.
type looked struct {
	token   string
	gone    map[string]bool          // by path
	objects map[string]caldav.Object // by path, those that were fetched
}

// look asks the server what has changed, and fetches that and what was known to be
// changed or under way. Where the server has forgotten the token it asks for
// everything; then what is not there is gone.
func look(ctx context.Context, shelf Shelf, known []stood, token string) (looked, error) {
	l := looked{gone: map[string]bool{}, objects: map[string]caldav.Object{}}
	changes, next, err := shelf.Server.Changes(ctx, shelf.Path, token)
	if errors.Is(err, caldav.ErrToken) {
		token = ""
		changes, next, err = shelf.Server.Changes(ctx, shelf.Path, token)
	}
	if err != nil {
		return l, err
	}
	l.token = next
	tags := map[string]string{}
	for _, c := range changes {
		if l.gone[c.Path] = c.Gone; !c.Gone {
			tags[c.Path] = c.ETag
		}
	}
	var fetch []string
	for _, s := range known {
		r := s.last()
		tag, listed := tags[r.Path]
		if token == "" && !listed && r.ETag != "" { // without a tag it may never have arrived
			l.gone[r.Path] = true
		}
		open := r.State == ledger.ChangedThere || r.State == ledger.UnderWayThere
		if !l.gone[r.Path] && (open || listed && (tag != r.ETag || tag == "")) {
			fetch = append(fetch, r.Path)
		}
	}
	if len(fetch) == 0 {
		return l, nil
	}
	objects, err := shelf.Server.Fetch(ctx, shelf.Path, fetch)
	for _, o := range objects {
		if l.objects[o.Path] = o; o.Missing {
			l.gone[o.Path] = true
		}
	}
	return l, err
}

// compare holds one visit of the calendar against what was put there. Of one that is
// under way nothing is new as long as the calendar has what a run may have left there:
// that run goes on, or the next will end it.
func (k *Keeper) compare(s stood, l looked) (Pulled, error) {
	read := s.last()
	p := Pulled{Shelving: Shelving{Case: read.Case, Milestone: read.Milestone, Did: Keeps}, row: read, read: read}
	object, fetched := l.objects[read.Path]
	switch {
	case l.gone[read.Path] && s.mayBeGone():
	case fetched && read.State == ledger.UnderWayThere && (object.Err != nil || object.ETag != "" && object.ETag == read.ETag):
		// It is as it was before that run, or the next run will see.
	case l.gone[read.Path]:
		p.row.State, p.row.ETag, p.row.Event = ledger.GoneThere, "", s.put()
	case fetched && object.Err != nil:
		p.row.State, p.row.Event, p.seen.odd = ledger.ChangedThere, s.put(), "it cannot be read: "+object.Err.Error()
	case fetched:
		if err := k.hold(&p, s, object); err != nil {
			return p, err
		}
	}
	return p, nil
}

// hold holds what the calendar shows of a visit against what was put there.
func (k *Keeper) hold(p *Pulled, s stood, object caldav.Object) (err error) {
	if p.seen, err = k.seen(object.Data, ""); err != nil {
		p.seen.odd = "it cannot be read: " + err.Error()
	}
	from, ours, err := k.origin(s, p.seen)
	switch {
	case err != nil:
		return err
	case ours && len(s.tried) > 0:
		return nil
	case ours:
		p.row.State, p.row.ETag = ledger.AsPut, object.ETag
	default:
		p.row.State, p.row.ETag, p.row.Event = ledger.ChangedThere, object.ETag, from
	}
	p.There = p.seen.slot()
	if p.put, err = decoded(from); err != nil {
		return err
	}
	p.was, err = k.asSeen(p.put)
	return err
}

// keepPulled keeps what has changed, and returns what is not there as it was put. It
// leaves out what another desk has written meanwhile: what was seen of that is out of
// date, so the token stays as well and the next look sees it again.
func (k *Keeper) keepPulled(shelf Shelf, all []Pulled, token string) (pulled []Pulled, err error) {
	err = k.store.Act(func(w Writing) error {
		now, err := shelvedIn(w, shelf, "")
		if err != nil {
			return err
		}
		late, rows := len(now) > len(all), byVisit(now)
		for _, p := range all {
			if !sameRow(rows[p.Case][p.Milestone].last(), p.read) {
				late = true
				continue
			}
			if p.row.State != p.read.State || p.row.ETag != p.read.ETag {
				if err := w.AddShelved(p.row); err != nil {
					return err
				}
			}
			if p.row.State == ledger.ChangedThere || p.row.State == ledger.GoneThere {
				pulled = append(pulled, p)
			}
		}
		if late {
			return nil
		}
		return w.SetSyncToken(shelf.Name, token)
	})
	return pulled, err
}

// weigh says of every visit what the ledger would do with it, and leaves out those
// about which there is nothing to decide.
func (k *Keeper) weigh(pulled []Pulled, on day.Day) ([]Pulled, error) {
	var list []Pulled
	for _, p := range pulled {
		live, err := k.Live(p.Case, on)
		if err != nil {
			return nil, err
		}
		if live.weigh(&p); !live.over(p) {
			list = append(list, p)
		}
	}
	return list, nil
}

// over reports whether a visit has been, or is dropped by both ledger and calendar.
func (l Live) over(p Pulled) bool {
	state := l.State(p.Milestone)
	return state == ledger.Attended || state == ledger.Missed || state != ledger.Booked && p.row.State == ledger.GoneThere
}

func (l Live) weigh(p *Pulled) {
	p.Patient, p.Slot, p.Move = l.Kept.Patient, graft.Slot{}, graft.Slot{}
	v, _ := l.Latest(p.Milestone)
	if v.State == ledger.Booked {
		p.Slot = v.Slot
	}
	switch {
	case p.row.State == ledger.GoneThere:
		p.Why = "deleted in the calendar"
	case v.State != ledger.Booked:
		p.Why = "the ledger has it " + string(v.State)
	case p.seen.odd != "":
		p.Why = p.seen.odd
	case p.seen.sameTime(p.was.given) && p.seen.Location == p.was.Location, p.seen.at(v.Slot) && p.seen.Location == v.Room:
		p.Why = p.seen.differsFrom(p.was)
	default:
		p.Move, p.Why = l.movable(v, p.There, p.seen.Location)
	}
}

// at reports whether an event shows the time of a slot.
func (g given) at(s graft.Slot) bool {
	return g.Day == s.Day && g.Start == s.Start && g.Minutes == s.Minutes
}

// movable returns the slot that a visit dragged in the calendar would get, or why it
// cannot be there.
func (l Live) movable(v ledger.Visit, there graft.Slot, room string) (graft.Slot, string) {
	m, err := l.free(v.Milestone)
	if err != nil {
		return graft.Slot{}, err.Error()
	}
	d, w := there.Day, m.Window
	switch {
	case there.Minutes != v.Minutes:
		return graft.Slot{}, fmt.Sprintf("it lasts %d minutes there; the visit takes %d", there.Minutes, v.Minutes)
	case d.Before(l.Timeline.On):
		return graft.Slot{}, diary.Long(d) + " is past"
	case d.Before(w.NotBefore):
		return graft.Slot{}, fmt.Sprintf("%s is before its gate, %s", diary.Long(d), diary.Long(w.NotBefore))
	case d.Before(w.Earliest) || d.After(w.Latest):
		return graft.Slot{}, fmt.Sprintf("%s is outside its window, %s to %s", diary.Long(d), w.Earliest, w.Latest)
	}
	// First with the same person in the room it now names, then with whoever is free.
	wants := []graft.Slot{{Day: d, Start: there.Start, Room: room, Person: v.Person}, {Day: d, Start: there.Start, Room: room}}
	if room == v.Room {
		wants = append(wants, graft.Slot{Day: d, Start: there.Start})
	}
	var obstacles []string
	for _, want := range wants {
		var slot graft.Slot
		if slot, obstacles = diary.At(l.open(v.Milestone), l.calendar, v.Milestone, want); len(obstacles) == 0 {
			return slot, ""
		}
	}
	return graft.Slot{}, joined(obstacles)
}
