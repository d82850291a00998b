package desk

import (
	"slices"
	"time"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// HitCase is a case of which the clinic cannot hold some booked visits.
type HitCase struct {
	*Whose
	OtherRules bool         // the rules have changed since the revision was made
	Hits       []Settlement // these visits, each with why the clinic cannot hold it
	Unsettled  []Settlement // all that settling the case does, these visits among it
}

// HitCases lists, by number, every case with a booked visit from a day on that the
// clinic cannot hold as its file now stands: closed days, absences, rooms out of use,
// shorter hours. Each comes with a proposal. Only the cases are planned of which some
// visit may be hit.
func (k *Keeper) HitCases(on day.Day) ([]HitCase, error) {
	var all []HitCase
	err := k.store.View(func(l Ledger) error {
		cases, err := k.mayBeHit(l, on)
		if err != nil || len(cases) == 0 {
			return err
		}
		book, err := k.taken(l, on)
		if err != nil {
			return err
		}
		all = make([]HitCase, len(cases))
		return eachOf(l, cases, allCores(), func(n int, f facts) error {
			live, err := k.liven(f, book, on)
			if err == nil {
				all[n] = live.hitCase()
			}
			return err
		})
	})
	return slices.DeleteFunc(all, func(c HitCase) bool { return len(c.Hits) == 0 }), err
}

// hitCase tells what of a case is hit; there are no Hits if nothing is.
func (l Live) hitCase() HitCase {
	if len(l.notHeld(l.unsettled())) == 0 {
		return HitCase{}
	}
	unsettled := l.Unsettled()
	return HitCase{Whose: l.whose(), OtherRules: l.OtherRules, Hits: l.notHeld(unsettled), Unsettled: unsettled}
}

// Hits lists the visits of HitCases.
func (k *Keeper) Hits(on day.Day) ([]Settlement, error) {
	cases, err := k.HitCases(on)
	var hits []Settlement
	for _, c := range cases {
		hits = append(hits, c.Hits...)
	}
	return hits, err
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
