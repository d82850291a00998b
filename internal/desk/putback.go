package desk

import (
	"context"
	"fmt"
	"slices"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// TakeOver moves a visit in the ledger to where it was dragged in the calendar, if
// that still can be.
func (k *Keeper) TakeOver(a Actor, p Pulled) (ledger.Visit, error) {
	var made ledger.Visit
	_, err := k.act(a, p.Case, string(ledger.Move), func(t *turn) error {
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
// and whatever else somebody wrote there stay theirs: publish leaves them alone. Where
// something was written since, that stays: publish sees for itself what became of it.
func (k *Keeper) takenOver(w Writing, p Pulled, at time.Time) error {
	if now, err := lastRow(w, Shelf{Name: p.row.Calendar}, p.Case, p.Milestone); err != nil || !sameRow(now, p.row) {
		return err
	}
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
	list, err := k.shelfOf(numbered[0], map[graft.MilestoneID]stood{p.Milestone: {sure: row}}, true)
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
