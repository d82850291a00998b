package demo

import (
	"fmt"
	"math/rand/v2"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// front is the name of who sits at the front desk.
const front = "Ida Marlow"

// year is the demo clinic while its year is played.
type year struct {
	houses   houses
	store    desk.Store
	keeper   *desk.Keeper
	random   *rand.Rand
	today    day.Day
	on       day.Day // the day that is played
	acts     int     // on that day
	patients []*patient
	wanted   []crowd
}

// crowd is a day that is to have so many visits and no more than most.
type crowd struct {
	day            day.Day
	visits, atMost int
}

func newYear(h houses, store desk.Store, today day.Day, seed uint64) *year {
	random := rand.New(rand.NewPCG(seed, uint64(today.Sub(day.New(2000, time.January, 1)))))
	return &year{
		houses: h, store: store, keeper: keeper(h.before, store), random: random, today: today,
		wanted: []crowd{{h.look, 8, 9}, {h.late.From, 2, 3}, {h.late.To, 2, 3}},
	}
}

// play plays the year up to the evening before today.
func (y *year) play(cases int) error {
	if err := y.cast(cases); err != nil {
		return err
	}
	for y.on = y.today.AddDays(-yearDays); y.on.Before(y.today); y.on = y.on.AddDays(1) {
		if !y.houses.isOpen(y.on) {
			continue
		}
		y.acts = 0
		for _, p := range y.patients {
			if err := y.day(p); err != nil {
				return fmt.Errorf("play %s, %s (%s): %w", y.on, p.id, p.name, err)
			}
		}
	}
	return nil
}

// day plays a day of one patient: one thing after the other, until there is nothing
// to do.
func (y *year) day(p *patient) error {
	if p.comes == y.on {
		if err := y.takeIn(p); err != nil {
			return err
		}
	}
	if p.comes.After(y.on) {
		return nil
	}
	for did := true; did; {
		var err error
		if did, err = y.step(p); err != nil {
			return err
		}
	}
	return nil
}

// step does the first thing that is to be done for a patient, if there is any.
func (y *year) step(p *patient) (did bool, err error) {
	for _, try := range []func(*patient) (bool, error){y.receive, y.note, y.ask, y.settle, y.approve, y.change, y.book, y.call} {
		if did, err = try(p); did || err != nil {
			break
		}
	}
	return did, err
}

// as is somebody of the clinic, some minutes after the last act of the day.
func (y *year) as(name string) desk.Actor {
	const opens, apart = 8*time.Hour + 40*time.Minute, 3 * time.Minute
	person, err := y.keeper.Person(name)
	if err != nil {
		panic(err) // the demo clinic's own people
	}
	y.acts++
	return desk.Actor{Person: person, On: y.on, At: y.on.Time().Add(opens + time.Duration(y.acts)*apart)}
}

// takeIn takes the record of a patient in, with what has been attended before.
func (y *year) takeIn(p *patient) (err error) {
	if p.paper > 0 {
		if err = y.fromPaper(p); err != nil {
			return err
		}
	}
	if did := y.keeper.Admit(y.as(front), p.record, p.read, ""); did.Err != nil {
		return did.Err
	}
	p.live, err = y.keeper.Live(p.id, y.on)
	return err
}

// fromPaper adds to a record that each step before today took place as planned.
func (y *year) fromPaper(p *patient) error {
	plan, err := y.keeper.Plan(p.read, p.surgery)
	if err != nil {
		return err
	}
	for _, m := range plan.Timeline.Milestones {
		if m.Placed.IsZero() || !m.Placed.Before(y.on) {
			continue
		}
		if p.record, p.read, err = attended(p.record, m); err != nil {
			return err
		}
	}
	return nil
}

// fresh brings what is known of a case up to the day that is played.
func (y *year) fresh(p *patient) (err error) {
	if p.live.Timeline.On != y.on {
		p.live, err = y.keeper.Live(p.id, y.on)
	}
	return err
}

// once reports, the first time, that something is to happen.
func (p *patient) once(what string) bool {
	if p.done[what] {
		return false
	}
	p.done[what] = true
	return true
}

// choice names a milestone to the desk.
func choice(m graft.Milestone) desk.Choice {
	return desk.Choice{Step: m.Step, For: m.For, Which: m.Which}
}

// receive notes what has taken place: visits, calls, decisions.
func (y *year) receive(p *patient) (bool, error) {
	for _, m := range p.live.Timeline.Milestones {
		due := m.Attended.IsZero() && !m.Placed.IsZero() && !m.Placed.After(y.on)
		switch {
		case !due || m.Step == p.unrecorded || m.Visit != "" && !m.Booked || m.Visit == "" && m.Step == p.forgets:
		case m.Booked && m.Step == p.misses && p.once("missed"):
			return true, y.missed(p, m)
		default:
			return true, y.attended(p, m)
		}
	}
	return false, nil
}

func (y *year) missed(p *patient, m graft.Milestone) (err error) {
	p.live, _, err = y.keeper.Missed(y.as(front), p.id, choice(m), "did not come, no call")
	return err
}

func (y *year) attended(p *patient, m graft.Milestone) (err error) {
	p.live, _, err = y.keeper.Attended(y.as(front), p.id, choice(m), day.Day{}, "")
	if m.Step == p.after && p.once("found") {
		const week = 7
		if p.finds != nil {
			p.notes = append(p.notes, note{y.on, p.finds})
		}
		if p.then != nil {
			p.notes = append(p.notes, note{y.on.AddDays(week), p.then})
		}
	}
	return err
}

// settle settles what does not fit the plan any more.
func (y *year) settle(p *patient) (bool, error) {
	if p.live.Settled() {
		return false, nil
	}
	if err := y.fresh(p); err != nil || p.live.Settled() {
		return false, err
	}
	var err error
	p.live, _, err = y.keeper.Settle(y.as(front), p.id, "")
	return true, err
}

// approve approves a plan, where nothing is in the way.
func (y *year) approve(p *patient) (bool, error) {
	if p.live.Approval != nil || p.waits || p.live.Stopped() || !p.live.Settled() {
		return false, nil
	}
	var err error
	p.live, err = y.keeper.Approve(y.as(p.surgeon), p.id)
	return true, err
}

// call calls a patient before a visit. Of the year before last week only every
// eighth patient's calls are noted.
func (y *year) call(p *patient) (bool, error) {
	const ahead, eighth = 5, 8
	if y.today.Sub(y.on) > ahead && p.number%eighth > 0 {
		return false, nil
	}
	for _, m := range p.live.Timeline.Milestones {
		if !m.Booked || !m.Attended.IsZero() || !m.Placed.After(y.on) || m.Placed.Sub(y.on) > ahead || !p.once("call "+m.Slot.String()) {
			continue
		}
		outcomes := []ledger.Outcome{ledger.Confirmed, ledger.Confirmed, ledger.Confirmed, ledger.MessageLeft, ledger.NoAnswer, ""}
		outcome := outcomes[y.random.IntN(len(outcomes))]
		if outcome == "" {
			continue
		}
		var err error
		p.live, err = y.keeper.Contact(y.as(front), p.id, choice(m), outcome, "")
		return true, err
	}
	return false, nil
}
