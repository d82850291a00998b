package desk

import (
	"slices"
	"time"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Hits lists, over all cases, every booked visit from a day on that the clinic
// cannot hold as its file now stands: closed days, absences, rooms out of use,
// shorter hours. Each comes with a proposal. Only the cases are planned of which some
// visit may be hit.
func (k *Keeper) Hits(on day.Day) ([]Settlement, error) {
	var every []facts
	var book *diary.Book
	err := k.store.View(func(l Ledger) error {
		cases, err := k.mayBeHit(l, on)
		if err != nil || len(cases) == 0 {
			return err
		}
		if book, err = k.taken(l, on); err != nil {
			return err
		}
		every, err = factsOfEach(l, cases)
		return err
	})
	if err != nil {
		return nil, err
	}
	hits := make([][]Settlement, len(every))
	err = inParallel(len(every), func(n int) error {
		live, err := k.liven(every[n], book, on)
		if err == nil {
			hits[n] = live.hits()
		}
		return err
	})
	return slices.Concat(hits...), err
}

// mayBeHit returns, by number, the cases with a booked visit for which the clinic may
// not be there; whether it is, their plans tell.
func (k *Keeper) mayBeHit(l Ledger, on day.Day) ([]graft.CaseID, error) {
	calendar, faults := k.Calendar(on.Year())
	if len(faults) > 0 {
		return nil, faults
	}
	visits, err := l.TakenOn(day.Span{From: on, To: day.New(9999, time.December, 31)})
	if err != nil {
		return nil, err
	}
	busy := busyByDay(calendar)
	var cases []graft.CaseID
	for _, v := range visits {
		if v.State == ledger.Booked && k.doubtful(calendar, busy[v.Day], v) {
			cases = append(cases, v.Case)
		}
	}
	slices.Sort(cases)
	return slices.Compact(cases), nil
}

// otherwise are the steps for which somebody comes in as for another one.
var otherwise = map[graft.Step]graft.Step{graft.DefinitiveRestoration: graft.FirstLoading, graft.ReEntry: graft.Placement}

// doubtful reports whether anything of the clinic may be in the way of a booked visit.
// It may be wrong in saying so, never in saying that nothing is.
func (d *Desk) doubtful(c *clinic.Calendar, busy []clinic.Busy, v ledger.Visit) bool {
	step, _, _ := v.Milestone.Parts()
	if as, known := otherwise[step]; known {
		step = as
	}
	o := c.Opening(v.Day, string(step))
	inside := func(h day.Hours) bool { return h.From <= v.Start && v.End() <= h.To }
	taken := func(b clinic.Busy) bool {
		return b.Slot.Overlaps(v.Slot) && (b.Slot.Room != "" && b.Slot.Room == v.Room || b.Slot.Person != "" && b.Slot.Person == v.Person)
	}
	fits, _ := c.Fits(v.Day, string(step))
	return !fits || !slices.ContainsFunc(o.Hours, inside) ||
		o.NeedsRoom && !slices.Contains(o.Rooms, v.Room) || o.NeedsPerson && !slices.Contains(o.People, v.Person) ||
		c.ClosedRunAfter(v.Day) > 0 || slices.ContainsFunc(busy, taken)
}
