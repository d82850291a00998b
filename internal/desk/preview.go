package desk

import (
	"reflect"
	"slices"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/table"
)

// Preview lists the booked visits from a day on that the clinic can hold now and could
// not hold any more if it were as the changed desk has it, each with why and with what
// would be proposed then. Nothing is changed. Only the cases are planned of which some
// visit may be hit.
func (k *Keeper) Preview(changed *Desk, on day.Day) ([]Settlement, error) {
	c, err := k.changeTo(changed, on)
	if err != nil {
		return nil, err
	}
	var hits [][]Settlement
	err = k.store.View(func(l Ledger) error {
		cases, err := c.touched(l)
		if err != nil || len(cases) == 0 {
			return err
		}
		if c.bookWas, err = k.taken(l, on); err != nil {
			return err
		}
		if c.bookIs, err = changed.taken(l, on); err != nil {
			return err
		}
		hits = make([][]Settlement, len(cases))
		return eachOf(l, cases, allCores(), func(n int, f facts) (err error) {
			hits[n], err = c.hits(f)
			return err
		})
	})
	return slices.Concat(hits...), err
}

// clinicChange is the clinic as it is and as it would be.
type clinicChange struct {
	was, is         *Desk
	on              day.Day
	tableWas        *clinic.Calendar
	tableIs         *clinic.Calendar
	busyWas, busyIs map[day.Day][]clinic.Busy
	bookWas, bookIs *diary.Book
}

func (k *Keeper) changeTo(changed *Desk, on day.Day) (*clinicChange, error) {
	c := &clinicChange{was: k.Desk, is: changed, on: on}
	var faults table.Faults
	if c.tableWas, faults = k.Calendar(on.Year()); len(faults) > 0 {
		return nil, faults
	}
	if c.tableIs, faults = changed.Calendar(on.Year()); len(faults) > 0 {
		return nil, faults
	}
	c.busyWas, c.busyIs = busyByDay(c.tableWas), busyByDay(c.tableIs)
	return c, nil
}

// touched returns, by number, the cases with a booked visit for which the changed clinic
// may not be there, on a day on which the clinic offers something else than before to any
// kind of visit.
func (c *clinicChange) touched(l Ledger) ([]graft.CaseID, error) {
	visits, err := l.TakenOn(day.Span{From: c.on, To: c.tableIs.Horizon().To})
	if err != nil {
		return nil, err
	}
	others := map[day.Day]bool{}
	var cases []graft.CaseID
	for _, v := range visits {
		if _, known := others[v.Day]; !known {
			others[v.Day] = c.was.offersOther(c.tableWas, c.tableIs, v.Day) || !slices.Equal(c.busyWas[v.Day], c.busyIs[v.Day])
		}
		if v.State == ledger.Booked && others[v.Day] && c.is.doubtful(c.tableIs, c.busyIs[v.Day], v) {
			cases = append(cases, v.Case)
		}
	}
	slices.Sort(cases)
	return slices.Compact(cases), nil
}

// hits are the visits of a case that would be hit. How the case is planned now is only
// looked at where one of them may be hit already.
func (c *clinicChange) hits(f facts) ([]Settlement, error) {
	record, err := f.record()
	if err != nil {
		return nil, err
	}
	will, err := c.is.livenRecord(f, record, c.bookIs, c.on)
	if err != nil {
		return nil, err
	}
	hits := will.notHeld(will.unsettled())
	if slices.ContainsFunc(hits, c.mayHaveBeenHit) {
		was, err := c.was.livenRecord(f, record, c.bookWas, c.on)
		if err != nil {
			return nil, err
		}
		hits = newMisfits(was.notHeld(was.unsettled()), hits)
	}
	for n, h := range hits {
		if m, _ := will.Timeline.Find(h.ID); !m.Placed.IsZero() {
			hits[n].Others = will.alternatives(m)
		}
	}
	return hits, nil
}

// mayHaveBeenHit reports whether the clinic as it is may be in the way of a visit
// already.
func (c *clinicChange) mayHaveBeenHit(s Settlement) bool {
	v := ledger.Visit{Milestone: s.ID, Slot: s.Was}
	return !c.tableWas.Horizon().Contains(v.Day) || c.was.doubtful(c.tableWas, c.busyWas[v.Day], v)
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
