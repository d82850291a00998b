package desk_test

import (
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// interrupted is a store that lets something happen after somebody has looked so often.
type interrupted struct {
	desk.Store
	looks int // still to come
	then  func()
}

func (s *interrupted) View(look func(desk.Ledger) error) error {
	err := s.Store.View(look)
	if s.looks--; s.looks == 0 {
		s.then()
	}
	return err
}

// TestWhatHappensWhileACaseIsPlanned lets something happen after Deepen has read a case
// and before it pins what came of it. What is shown then as so must be so.
func TestWhatHappensWhileACaseIsPlanned(t *testing.T) {
	t.Parallel()
	for name, happens := range map[string]func(p *play, id, other graft.CaseID, placement day.Day){
		"nothing": func(*play, graft.CaseID, graft.CaseID, day.Day) {},
		"its record changes": func(p *play, id, _ graft.CaseID, _ day.Day) {
			if _, err := p.keeper.Set(p.as("Ida Marlow"), id, []string{"patient.phone=01 555 0142"}, ""); err != nil {
				t.Error(err)
			}
		},
		"its day is taken": func(p *play, _, other graft.CaseID, placement day.Day) {
			if _, _, err := p.keeper.Book(p.as("Dr Alba Quill"), other, desk.Choice{Step: graft.Placement}, at(placement.String(), "08:30"), "asked for it"); err != nil {
				t.Error(err)
			}
		},
		"another desk": func(p *play, _, _ graft.CaseID, _ day.Day) {
			p.closes()
		},
		"the night": func(p *play, _, _ graft.CaseID, _ day.Day) {
			p.on = p.on.AddDays(1)
		},
	} {
		p := newPlay(t, 7)
		p.cases = nil
		id := admit(t, p.keeper, p.as("Ida Marlow"), "okafor", "case=HR-1001")
		other := admit(t, p.keeper, p.as("Ida Marlow"), "okafor", "case=HR-1002")
		live, err := p.keeper.Live(id, on("2027-02-10"))
		if err != nil {
			t.Fatal(err)
		}
		m, err := live.Pick(desk.Choice{Step: graft.Placement})
		if err != nil || m.Placed.IsZero() {
			t.Fatal(err, m.Placed)
		}
		p.on = m.Placed.AddDays(-21)
		p.board = desk.NewBoard(p.keeper)
		p.deepen(p.board)
		p.on = p.on.AddDays(1) // all is stale
		store := &interrupted{Store: p.store}
		p.board.Enter(desk.NewKeeper(p.keeper.Desk, store))
		if err := p.board.Catch(p.on); err != nil {
			t.Fatal(err)
		}
		started := p.on
		store.looks, store.then = 2, func() { // Deepen asks for news, then reads the cases
			happens(p, id, other, m.Placed)
			if err := p.board.Catch(p.on); err != nil {
				t.Error(err)
			}
		}
		if _, err := p.board.Deepen(started, 7); err != nil {
			t.Fatal(err)
		}
		if store.looks > 0 {
			t.Fatalf("%s: it did not happen", name)
		}
		if err := p.board.Catch(p.on); err != nil {
			t.Fatal(err)
		}
		want := p.afresh()
		for _, f := range p.board.Find("", desk.Filter{}) {
			if diff := differs(want.of(f.Case), p.shownBy(p.board).of(f.Case)); diff != "" && !f.Stale {
				t.Errorf("%s: of %s is shown as so (-anew +kept)\n%s", name, f.Case, diff)
			}
		}
		p.deepen(p.board)
		if diff := differs(want, p.shownBy(p.board)); diff != "" {
			t.Errorf("%s: in the end (-anew +kept)\n%s", name, diff)
		}
	}
}
