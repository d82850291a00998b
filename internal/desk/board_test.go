package desk_test

import (
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
)

// shown is all that a board says.
type shown struct {
	desk.Morning
	Found []desk.Found
}

func (p *play) shownBy(b *desk.Board) shown {
	p.t.Helper()
	m, err := b.Morning(p.on)
	if err != nil {
		p.t.Fatal(err)
	}
	return shown{m, b.Find("", desk.Filter{})}
}

// afresh is what a board says that has seen nothing before.
func (p *play) afresh() shown {
	p.t.Helper()
	b := desk.NewBoard(p.keeper)
	p.deepen(b)
	return p.shownBy(b)
}

func (p *play) deepen(b *desk.Board) {
	p.t.Helper()
	if left, err := b.Deepen(p.on, 1000); left > 0 || err != nil {
		p.t.Fatalf("%d left, %v", left, err)
	}
}

// of is what is said of one case.
func (s shown) of(id graft.CaseID) shown {
	is := func(w *desk.Whose) bool { return w.Case == id }
	rows := func(l desk.Line) bool { return is(l.Whose) }
	return shown{desk.Morning{
		On: s.On, Visits: only(s.Visits, rows), Calls: only(s.Calls, rows), Firm: only(s.Firm, rows),
		Drafts: only(s.Drafts, func(d desk.Draft) bool { return is(d.Whose) }), Hits: only(s.Hits, func(h desk.Hit) bool { return is(h.Whose) }),
	}, only(s.Found, func(f desk.Found) bool { return is(&f.Whose) })}
}

func only[T any](list []T, wanted func(T) bool) (some []T) {
	for _, item := range list {
		if wanted(item) {
			some = append(some, item)
		}
	}
	return some
}

// differs tells how two things that are shown differ, to what is hidden in them.
func differs(want, got shown) string {
	return cmp.Diff(want, got, cmpopts.EquateEmpty(), cmp.AllowUnexported(desk.Row{}, desk.Line{}, desk.Found{}), cmp.Comparer(func(a, b day.Day) bool { return a == b }))
}

// TestTheBoardSaysWhatIsSo lets anything happen and compares: after Catch what the board
// says of the case that was acted on, after Deepen all that it says, with what a new
// board says that has to plan every case.
func TestTheBoardSaysWhatIsSo(t *testing.T) {
	t.Parallel()
	const steps, seeds = 66, 2 // each twice all that can happen
	counts := map[string]int{}
	for seed := range uint64(seeds) {
		p := newPlay(t, seed)
		var log []string
		p.deepen(p.board)
		was := p.afresh()
		for range steps {
			id, what := p.step()
			counts[what]++
			log = append(log, fmt.Sprintf("%s %s %s", p.on, id, what))
			want := p.afresh()
			if err := p.board.Catch(p.on); err != nil {
				t.Fatal(err)
			}
			if diff := differs(want.of(id), p.shownBy(p.board).of(id)); diff != "" && id != "" {
				t.Fatalf("seed %d, the case that was acted on:\n%s\n(-anew +kept)\n%s", seed, strings.Join(log, "\n"), diff)
			}
			p.deepen(p.board)
			if diff := differs(want, p.shownBy(p.board)); diff != "" {
				t.Fatalf("seed %d, the whole board:\n%s\n(-anew +kept)\n%s", seed, strings.Join(log, "\n"), diff)
			}
			for _, other := range p.cases {
				if what != "day" && other != id && id != "" && differs(was.of(other), want.of(other)) != "" {
					counts["others changed"]++
				}
			}
			counts["rows"] += len(want.Visits) + len(want.Calls) + len(want.Firm) + len(want.Hits)
			counts["hits"] += len(want.Hits)
			was = want
		}
	}
	t.Log(counts)
	for _, what := range []string{"book", "move", "cancel", "hold", "attended", "missed", "contact", "finding", "cannot come", "rename", "settle", "override", "take back", "approve", "refused", "day", "closed", "opened", "rules", "admit", "sign in", "hits", "others changed"} {
		if counts[what] == 0 {
			t.Errorf("never: %s", what)
		}
	}
}

// TestTheBoardIsRightInTheEndWhateverCameBetween has others deepen and look while
// anything happens.
func TestTheBoardIsRightInTheEndWhateverCameBetween(t *testing.T) {
	t.Parallel()
	p := newPlay(t, 99)
	var onDay atomic.Pointer[day.Day]
	on := p.on
	onDay.Store(&on)
	stop, stopped := make(chan bool), make(chan error, 2)
	for _, look := range []func(day.Day) error{
		func(on day.Day) error { _, err := p.board.Deepen(on, 1); return err },
		func(on day.Day) error {
			_, err := p.board.Morning(on)
			p.board.Find("birch", desk.Filter{})
			p.board.Ready()
			return err
		},
	} {
		go func() {
			for {
				select {
				case <-stop:
					stopped <- nil
					return
				case <-time.After(time.Millisecond):
				}
				if err := look(*onDay.Load()); err != nil {
					stopped <- err
					return
				}
			}
		}()
	}
	for range 40 {
		p.step()
		on := p.on
		onDay.Store(&on)
		if err := p.board.Catch(p.on); err != nil {
			t.Fatal(err)
		}
	}
	close(stop)
	for range 2 {
		if err := <-stopped; err != nil {
			t.Fatal(err)
		}
	}
	p.deepen(p.board)
	if diff := differs(p.afresh(), p.shownBy(p.board)); diff != "" {
		t.Errorf("(-anew +kept)\n%s", diff)
	}
}

// TestWhatMattersTodayIsMadeAnewFirst fills a board, lets the night pass and wants the
// visit of the day before the calls, and those before what can wait. All stays to be
// seen meanwhile, and says of which day it is.
func TestWhatMattersTodayIsMadeAnewFirst(t *testing.T) {
	t.Parallel()
	k, _ := keeping(t)
	ida, quill := acting(t, k, "Ida Marlow", "2027-01-18"), acting(t, k, "Dr Alba Quill", "2027-01-18")
	later := admit(t, k, ida, "marsh", "case=HR-1", "surgery.day=2027-12-01")
	if _, err := k.Approve(quill, later); err != nil {
		t.Fatal(err)
	}
	waits := admit(t, k, ida, "marsh", "case=HR-2", "surgery.day=2027-12-01")
	call := admit(t, k, ida, "fenwick", "case=HR-3", "surgery.day=2027-01-04", "patient.unavailable=none")
	visit := admit(t, k, ida, "fenwick", "case=HR-4", "surgery.day=2027-01-11", "patient.unavailable=none")
	if _, _, err := k.Book(ida, visit, wound(), at("2027-01-19", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	b := desk.NewBoard(k)
	if left, err := b.Deepen(ida.On, 1); left != 3 || err != nil {
		t.Fatal(left, err)
	}
	if f := b.Find("HR-4", desk.Filter{}); f[0].Stale {
		t.Error("of a new board, the case with a visit in the coming days was not planned first")
	}
	if left, err := b.Deepen(ida.On, 10); left != 0 || err != nil {
		t.Fatal(left, err)
	}
	tomorrow := ida.On.AddDays(1)
	if err := b.Catch(tomorrow); err != nil {
		t.Fatal(err)
	}
	m, err := b.Morning(tomorrow)
	if err != nil || len(m.Visits) != 1 || m.Visits[0].Case != visit || !m.Visits[0].Stale || m.Visits[0].Planned != ida.On || m.Behind != 4 || m.Cases != 4 {
		t.Fatalf("before anything was made anew: %+v, %v", m, err)
	}
	for n, id := range []graft.CaseID{visit, call, waits, later} {
		if left, err := b.Deepen(tomorrow, 1); left != 3-n || err != nil {
			t.Fatal(left, err)
		}
		if f := b.Find(string(id), desk.Filter{}); f[0].Stale || f[0].Planned != tomorrow {
			t.Errorf("%s was not the next to be made anew", id)
		}
	}
}

// TestAnUnreadableRecordHidesNoOtherCase writes a revision that no reader takes, as a
// later version of the format might: it is told, and the others stand.
func TestAnUnreadableRecordHidesNoOtherCase(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	admit(t, k, ida, "marsh")
	b := desk.NewBoard(k)
	unreadable := func(number int, record string) {
		if err := store.Act(func(w desk.Writing) error {
			return w.AddRevision(ledger.Revision{Case: id, Number: number, Patient: "Nora Fenwick", Record: []byte(record), On: ida.On, At: ida.At, By: ida.Name}, ledger.Entry{Case: id, At: ida.At, By: ida.Person, What: "set"})
		}); err != nil {
			t.Fatal(err)
		}
	}
	unreadable(2, "record: 9\n")
	for range 2 {
		if left, err := b.Deepen(ida.On, 10); left != 0 || err != nil {
			t.Fatal(left, err)
		}
		m, err := b.Morning(ida.On)
		if err == nil || !strings.Contains(err.Error(), string(id)) || len(m.Drafts) != 1 || m.Drafts[0].Case == id {
			t.Errorf("%v, drafts %+v", err, m.Drafts)
		}
		if f := b.Find("fenwick", desk.Filter{}); len(f) != 1 || f[0].Case != id {
			t.Errorf("found %+v", f)
		}
	}
}

// TestAnOlderCopyOfTheLedgerStartsTheBoardAnew puts a shorter history in place of the
// one that was looked at.
func TestAnOlderCopyOfTheLedgerStartsTheBoardAnew(t *testing.T) {
	k, store := keeping(t)
	other, shorter := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	admit(t, k, ida, "marsh")
	if _, err := k.Set(ida, id, []string{"patient.phone=01 555 0142"}, ""); err != nil {
		t.Fatal(err)
	}
	admit(t, other, ida, "fenwick")
	behind := &swapped{Store: store}
	b := desk.NewBoard(desk.NewKeeper(k.Desk, behind))
	for _, c := range []struct {
		store desk.Store
		phone string
		cases int
	}{{store, "01 555 0142", 2}, {shorter, "+353 1 555 0141", 1}} {
		behind.Store = c.store
		if left, err := b.Deepen(ida.On, 10); left != 0 || err != nil {
			t.Fatal(left, err)
		}
		if f := b.Find("", desk.Filter{}); len(f) != c.cases || b.Find("fenwick", desk.Filter{})[0].Phone != c.phone {
			t.Errorf("found %+v", f)
		}
	}
}

// swapped is a store in whose place another can be put.
type swapped struct{ desk.Store }

// TestManyChangesAtOnceAreStaleUntilTheyAreMadeAnew changes more cases than Catch plans
// at once: nothing is shown as so that is not.
func TestManyChangesAtOnceAreStaleUntilTheyAreMadeAnew(t *testing.T) {
	t.Parallel()
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	const many = 23
	for n := range many {
		admit(t, k, ida, "marsh", fmt.Sprintf("case=HR-%d", 1000+n))
	}
	p := &play{t: t, keeper: k, board: desk.NewBoard(k), on: ida.On}
	p.deepen(p.board)
	for n := range many {
		if _, err := k.Set(ida, graft.CaseID(fmt.Sprintf("HR-%d", 1000+n)), []string{"patient.phone=none"}, ""); err != nil {
			t.Fatal(err)
		}
	}
	admit(t, k, ida, "okafor", "case=HR-5000")
	if err := p.board.Catch(p.on); err != nil {
		t.Fatal(err)
	}
	for _, f := range p.board.Find("", desk.Filter{}) {
		if !f.Stale || f.Case != "HR-5000" && f.Phone == "" {
			t.Errorf("%+v: want what was known before, stale", f)
		}
	}
	p.deepen(p.board)
	if diff := differs(p.afresh(), p.shownBy(p.board)); diff != "" {
		t.Errorf("(-anew +kept)\n%s", diff)
	}
}

// TestWhatChangesNoBookingMakesNoOtherCaseStale notes a call about one of two visits at
// the same time in two rooms: what other cases found free is as free as before.
func TestWhatChangesNoBookingMakesNoOtherCaseStale(t *testing.T) {
	t.Parallel()
	_, store := keeping(t)
	c := demoClinic(t)
	crowded(&c)
	k := desk.NewKeeper(desk.New(c, protocol.Default()), store)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	for n := range 2 {
		id := admit(t, k, ida, "fenwick", fmt.Sprintf("case=HR-%d", n+1), "surgery.day=2027-01-11", "patient.unavailable=none")
		slot := at("2027-01-19", "09:00")
		slot.Room, slot.Person = fmt.Sprintf("Bay %02d", n), fmt.Sprintf("nurse %02d", n)
		if _, _, err := k.Book(ida, id, wound(), slot, ""); err != nil {
			t.Fatal(err)
		}
	}
	admit(t, k, ida, "fenwick", "case=HR-3", "surgery.day=2027-01-11", "patient.unavailable=none")
	p := &play{t: t, keeper: k, board: desk.NewBoard(k), on: ida.On}
	p.deepen(p.board)
	if _, err := k.Contact(ida, "HR-1", wound(), ledger.NoAnswer, ""); err != nil {
		t.Fatal(err)
	}
	if err := p.board.Catch(p.on); err != nil {
		t.Fatal(err)
	}
	if done, all := p.board.Ready(); done != 3 || all != 3 {
		t.Errorf("%d of %d cases are as they were", done, all)
	}
	if _, _, err := k.Cancel(ida, "HR-1", wound(), ""); err != nil {
		t.Fatal(err)
	}
	if err := p.board.Catch(p.on); err != nil {
		t.Fatal(err)
	}
	if done, all := p.board.Ready(); done == all {
		t.Error("a time was given back, and no other case is to be looked at anew")
	}
}

// TestDeepenGivesWayBetweenPlans counts: once for each case that Deepen plans, never for
// one that somebody who asks for a page plans.
func TestDeepenGivesWayBetweenPlans(t *testing.T) {
	t.Parallel()
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	for n := range 3 {
		admit(t, k, ida, "marsh", fmt.Sprintf("case=HR-%d", n+1))
	}
	var given atomic.Int64
	b := desk.NewBoard(k)
	b.GiveWay = func() { given.Add(1) }
	if left, err := b.Deepen(ida.On, 2); left != 1 || err != nil || given.Load() != 2 {
		t.Errorf("%d left, %v, gave way %d times", left, err, given.Load())
	}
	if _, err := k.Contact(ida, "HR-1", desk.Choice{Step: graft.PhoneCall}, ledger.NoAnswer, ""); err != nil {
		t.Fatal(err)
	}
	if err := b.Catch(ida.On); err != nil || given.Load() != 2 {
		t.Errorf("%v, gave way %d times", err, given.Load())
	}
}
