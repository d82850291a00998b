package desk

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// RulesPreview says what other rules would change in the cases of the ledger.
type RulesPreview struct {
	Cases   int          // in the ledger
	Looked  int          // at so many of them, those with something booked and those changed last first
	Touched int          // so many of these would get a misfit or another date of a gate
	Drafts  int          // so many of these are approved and would wait for approval again
	Effects []RuleEffect // of those touched, mostEffects at most, by case number
}

// RuleEffect is what other rules would change in one case.
type RuleEffect struct {
	Case    graft.CaseID
	Patient string
	Misfits []Settlement // booked visits that fit now and would not fit, without Others
	Gates   []GateMove   // gates ahead that would have another day
}

// GateMove is a gate with the first day on which its bone is held.
type GateMove struct {
	ID       graft.MilestoneID
	Was, Now day.Day // no day: no such step, or no date
}

// mostEffects bounds what a preview lists.
const mostEffects = 50

// gates are the steps that wait for bone, and the teeth that wait for them.
var gates = []graft.Step{graft.Placement, graft.Uncovering, graft.FirstLoading}

// PreviewRules says what it would change in the cases of the ledger if the rules were
// those of the changed desk. It looks at so many cases at most, and at none any more
// once the context is over; what it found until then counts. Nothing is changed.
func (k *Keeper) PreviewRules(ctx context.Context, changed *Desk, on day.Day, most int) (RulesPreview, error) {
	var p RulesPreview
	err := k.store.View(func(l Ledger) error {
		cases, all, err := k.liveliest(l, on, most)
		if err != nil {
			return err
		}
		p.Cases = all
		book, err := k.taken(l, on)
		if err != nil {
			return err
		}
		const atOnce = 64 // so that the end of the context is seen soon
		for some := range slices.Chunk(cases, atOnce) {
			if err != nil || ctx.Err() != nil {
				break
			}
			err = k.lookUnder(ctx, changed, l, some, book, on, &p)
		}
		return err
	})
	slices.SortFunc(p.Effects, func(a, b RuleEffect) int { return cmp.Compare(a.Case, b.Case) })
	p.Effects = p.Effects[:min(len(p.Effects), mostEffects)]
	return p, err
}

// lookUnder adds some cases to a preview.
func (k *Keeper) lookUnder(ctx context.Context, changed *Desk, l Ledger, cases []graft.CaseID, book *diary.Book, on day.Day, p *RulesPreview) error {
	var mutex sync.Mutex
	return eachOf(l, cases, allCores(), func(_ int, f facts) error {
		if ctx.Err() != nil {
			return nil
		}
		effect, draft, err := k.underRules(changed, f, book, on)
		mutex.Lock()
		defer mutex.Unlock()
		p.count(effect, draft)
		return err
	})
}

// liveliest returns the cases with something booked from a day on and then those that
// were changed last, so many at most; and how many cases there are.
func (k *Keeper) liveliest(l Ledger, on day.Day, most int) (list []graft.CaseID, all int, err error) {
	calendar, faults := k.Calendar(on.Year())
	if len(faults) > 0 {
		return nil, 0, faults
	}
	visits, err := l.TakenOn(day.Span{From: on, To: calendar.Horizon().To})
	if err != nil {
		return nil, 0, err
	}
	booked := map[graft.CaseID]int{}
	for _, v := range visits {
		if v.State == ledger.Booked {
			booked[v.Case] = 1
		}
	}
	cases, err := l.Cases()
	slices.SortStableFunc(cases, func(a, b ledger.Kept) int {
		return cmp.Or(cmp.Compare(booked[b.Case], booked[a.Case]), cmp.Compare(b.Head, a.Head))
	})
	for _, c := range cases[:min(len(cases), most)] {
		list = append(list, c.Case)
	}
	return list, len(cases), err
}

// count adds one case to what was found.
func (p *RulesPreview) count(e RuleEffect, draft bool) {
	p.Looked++
	if draft {
		p.Drafts++
	}
	if len(e.Misfits)+len(e.Gates) > 0 {
		p.Touched++
		p.Effects = append(p.Effects, e)
	}
}

// underRules plans one case by both rules and tells the difference.
func (k *Keeper) underRules(changed *Desk, f facts, book *diary.Book, on day.Day) (e RuleEffect, draft bool, err error) {
	e = RuleEffect{Case: f.Kept.Case, Patient: f.Kept.Patient}
	record, err := f.record()
	if err != nil {
		return e, false, err
	}
	was, err := k.livenRecord(f, record, book, on)
	if err != nil {
		return e, false, err
	}
	will, err := changed.livenRecord(f, record, book, on)
	if err != nil {
		return e, false, err
	}
	e.Misfits = newMisfits(was.unsettled(), will.unsettled())
	e.Gates = movedGates(was.Timeline, will.Timeline)
	return e, was.Approval != nil && will.Approval == nil, nil
}

// movedGates are the gates of a plan, not attended yet, to which another one gives
// another day, and those that only the other one has.
func movedGates(was, is graft.Timeline) []GateMove {
	var moved []GateMove
	for _, m := range was.Milestones {
		then, _ := is.Find(m.ID)
		if slices.Contains(gates, m.Step) && m.Attended.IsZero() && then.Window.NotBefore != m.Window.NotBefore {
			moved = append(moved, GateMove{m.ID, m.Window.NotBefore, then.Window.NotBefore})
		}
	}
	for _, m := range is.Milestones {
		if _, there := was.Find(m.ID); slices.Contains(gates, m.Step) && !there {
			moved = append(moved, GateMove{ID: m.ID, Now: m.Window.NotBefore})
		}
	}
	return moved
}
