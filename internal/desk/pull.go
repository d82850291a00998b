package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
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

	row  ledger.Shelved
	seen sight
	put  given // what was put there
	was  sight // the same as it would be seen
}

// movedThere is the reason in the history of a move that was made in the calendar.
const movedThere = "moved in the calendar"

// Pull asks the shared calendar what has changed there, keeps it, and returns every
// visit that is not there as the ledger has it: moved, with what the ledger would
// say to that, changed otherwise, or deleted. Nothing in the ledger's bookings and
// nothing in the calendar is changed.
func (k *Keeper) Pull(ctx context.Context, shelf Shelf, on day.Day, at time.Time) ([]Pulled, error) {
	rows, token, err := k.shelfRows(shelf)
	if err != nil {
		return nil, err
	}
	looked, err := look(ctx, shelf, rows, token)
	if err != nil {
		return nil, err
	}
	var pulled []Pulled
	var changed, read []ledger.Shelved
	for _, row := range rows {
		p, now, err := k.compare(row, looked)
		if err != nil {
			return nil, err
		}
		if now.State != row.State || now.ETag != row.ETag {
			now.At = at
			changed, read = append(changed, now), append(read, row)
		}
		if now.State == ledger.ChangedThere || now.State == ledger.GoneThere {
			pulled = append(pulled, p)
		}
	}
	if err := k.keepPulled(shelf, changed, read, looked.token); err != nil {
		return nil, err
	}
	return k.weigh(pulled, on)
}

// shelfRows returns what the ledger knows of the shared calendar.
func (k *Keeper) shelfRows(shelf Shelf) (rows []ledger.Shelved, token string, err error) {
	err = k.store.View(func(l Ledger) (err error) {
		if rows, err = l.Shelved(shelf.Name); err != nil {
			return err
		}
		token, err = l.SyncToken(shelf.Name)
		return err
	})
	return rows, token, err
}

// looked is what the calendar says now.
type looked struct {
	token   string
	gone    map[string]bool          // by path
	objects map[string]caldav.Object // by path, those that were fetched
}

// look asks the server what has changed, and fetches that and what was known to be
// changed. Where the server has forgotten the token it asks for everything; then
// what is not there is gone.
func look(ctx context.Context, shelf Shelf, rows []ledger.Shelved, token string) (looked, error) {
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
	for _, r := range rows {
		tag, listed := tags[r.Path]
		if token == "" && !listed && r.ETag != "" { // without a tag it may never have arrived
			l.gone[r.Path] = true
		}
		if !l.gone[r.Path] && (r.State == ledger.ChangedThere || listed && (tag != r.ETag || tag == "")) {
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

// compare holds one visit of the calendar against what was put there.
func (k *Keeper) compare(row ledger.Shelved, l looked) (Pulled, ledger.Shelved, error) {
	p := Pulled{Shelving: Shelving{Case: row.Case, Milestone: row.Milestone, Did: Keeps}}
	now := row
	object, fetched := l.objects[row.Path]
	switch {
	case row.State == ledger.TakenDown && (l.gone[row.Path] || !fetched):
	case l.gone[row.Path]:
		now.State, now.ETag = ledger.GoneThere, ""
	case fetched && object.Err != nil:
		now.State, p.seen.odd = ledger.ChangedThere, "it cannot be read: "+object.Err.Error()
	case fetched:
		before, err := decoded(row.Event)
		if err != nil {
			return p, now, err
		}
		now.ETag, now.State = object.ETag, ledger.AsPut
		if p.seen, err = k.seen(object.Data, ""); err != nil {
			p.seen.odd = "it cannot be read: " + err.Error()
		}
		p.put = before
		if p.was, err = k.asSeen(before); err != nil {
			return p, now, err
		}
		if !p.seen.saysSame(p.was) {
			now.State = ledger.ChangedThere
		}
		p.There = p.seen.slot()
	}
	p.row = now
	return p, now, nil
}

// keepPulled keeps what has changed, but for what another desk has written meanwhile.
func (k *Keeper) keepPulled(shelf Shelf, changed []ledger.Shelved, read []ledger.Shelved, token string) error {
	return k.store.Act(func(w Writing) error {
		now, err := shelvedIn(w, shelf)
		if err != nil {
			return err
		}
		for n, row := range changed {
			if !sameRow(now[row.Case][row.Milestone], read[n]) {
				continue
			}
			if err := w.AddShelved(row); err != nil {
				return err
			}
		}
		return w.SetSyncToken(shelf.Name, token)
	})
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
	case l.movedOn(*p, v):
		p.Why = "the ledger has moved it on from there"
	default:
		p.Move, p.Why = l.movable(v, p.There, p.seen.Location)
	}
}

// movedOn reports whether the calendar shows a time that the ledger itself gave the
// visit before it moved it on, and never what it has now: a run was cut off there.
func (l Live) movedOn(p Pulled, now ledger.Visit) bool {
	return !p.was.at(now.Slot) && slices.ContainsFunc(l.Visits, func(v ledger.Visit) bool {
		return v.Milestone == p.Milestone && v.State == ledger.Moved && p.seen.at(v.Slot)
	})
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

// TakeOver moves a visit in the ledger to where it was dragged in the calendar, if
// that still can be.
func (k *Keeper) TakeOver(a Actor, p Pulled) (ledger.Visit, error) {
	var made ledger.Visit
	_, err := k.act(a, p.Case, func(t *turn) error {
		t.live.weigh(&p)
		if p.Move.Day.IsZero() {
			return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("%s of %s cannot be moved: %s", p.Milestone.Title(), p.Case, p.Why)}
		}
		m, err := t.live.free(p.Milestone)
		if err != nil {
			return err
		}
		if made, err = t.book(m, p.Move, movedThere, string(ledger.Move)); err != nil {
			return err
		}
		return t.keeper.takenOver(t.w, p, a.At)
	})
	return made, err
}

// takenOver keeps that the calendar shows a visit where the ledger now has it. Words
// and whatever else somebody wrote there stay theirs: publish leaves them alone.
func (k *Keeper) takenOver(w Writing, p Pulled, at time.Time) error {
	put := p.put
	put.Day, put.Start, put.Minutes, put.Location = p.seen.Day, p.seen.Start, p.seen.Minutes, p.seen.Location
	there, err := k.asSeen(put)
	if err != nil {
		return err
	}
	row := p.row
	row.State, row.At = ledger.AsPut, at
	if !p.seen.saysSame(there) {
		row.State = ledger.ChangedThere
	}
	if row.Event, err = encoded(put); err != nil {
		return err
	}
	return w.AddShelved(row)
}

// PutBack makes the calendar say again what the ledger says of a visit: it writes it
// over what somebody made of it there, brings back what was deleted, and removes
// what the ledger no longer has.
func (k *Keeper) PutBack(ctx context.Context, shelf Shelf, p Pulled, on day.Day, at time.Time) (Shelving, error) {
	live, err := k.Live(p.Case, on)
	if err != nil {
		return p.Shelving, err
	}
	numbered := []Live{live}
	if err := k.numberShelf(numbered, on, at); err != nil {
		return p.Shelving, err
	}
	row := p.row
	row.State = ledger.AsPut
	if p.row.State == ledger.GoneThere {
		row.State = ledger.TakenDown
	}
	list, err := k.shelfOf(numbered[0], map[graft.MilestoneID]ledger.Shelved{p.Milestone: row}, true)
	if err != nil {
		return p.Shelving, err
	}
	n := slices.IndexFunc(list, func(s onShelf) bool { return s.Milestone == p.Milestone })
	if n < 0 {
		return p.Shelving, &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("%s of %s does not fit the plan and waits to be settled", p.Milestone.Title(), p.Case), Hint: "graftclock settle " + string(p.Case)}
	}
	one := list[n : n+1]
	one[0].read = p.row
	if err := k.announce(shelf, one, at); err != nil || one[0].Did == Keeps {
		return one[0].Shelving, err
	}
	err = k.shelve(ctx, shelf, &one[0], at)
	return one[0].Shelving, err
}
