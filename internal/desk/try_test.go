package desk_test

import (
	"bytes"
	"errors"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/table"
)

// traces are what an act would leave in the ledger.
type traces struct {
	head, caseHead          int64
	revision, entries, made int
}

func tracesOf(t *testing.T, store desk.Store, id graft.CaseID) traces {
	t.Helper()
	var all traces
	if err := store.View(func(l desk.Ledger) error {
		kept, err := l.Case(id)
		entries, err2 := l.History("")
		visits, err3 := l.Visits(id)
		overrides, err4 := l.Overrides(id)
		head, err5 := l.Head()
		all = traces{head, kept.Head, kept.Revision, len(entries), len(visits) + len(overrides)}
		return errors.Join(err, err2, err3, err4, err5)
	}); err != nil {
		t.Fatal(err)
	}
	return all
}

// tried are the acts that a page shows before they are kept.
func tried(a desk.Actor, id graft.CaseID) map[string]func(*desk.Keeper) error {
	return map[string]func(*desk.Keeper) error{
		"finding": func(k *desk.Keeper) error {
			_, err := k.AddFinding(a, id, map[string]string{"what": "infection", "day": "2027-01-20"}, "seen today")
			return err
		},
		"override": func(k *desk.Keeper) error {
			_, err := k.Override(a, id, desk.Choice{Step: graft.Uncovering}, on("2027-09-06"), "wishes to see the scan first")
			return err
		},
		"settle": func(k *desk.Keeper) error {
			_, _, err := k.Settle(a, id, "")
			return err
		},
		"record": func(k *desk.Keeper) error {
			_, err := k.Set(a, id, []string{"graft.additive=rhPDGF-BB"}, "")
			return err
		},
	}
}

// TestATrialShowsWhatTheActDoesAndLeavesNothing tries each act and then does it: the
// ledger is as before after the trial, and the trial's plan is the act's.
func TestATrialShowsWhatTheActDoesAndLeavesNothing(t *testing.T) {
	t.Parallel()
	for name := range tried(desk.Actor{}, "") {
		k, store := keeping(t)
		quill := acting(t, k, "Dr Alba Quill", "2027-01-20")
		id := admit(t, k, quill, "fenwick")
		if _, _, err := k.Book(quill, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
			t.Fatal(err)
		}
		if _, err := k.Set(quill, id, []string{"patient.unavailable+=2027-01-25"}, ""); err != nil {
			t.Fatal(err)
		}
		act := tried(quill, id)[name]
		before := tracesOf(t, store, id)
		trial, err := k.Try(id, quill.On, act)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if after := tracesOf(t, store, id); after != before {
			t.Errorf("%s left %+v where %+v was", name, after, before)
		}
		if err := act(k); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if tracesOf(t, store, id) == before {
			t.Fatalf("%s does nothing, so its trial shows nothing", name)
		}
		live, err := k.Live(id, quill.On)
		if err != nil {
			t.Fatal(err)
		}
		was, is := timelineOf(t, trial.After), timelineOf(t, live)
		if !bytes.Equal(was, is) || trial.After.Kept.Revision != live.Kept.Revision || len(trial.After.Misfits) != len(live.Misfits) {
			t.Errorf("%s: the trial shows another plan than the act makes", name)
		}
	}
}

func timelineOf(t *testing.T, l desk.Live) []byte {
	t.Helper()
	data, err := desk.JSON(l.Plan)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// TestATrialTellsWhatMoves compares the steps and the findings of both plans.
func TestATrialTellsWhatMoves(t *testing.T) {
	k, _ := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-20")
	id := admit(t, k, quill, "fenwick")
	trial, err := k.Try(id, quill.On, tried(quill, id)["override"])
	if err != nil {
		t.Fatal(err)
	}
	moved := map[graft.Step]int{}
	for _, s := range trial.Steps {
		if !s.Same() {
			moved[s.Was.Step] = s.Is.Placed.Sub(s.Was.Placed)
		}
	}
	if moved[graft.Uncovering] != on("2027-09-06").Sub(on("2027-08-23")) || moved[graft.Impression] <= 0 || moved[graft.WoundCheck] != 0 || len(trial.Steps) != len(trial.Before.Timeline.Milestones) {
		t.Errorf("%v of %d steps", moved, len(trial.Steps))
	}
	if trial, err = k.Try(id, quill.On, tried(quill, id)["finding"]); err != nil {
		t.Fatal(err)
	}
	stops := 0
	for _, f := range trial.News {
		if f.Severity == graft.Stop {
			stops++
		}
	}
	if stops == 0 || len(trial.Over) != 0 || trial.Before.Stopped() || !trial.After.Stopped() {
		t.Errorf("new: %v, over: %v", trial.News, trial.Over)
	}
}

// TestARefusedTrialStandsInNoHistory tries what is refused: by role, by what the page
// had seen, by faults of a finding. The act itself stands in the history as refused.
func TestARefusedTrialStandsInNoHistory(t *testing.T) {
	k, store := keeping(t)
	quill, ida := acting(t, k, "Dr Alba Quill", "2027-01-20"), acting(t, k, "Ida Marlow", "2027-01-20")
	id := admit(t, k, quill, "fenwick")
	before := tracesOf(t, store, id)
	_, err := k.Try(id, ida.On, tried(ida, id)["override"])
	refusalOf(t, err, graft.Invalid, "needs a surgeon")
	_, err = k.Try("HR-9", ida.On, tried(ida, "HR-9")["settle"])
	refusalOf(t, err, graft.NotFound, "")
	quill.Seen = before.caseHead + 1
	_, err = k.Try(id, quill.On, tried(quill, id)["finding"])
	refusalOf(t, err, graft.Conflict, "changed meanwhile")
	quill.Seen = 0
	_, err = k.Try(id, quill.On, func(k *desk.Keeper) error {
		_, err := k.AddFinding(quill, id, map[string]string{"what": "stability", "day": "2027-01-20", "isq": "400"}, "")
		return err
	})
	var faults table.Faults
	if !errors.As(err, &faults) {
		t.Errorf("%v", err)
	}
	if after := tracesOf(t, store, id); after != before {
		t.Errorf("a refused trial left %+v where %+v was", after, before)
	}
	if err := tried(ida, id)["override"](k); err == nil {
		t.Error("a desk overrides")
	}
	if after := tracesOf(t, store, id); after.entries != before.entries+1 || after.caseHead != before.caseHead {
		t.Errorf("the refused act itself left %+v where %+v was", after, before)
	}
}

// TestAChoiceByIDMeansOneStepAlone: by its step a recall is the next one, by its id
// the one that it names.
func TestAChoiceByIDMeansOneStepAlone(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-20")
	id := admit(t, k, ida, "petrov")
	live, err := k.Live(id, ida.On)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range live.Timeline.Milestones {
		got, err := live.Pick(desk.ChoiceOf(m.ID))
		if err != nil || got.ID != m.ID {
			t.Errorf("%s: %s, %v", m.ID, got.ID, err)
		}
	}
	for _, wrong := range []graft.MilestoneID{"", "recall//", "uncovering//", "phone-call", "phone-call//x", "no such step"} {
		_, err := live.Pick(desk.ChoiceOf(wrong))
		refusalOf(t, err, graft.NotFound, "")
	}
	if _, _, err := k.Hold(ida, id, desk.ChoiceOf("recall/left molar/6 months"), ""); err != nil {
		t.Fatal(err)
	}
	if _, v, err := k.Cancel(ida, id, desk.ChoiceOf("recall/left molar/6 months"), ""); err != nil || v.State != ledger.Cancelled {
		t.Errorf("%+v, %v", v, err)
	}
	_, _, err = k.Cancel(ida, id, desk.ChoiceOf("recall/left molar/3 months"), "")
	refusalOf(t, err, graft.Conflict, "planned")
}
