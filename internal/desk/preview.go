package desk

import (
	"reflect"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// Preview lists the booked visits from a day on that the clinic can hold now and could
// not hold any more if it were as the changed desk has it, each with why and with what
// would be proposed then. Nothing is changed. Only the cases are planned that have
// something booked on a day that the change touches.
func (k *Keeper) Preview(changed *Desk, on day.Day) ([]Settlement, error) {
	var every []facts
	var book, changedBook *diary.Book
	after := NewKeeper(changed, k.store)
	err := k.store.View(func(l Ledger) error {
		cases, err := k.touched(l, changed, on)
		if err != nil || len(cases) == 0 {
			return err
		}
		if book, err = k.taken(l, on); err != nil {
			return err
		}
		if changedBook, err = after.taken(l, on); err != nil {
			return err
		}
		every, err = factsOfEach(l, cases)
		return err
	})
	hits := make([][]Settlement, len(every))
	if err != nil {
		return nil, err
	}
	err = inParallel(len(every), func(n int) error {
		was, err := k.liven(every[n], book, on)
		if err != nil {
			return err
		}
		will, err := after.liven(every[n], changedBook, on)
		if err != nil {
			return err
		}
		hits[n] = newMisfits(was.notHeld(was.unsettled()), will.notHeld(will.unsettled()))
		for i, h := range hits[n] {
			if m, _ := will.Timeline.Find(h.ID); !m.Placed.IsZero() {
				hits[n][i].Others = will.alternatives(m)
			}
		}
		return nil
	})
	return slices.Concat(hits...), err
}

// touched returns the cases that have something booked on a day on which the clinic
// offers something else than before to any kind of visit.
func (k *Keeper) touched(l Ledger, changed *Desk, on day.Day) ([]graft.CaseID, error) {
	was, faults := k.Calendar(on.Year())
	if len(faults) > 0 {
		return nil, faults
	}
	is, faults := changed.Calendar(on.Year())
	if len(faults) > 0 {
		return nil, faults
	}
	visits, err := l.TakenOn(day.Span{From: on, To: is.Horizon().To})
	if err != nil {
		return nil, err
	}
	others := map[day.Day]bool{}
	busyWas, busyIs := busyByDay(was), busyByDay(is)
	for _, v := range visits {
		if _, known := others[v.Day]; !known {
			others[v.Day] = k.offersOther(was, is, v.Day) || !slices.Equal(busyWas[v.Day], busyIs[v.Day])
		}
	}
	seen := map[graft.CaseID]bool{}
	var cases []graft.CaseID
	for _, v := range visits {
		if v.State == ledger.Booked && others[v.Day] && !seen[v.Case] {
			seen[v.Case] = true
			cases = append(cases, v.Case)
		}
	}
	slices.Sort(cases)
	return cases, nil
}

// offersOther reports whether two day tables differ on a day: in what it offers, or in
// whether it is the last before a closure, on which nobody operates.
func (d *Desk) offersOther(was, is *clinic.Calendar, on day.Day) bool {
	closure := d.Rules.Closure()
	if (was.ClosedRunAfter(on) >= closure) != (is.ClosedRunAfter(on) >= closure) {
		return true
	}
	for name := range d.Clinic.Visits {
		fitsWas, _ := was.Fits(on, name)
		fitsIs, _ := is.Fits(on, name)
		if fitsWas != fitsIs || !reflect.DeepEqual(was.Opening(on, name), is.Opening(on, name)) {
			return true
		}
	}
	return false
}

func busyByDay(c *clinic.Calendar) map[day.Day][]clinic.Busy {
	days := map[day.Day][]clinic.Busy{}
	for _, b := range c.Busy() {
		days[b.Slot.Day] = append(days[b.Slot.Day], b)
	}
	return days
}

// newMisfits are those that there were not before.
func newMisfits(was, is []Settlement) []Settlement {
	return slices.DeleteFunc(is, func(s Settlement) bool {
		return slices.ContainsFunc(was, func(w Settlement) bool { return w.ID == s.ID })
	})
}

// factsOfEach reads what the ledger holds of some cases.
func factsOfEach(l Ledger, cases []graft.CaseID) ([]facts, error) {
	list := make([]facts, len(cases))
	for n, id := range cases {
		kept, err := l.Case(id)
		if err != nil {
			return nil, err
		}
		revision, err := l.Revision(id, kept.Revision)
		if err != nil {
			return nil, err
		}
		visits, err := l.Visits(id)
		if err != nil {
			return nil, err
		}
		if list[n], err = factsOf(l, Standing{Kept: kept, Revision: revision, Visits: visits}); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// inParallel does something for each of so many, as many at once as there are cores,
// and returns the first error by number.
func inParallel(n int, do func(int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				errs[i] = do(i)
			}
		})
	}
	workers.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
