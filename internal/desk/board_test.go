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
