package desk_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
)

// bookedClinic is a clinic in which so many cases have all booked that can be.
func bookedClinic(t *testing.T, cases int) (*desk.Keeper, desk.Store) {
	t.Helper()
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	demos := []string{"fenwick", "okafor", "petrov", "marsh"}
	for n := range cases {
		surgery := on("2026-10-05").AddDays(3 * n)
		id := admit(t, k, quill, demos[n%len(demos)], fmt.Sprintf("case=HR-5%03d", n), fmt.Sprintf("patient.name=Patient %d", n), "surgery.day="+surgery.String(), "findings=none", "patient.unavailable=none")
		live, err := k.Live(id, quill.On)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range live.Timeline.Milestones {
			if m.Slot.Minutes == 0 || m.Slot.Day.Before(quill.On) {
				continue
			}
			if _, _, err := k.Book(quill, id, desk.Choice{Step: m.Step, For: m.For, Which: m.Which}, graft.Slot{Day: m.Slot.Day, Start: m.Slot.Start}, "test"); err != nil && !errors.As(err, new(*graft.Refusal)) {
				t.Fatal(err)
			}
		}
	}
	return k, store
}

// changedAtRandom is a clinic with a change such as a desk makes, of another kind each
// round.
func changedAtRandom(t *testing.T, c casefile.Clinic, r *rand.Rand, round int) (casefile.Clinic, []casefile.ClinicChange) {
	t.Helper()
	from := on("2027-01-18").AddDays(r.IntN(300))
	run := clinic.Closure{From: from, To: from.AddDays(r.IntN(12)), Name: "x"}
	all := []casefile.ClinicChange{
		casefile.AddClosure{Closure: run},
		casefile.AddAbsence{Who: c.People[r.IntN(2)].Name, Closure: run},
		casefile.AddAbsence{Who: c.Rooms[r.IntN(2)].Name, Room: true, Closure: run},
		casefile.SetHours{Weekday: time.Weekday(1 + r.IntN(4)), Hours: []day.Hours{{From: 9 * 60, To: 12 * 60}}},
		casefile.SetHours{Weekday: time.Weekday(1 + r.IntN(4))},
		casefile.SetHalfDay{SpecialDay: clinic.SpecialDay{Day: from, Hours: []day.Hours{{From: 9 * 60, To: 10 * 60}}, Name: "x"}},
		casefile.SetPersonDays{Name: "Dr Alba Quill", Days: day.WeekdaySet(1, 2)},
		casefile.SetRoom{Name: "Surgery 1", For: []string{"surgery", "check"}, Days: day.WeekdaySet(1, 2, 4)},
		casefile.RemoveClosure{Closure: c.Closures[0]},
	}
	changes := []casefile.ClinicChange{all[round%len(all)]}
	_, data := demo(t, "clinic.yaml")
	_, changed, faults, err := casefile.ChangeClinic("clinic.yaml", data, changes, nil)
	if err != nil || len(faults) > 0 {
		t.Fatal(err, faults)
	}
	return changed, changes
}

// TestAPreviewIsTheListOfHitsAfterwards compares the preview of random changes with the
// list of hits of the changed clinic, less those that there were before.
func TestAPreviewIsTheListOfHitsAfterwards(t *testing.T) {
	k, store := bookedClinic(t, 6)
	onDay := on("2027-01-18")
	before, err := k.Hits(onDay)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(20270118, 1))
	rounds, found := 18, 0
	if testing.Short() {
		rounds = 9
	}
	for round := range rounds {
		changed, changes := changedAtRandom(t, k.Clinic, r, round)
		d := desk.New(changed, protocol.Default())
		want, err := desk.NewKeeper(d, store).EveryHit(onDay)
		if err != nil {
			t.Fatal(err)
		}
		want = slices.DeleteFunc(want, func(s desk.Settlement) bool {
			return slices.ContainsFunc(before, func(b desk.Settlement) bool { return b.Case == s.Case && b.ID == s.ID })
		})
		got, err := k.Preview(d, onDay)
		if err != nil || len(got)+len(want) > 0 && !reflect.DeepEqual(got, want) {
			t.Errorf("%+v: %v\n%d hits\n%+v\nwant %d\n%+v", changes, err, len(got), got, len(want), want)
		}
		found += len(want)
	}
	if found < rounds {
		t.Errorf("%d hits in %d rounds: too few to tell", found, rounds)
	}
}

// TestThePreviewSeesAClosureThatBeginsTheDayAfter: nobody operates on the last open day
// before a long closure, though that day itself is as before.
func TestThePreviewSeesAClosureThatBeginsTheDayAfter(t *testing.T) {
	k, store := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-07-01")
	id := admit(t, k, quill, "fenwick")
	slot := graft.Slot{Day: on("2027-09-02"), Start: 9 * 60}
	if _, _, err := k.Book(quill, id, desk.Choice{Step: graft.Uncovering}, slot, "test"); err != nil {
		t.Fatal(err)
	}
	_, data := demo(t, "clinic.yaml")
	run := clinic.Closure{From: on("2027-09-03"), To: on("2027-09-24"), Name: "works"}
	_, changed, _, err := casefile.ChangeClinic("clinic.yaml", data, []casefile.ClinicChange{casefile.AddClosure{Closure: run}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	d := desk.New(changed, protocol.Default())
	want, err := desk.NewKeeper(d, store).EveryHit(quill.On)
	if err != nil || len(want) != 1 {
		t.Fatalf("%v, %v", want, err)
	}
	if got, err := k.Preview(d, quill.On); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
}

// TestThePreviewSeesTimeThatIsTaken: a busy file takes hours of a day and leaves the day
// as it is.
func TestThePreviewSeesTimeThatIsTaken(t *testing.T) {
	k, store := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick")
	if _, _, err := k.Book(ida, id, wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	const event = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:test\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTAMP:20270101T000000Z\r\nDTSTART;TZID=Europe/Dublin:20270125T083000\r\nDTEND;TZID=Europe/Dublin:20270125T120000\r\nSUMMARY:course\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
	changed := demoClinic(t)
	changed.People = slices.Clone(changed.People)
	changed.People[1].BusyFiles = []clinic.File{{Name: "tate.ics", Data: []byte(event)}}
	d := desk.New(changed, protocol.Default())
	want, err := desk.NewKeeper(d, store).EveryHit(ida.On)
	if err != nil || len(want) != 1 || want[0].Proposal == want[0].Was {
		t.Fatalf("%+v, %v", want, err)
	}
	if got, err := k.Preview(d, ida.On); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
}

// TestAPreviewChangesNothing holds ledger and desk to how they were.
func TestAPreviewChangesNothing(t *testing.T) {
	k, store := bookedClinic(t, 2)
	history := func() (n int) {
		if err := store.View(func(l desk.Ledger) error {
			list, err := l.History("")
			n = len(list)
			return err
		}); err != nil {
			t.Fatal(err)
		}
		return n
	}
	n, was := history(), k.Seen()
	live, err := k.Live("HR-5000", on("2027-01-18"))
	if err != nil {
		t.Fatal(err)
	}
	booked := live.Visits[0].Slot
	run := clinic.Closure{From: booked.Day, To: booked.Day, Name: "burst pipe"}
	_, data := demo(t, "clinic.yaml")
	_, changed, faults, err := casefile.ChangeClinic("clinic.yaml", data, []casefile.ClinicChange{casefile.AddClosure{Closure: run}}, nil)
	if err != nil || len(faults) > 0 {
		t.Fatal(err, faults)
	}
	hits, err := k.Preview(desk.New(changed, k.Rules), on("2027-01-18"))
	if err != nil || !slices.ContainsFunc(hits, func(h desk.Settlement) bool { return h.Case == "HR-5000" && h.Was == booked }) {
		t.Errorf("%+v, %v", hits, err)
	}
	for _, h := range hits {
		if h.Why != "closed: burst pipe" || h.Was.Day != booked.Day || h.Proposal.Day == booked.Day {
			t.Errorf("%+v", h)
		}
	}
	if history() != n || k.Seen() != was {
		t.Error("the preview wrote something")
	}
}

// TestThePreviewOfARuleNamesCasesAndGates compares it with the plans by either rules,
// case by case.
func TestThePreviewOfARuleNamesCasesAndGates(t *testing.T) {
	k, store := bookedClinic(t, 5)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	approved, err := k.Approve(quill, "HR-5000")
	if err != nil {
		t.Fatal(err)
	}
	_, rules, faults, err := protocol.Default().AdoptInto("own.yaml", nil, protocol.OwnValue{ID: "growth-rate", Value: "0.8", By: quill.Name, On: quill.On, Reason: "slow here"})
	if err != nil || len(faults) > 0 {
		t.Fatal(err, faults)
	}
	changed := desk.New(k.Clinic, rules)
	p, err := k.PreviewRules(context.Background(), changed, quill.On, 100)
	if err != nil || p.Cases != 5 || p.Looked != 5 || p.Drafts != 1 || p.Touched != len(p.Effects) || p.Touched == 0 {
		t.Fatalf("%+v, %v", p, err)
	}
	after := desk.NewKeeper(changed, store)
	for _, e := range p.Effects {
		was, err := k.Live(e.Case, quill.On)
		if err != nil {
			t.Fatal(err)
		}
		will, err := after.Live(e.Case, quill.On)
		if err != nil {
			t.Fatal(err)
		}
		if len(e.Misfits) != len(will.Misfits)+len(will.Gone) || len(was.Misfits)+len(was.Gone) > 0 {
			t.Errorf("%s: misfits %+v, want %+v and %+v", e.Case, e.Misfits, will.Misfits, will.Gone)
		}
		for _, g := range e.Gates {
			a, _ := was.Timeline.Find(g.ID)
			b, _ := will.Timeline.Find(g.ID)
			if g.Was == g.Now || g.Was != a.Window.NotBefore || g.Now != b.Window.NotBefore || !a.Attended.IsZero() {
				t.Errorf("%s: %+v; %s, then %s", e.Case, g, a.Window.NotBefore, b.Window.NotBefore)
			}
		}
	}
	if e := p.Effects[0]; e.Case != "HR-5000" || len(e.Gates) == 0 || e.Patient != approved.Kept.Patient {
		t.Errorf("%+v", e)
	}
	same, err := k.PreviewRules(context.Background(), desk.New(k.Clinic, k.Rules), quill.On, 100)
	if err != nil || same.Touched != 0 || same.Drafts != 0 || same.Looked != 5 {
		t.Errorf("the same rules: %+v, %v", same, err)
	}
}

// TestThePreviewOfARuleKnowsWhereToEnd bounds the cases, and the time.
func TestThePreviewOfARuleKnowsWhereToEnd(t *testing.T) {
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	var ids []graft.CaseID
	for n := range 4 {
		ids = append(ids, admit(t, k, ida, "fenwick", fmt.Sprintf("case=HR-6%03d", n)))
	}
	if _, _, err := k.Book(ida, ids[1], wound(), at("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	for _, id := range []graft.CaseID{ids[0], ids[2]} {
		if _, err := k.Set(ida, id, []string{"patient.unavailable+=2027-03-01"}, ""); err != nil {
			t.Fatal(err)
		}
	}
	_, rules, faults, err := protocol.Default().AdoptInto("own.yaml", nil, protocol.OwnValue{ID: "growth-rate", Value: "0.8", By: "Dr Alba Quill", On: ida.On, Reason: "slow here"})
	if err != nil || len(faults) > 0 {
		t.Fatal(err, faults)
	}
	changed := desk.New(k.Clinic, rules)
	p, err := k.PreviewRules(context.Background(), changed, ida.On, 2)
	if err != nil || p.Cases != 4 || p.Looked != 2 || len(p.Effects) != 2 || p.Effects[0].Case != ids[1] || p.Effects[1].Case != ids[2] {
		t.Errorf("%+v, %v; want the one that is booked and the one changed last", p, err)
	}
	over, stop := context.WithCancel(context.Background())
	stop()
	if p, err = k.PreviewRules(over, changed, ida.On, 100); err != nil || p.Looked != 0 || p.Cases != 4 {
		t.Errorf("after the end: %+v, %v", p, err)
	}
}
