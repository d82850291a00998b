package desk_test

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/sqlite"
	"graftclock/internal/table"
)

// play is a small clinic in which anything may happen, with a board that looks on.
type play struct {
	t      *testing.T
	random *rand.Rand
	store  desk.Store
	other  desk.Store // of another process
	clinic casefile.Clinic
	rules  *protocol.Rules
	keeper *desk.Keeper
	board  *desk.Board
	on     day.Day
	cases  []graft.CaseID
	deck   []func() (graft.CaseID, string) // what is still to happen
}

// newPlay opens a clinic with a few patients.
func newPlay(t *testing.T, seed uint64) *play {
	t.Helper()
	path := filepath.Join(t.TempDir(), "clinic.ledger")
	var stores [2]desk.Store
	for n := range stores {
		store, err := sqlite.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { store.Close() })
		stores[n] = desk.Keep(store)
	}
	p := &play{t: t, random: rand.New(rand.NewPCG(seed, 1)), store: stores[0], other: stores[1], clinic: narrowClinic(t), rules: protocol.Default(), on: on("2027-01-18")}
	p.keeper = desk.NewKeeper(desk.New(p.clinic, p.rules), p.store)
	p.board = desk.NewBoard(p.keeper)
	for range 5 {
		p.arrival()
	}
	return p
}

// narrowClinic is the demo clinic with so little time that patients are in each
// other's way.
func narrowClinic(t *testing.T) casefile.Clinic {
	t.Helper()
	path, data := demo(t, "clinic.yaml")
	const wide, narrow = "mon-thu: [08:30-12:30, 13:30-17:00]", "mon-thu: [08:30-10:00]"
	if !bytes.Contains(data, []byte(wide)) {
		t.Fatal("the demo clinic has other hours")
	}
	c, faults := casefile.ReadClinic(path, bytes.Replace(data, []byte(wide), []byte(narrow), 1), os.ReadFile)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return c
}

func (p *play) as(name string) desk.Actor {
	person, err := p.keeper.Person(name)
	if err != nil {
		p.t.Fatal(err)
	}
	return desk.Actor{Person: person, On: p.on, At: p.on.Time().Add(8 * time.Hour)}
}

// arrival admits a demo record whose surgery was, or will be, about now.
func (p *play) arrival() (graft.CaseID, string) {
	names := []string{"fenwick", "okafor", "marsh", "lindqvist"}
	id := graft.CaseID(fmt.Sprintf("HR-%d", 3000+p.random.IntN(6000)))
	admit(p.t, p.keeper, p.as("Ida Marlow"), names[p.random.IntN(len(names))], "case="+string(id), "patient.name=Ansel Birch", "patient.unavailable=none", "surgery.day="+p.on.AddDays(p.random.IntN(50)-40).String())
	p.cases = append(p.cases, id)
	return id, "admit"
}

// deed is something that can be done about a case; false if there was nothing to do.
type deed struct {
	what  string
	often int
	do    func(*desk.Keeper, graft.CaseID) (bool, error)
}

// step lets something happen, and tells what and to which case. All that can happen
// does, in a drawn order, before anything happens again.
func (p *play) step() (id graft.CaseID, what string) {
	if len(p.deck) == 0 {
		p.deck = []func() (graft.CaseID, string){p.later, p.later, p.closes, p.closes, p.adopts, p.arrival, p.signsIn}
		for _, d := range []deed{
			{"book", 6, p.books}, {"move", 1, p.moves}, {"cancel", 2, p.cancels}, {"hold", 1, p.holds}, {"attended", 2, p.comes}, {"missed", 1, p.misses}, {"contact", 2, p.calls},
			{"finding", 1, p.finds}, {"cannot come", 1, p.cannotCome}, {"rename", 1, p.renames}, {"settle", 2, p.settles}, {"override", 1, p.overrides}, {"take back", 1, p.takesBack},
			{"approve", 2, p.approves}, {"refused", 1, p.mayNot},
		} {
			for range d.often {
				p.deck = append(p.deck, func() (graft.CaseID, string) { return p.does(d) })
			}
		}
		p.random.Shuffle(len(p.deck), func(i, j int) { p.deck[i], p.deck[j] = p.deck[j], p.deck[i] })
	}
	next := p.deck[0]
	p.deck = p.deck[1:]
	return next()
}

// does does something about the first case of a drawn order for which there is anything
// to do, now and then at another desk. A refusal is something that happens too.
func (p *play) does(d deed) (graft.CaseID, string) {
	k := p.keeper
	if p.random.IntN(4) == 0 {
		k = desk.NewKeeper(p.keeper.Desk, p.other)
	}
	for _, n := range p.random.Perm(len(p.cases)) {
		done, err := d.do(k, p.cases[n])
		var refusal *graft.Refusal
		var faults table.Faults
		switch {
		case errors.As(err, &refusal) || errors.As(err, &faults):
			return p.cases[n], "refused"
		case err != nil:
			p.t.Fatalf("%s %s: %v", d.what, p.cases[n], err)
		case done:
			return p.cases[n], d.what
		}
	}
	return "", ""
}

func (p *play) later() (graft.CaseID, string) {
	p.on = p.on.AddDays(1 + p.random.IntN(9))
	return "", "day"
}

func (p *play) signsIn() (graft.CaseID, string) {
	ida := p.as("Ida Marlow")
	if err := p.store.Act(func(w desk.Writing) error {
		return w.AddEntry(ledger.Entry{At: ida.At, By: ida.Person, What: ledger.SignIn})
	}); err != nil {
		p.t.Fatal(err)
	}
	return "", "sign in"
}

// nextVisit is the first day from now on for which something is booked; today if nothing
// is.
func (p *play) nextVisit() day.Day {
	next := day.Day{}
	for _, id := range p.cases {
		live, err := p.keeper.Live(id, p.on)
		if err != nil {
			p.t.Fatal(err)
		}
		for _, v := range live.Visits {
			if v.State == ledger.Booked && !v.Day.Before(p.on) && (next.IsZero() || v.Day.Before(next)) {
				next = v.Day
			}
		}
	}
	if next.IsZero() {
		return p.on
	}
	return next
}

// closes enters a closure over the coming days, now and then of the next visit, or opens
// again.
func (p *play) closes() (graft.CaseID, string) {
	what := "closed"
	if len(p.clinic.Closures) > 1 {
		p.clinic.Closures, what = p.clinic.Closures[:1], "opened"
	} else {
		from := p.on.AddDays(p.random.IntN(4))
		if p.random.IntN(2) == 0 {
			from = p.nextVisit()
		}
		p.clinic.Closures = append(slices.Clone(p.clinic.Closures), clinic.Closure{From: from, To: from.AddDays(p.random.IntN(30)), Name: "burst pipe"})
	}
	p.enter()
	return "", what
}

// adopts adopts another value, or takes it back.
func (p *play) adopts() (graft.CaseID, string) {
	own := "rules: 1\nadopted_by: Dr Alba Quill\nadopted_on: 2027-01-18\nchanges: [{id: unconfirmed-within, value: 14d, reason: we call early}]\n"
	rules, faults := protocol.Default().Adopt("own.yaml", []byte(own))
	if len(faults) > 0 {
		p.t.Fatal(faults)
	}
	if p.rules == protocol.Default() {
		p.rules = rules
	} else {
		p.rules = protocol.Default()
	}
	p.enter()
	return "", "rules"
}

func (p *play) enter() {
	p.keeper = desk.NewKeeper(desk.New(p.clinic, p.rules), p.store)
	p.board.Enter(p.keeper)
}

// some is one of the open steps of a case such as is wanted, the next ones more often;
// false if there is none.
func (p *play) some(id graft.CaseID, wanted func(desk.Live, graft.Milestone) bool) (live desk.Live, c desk.Choice, ok bool) {
	live, err := p.keeper.Live(id, p.on)
	if err != nil {
		p.t.Fatal(err)
	}
	var fits []graft.Milestone
	for _, m := range live.Timeline.Milestones {
		if m.Attended.IsZero() && wanted(live, m) {
			fits = append(fits, m)
		}
	}
	if len(fits) == 0 {
		return live, c, false
	}
	return live, desk.ChoiceOf(fits[min(p.random.IntN(len(fits)), p.random.IntN(len(fits)))].ID), true
}

// slot is one of the next times that could be had.
func (p *play) slot(live desk.Live, c desk.Choice) graft.Slot {
	m, err := live.Pick(c)
	if err != nil {
		p.t.Fatal(err)
	}
	offers, err := live.Offers(m, day.Span{From: p.on, To: p.on.AddDays(300)}, 4)
	if err != nil || len(offers) == 0 {
		return graft.Slot{Day: p.on}
	}
	return offers[p.random.IntN(len(offers))].Slot
}

func booked(l desk.Live, m graft.Milestone) bool { return l.State(m.ID) == ledger.Booked }

func (p *play) books(k *desk.Keeper, id graft.CaseID) (bool, error) {
	live, c, ok := p.some(id, func(l desk.Live, m graft.Milestone) bool { return m.Visit != "" && !m.Placed.IsZero() && !booked(l, m) })
	if ok {
		_, _, err := k.Book(p.as("Dr Alba Quill"), id, c, p.slot(live, c), "first that is free")
		return true, err
	}
	return false, nil
}

func (p *play) moves(k *desk.Keeper, id graft.CaseID) (bool, error) {
	live, c, ok := p.some(id, booked)
	if ok {
		_, _, err := k.Move(p.as("Ida Marlow"), id, c, p.slot(live, c), "patient asked")
		return true, err
	}
	return false, nil
}

func (p *play) cancels(k *desk.Keeper, id graft.CaseID) (bool, error) {
	_, c, ok := p.some(id, booked)
	if ok {
		_, _, err := k.Cancel(p.as("Ida Marlow"), id, c, "")
		return true, err
	}
	return false, nil
}

func (p *play) holds(k *desk.Keeper, id graft.CaseID) (bool, error) {
	_, c, ok := p.some(id, func(l desk.Live, m graft.Milestone) bool { return !booked(l, m) })
	if ok {
		_, _, err := k.Hold(p.as("Ida Marlow"), id, c, "")
		return true, err
	}
	return false, nil
}

func (p *play) comes(k *desk.Keeper, id graft.CaseID) (bool, error) {
	_, c, ok := p.some(id, func(_ desk.Live, m graft.Milestone) bool { return !m.Placed.IsZero() && !m.Placed.After(p.on) })
	if ok {
		_, _, err := k.Attended(p.as("Ida Marlow"), id, c, day.Day{}, "")
		return true, err
	}
	return false, nil
}

// misses has the day come for which somebody is booked, who does not come.
func (p *play) misses(k *desk.Keeper, id graft.CaseID) (bool, error) {
	live, c, ok := p.some(id, func(l desk.Live, m graft.Milestone) bool { return booked(l, m) && m.Placed.Sub(p.on) < 20 })
	if ok {
		m, _ := live.Pick(c)
		p.on = day.Max(p.on, m.Placed)
		_, _, err := k.Missed(p.as("Ida Marlow"), id, c, "")
		return true, err
	}
	return false, nil
}

func (p *play) calls(k *desk.Keeper, id graft.CaseID) (bool, error) {
	_, c, ok := p.some(id, booked)
	if ok {
		_, err := k.Contact(p.as("Ida Marlow"), id, c, ledger.Outcomes[p.random.IntN(len(ledger.Outcomes))], "")
		return true, err
	}
	return false, nil
}

func (p *play) finds(k *desk.Keeper, id graft.CaseID) (bool, error) {
	live, err := k.Live(id, p.on)
	if err != nil || live.Case.Ahead(p.on) {
		return false, err
	}
	_, err = k.AddFinding(p.as("Dr Alba Quill"), id, map[string]string{"what": []string{"infection", "graft removed"}[p.random.IntN(2)], "day": p.on.String()}, "")
	return true, err
}

func (p *play) cannotCome(k *desk.Keeper, id graft.CaseID) (bool, error) {
	live, c, ok := p.some(id, booked)
	if m, _ := live.Pick(c); ok {
		_, err := k.Set(p.as("Ida Marlow"), id, []string{"patient.unavailable+=" + m.Placed.String()}, "")
		return true, err
	}
	return false, nil
}

func (p *play) renames(k *desk.Keeper, id graft.CaseID) (bool, error) {
	_, err := k.Set(p.as("Ida Marlow"), id, []string{fmt.Sprintf("patient.name=Ansel Birch %c", 'A'+p.random.IntN(26)), fmt.Sprintf("patient.phone=01 555 %04d", p.random.IntN(10000))}, "")
	return true, err
}

func (p *play) settles(k *desk.Keeper, id graft.CaseID) (bool, error) {
	live, err := k.Live(id, p.on)
	if err != nil || live.Settled() {
		return false, err
	}
	_, _, err = k.Settle(p.as("Ida Marlow"), id, "")
	return true, err
}

func (p *play) overrides(k *desk.Keeper, id graft.CaseID) (bool, error) {
	live, c, ok := p.some(id, func(_ desk.Live, m graft.Milestone) bool { return m.Visit != "" && !m.Window.Target.IsZero() })
	if m, _ := live.Pick(c); ok {
		_, err := k.Override(p.as("Dr Alba Quill"), id, c, day.Max(p.on, m.Window.Target).AddDays(p.random.IntN(40)), "seen at surgery")
		return true, err
	}
	return false, nil
}

func (p *play) takesBack(k *desk.Keeper, id graft.CaseID) (bool, error) {
	_, c, ok := p.some(id, func(_ desk.Live, m graft.Milestone) bool { return m.Override != nil })
	if ok {
		_, err := k.Override(p.as("Dr Alba Quill"), id, c, day.Day{}, "seen again")
		return true, err
	}
	return false, nil
}

func (p *play) approves(k *desk.Keeper, id graft.CaseID) (bool, error) {
	live, err := k.Live(id, p.on)
	if err != nil || live.Approval != nil || live.Stopped() || !live.Settled() {
		return false, err
	}
	_, err = k.Approve(p.as("Dr Alba Quill"), id)
	return true, err
}

// mayNot is refused: only a surgeon may approve.
func (p *play) mayNot(k *desk.Keeper, id graft.CaseID) (bool, error) {
	_, err := k.Approve(p.as("Ida Marlow"), id)
	return true, err
}
