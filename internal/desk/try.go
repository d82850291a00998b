package desk

import (
	"errors"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// Trial is a case as it stands, and as an act that was tried and taken back would
// leave it.
type Trial struct {
	Before, After Live
	Steps         []Shifted       // every step of either plan, by its day before
	News          []graft.Finding // stops and warnings that the act brings
	Over          []graft.Finding // stops and warnings that it takes away
}

// Shifted is one step before and after an act. A step that one plan does not have is
// the zero Milestone there.
type Shifted struct{ Was, Is graft.Milestone }

// Same reports whether the step stays on its day.
func (s Shifted) Same() bool { return s.Was.ID == s.Is.ID && s.Was.Placed == s.Is.Placed }

// errTakenBack ends an act that was tried.
var errTakenBack = errors.New("tried and taken back")

// Try does an act on a case, looks at what it made of it, and takes it back: what it
// shows is what the act would do now, for it is the act itself. The act gets a keeper
// of its own and must use no other. What refuses the act refuses the trial; the ledger
// stays as it was, and its history too.
func (k *Keeper) Try(id graft.CaseID, on day.Day, act func(*Keeper) error) (Trial, error) {
	var t Trial
	err := k.store.Act(func(w Writing) (err error) {
		trying := NewKeeper(k.Desk, onTrial{w})
		if t.Before, err = trying.Live(id, on); err != nil {
			return err
		}
		if err = act(trying); err != nil {
			return err
		}
		if t.After, err = trying.Live(id, on); err != nil {
			return err
		}
		return errTakenBack
	})
	if !errors.Is(err, errTakenBack) {
		return Trial{}, err
	}
	t.Steps = shifted(t.Before.Timeline, t.After.Timeline)
	t.News = news(t.Before.Timeline.Findings, t.After.Timeline.Findings)
	t.Over = news(t.After.Timeline.Findings, t.Before.Timeline.Findings)
	return t, nil
}

// onTrial is the ledger in the hands of a desk that tries an act: all of it is one
// act, which is taken back at the end.
type onTrial struct{ w Writing }

// View implements Store.
func (t onTrial) View(look func(Ledger) error) error { return look(t.w) }

// Act implements Store.
func (t onTrial) Act(do func(Writing) error) error { return do(t.w) }

// shifted pairs the steps of two plans by id; those that only the later one has come
// last.
func shifted(was, is graft.Timeline) []Shifted {
	var list []Shifted
	for _, m := range inOrder(was.Milestones) {
		now, _ := is.Find(m.ID)
		list = append(list, Shifted{m, now})
	}
	for _, m := range inOrder(is.Milestones) {
		if _, had := was.Find(m.ID); !had {
			list = append(list, Shifted{Is: m})
		}
	}
	return list
}

// inOrder sorts steps by their days, those without one last.
func inOrder(milestones []graft.Milestone) []graft.Milestone {
	list := ByDay(milestones)
	for _, m := range milestones {
		if m.Placed.IsZero() {
			list = append(list, m)
		}
	}
	return list
}
