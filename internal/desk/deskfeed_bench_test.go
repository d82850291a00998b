package desk_test

import (
	"errors"
	"fmt"
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
)

// bookings is a ledger with many cases, of which every tenth has its next visit booked.
func bookings(b *testing.B, cases int, today day.Day) (*desk.Keeper, desk.Actor) {
	b.Helper()
	k := manyCases(b, cases, today)
	quill := desk.Actor{Person: ledger.Person{Name: "Dr Alba Quill", Role: "surgeon"}, On: today, At: today.Time().Add(8 * time.Hour)}
	booked := 0
	for n := 0; n < cases; n += 10 {
		id := graft.CaseID(fmt.Sprintf("HR-%d", 10000+n))
		live, err := k.Live(id, today)
		if err != nil {
			b.Fatal(err)
		}
		next := slices.IndexFunc(live.Timeline.Milestones, func(m graft.Milestone) bool { return m.Slot.Minutes > 0 && !m.Placed.Before(today) })
		if next < 0 {
			continue
		}
		m := live.Timeline.Milestones[next]
		_, _, err = k.Book(quill, id, desk.ChoiceOf(m.ID), graft.Slot{Day: m.Slot.Day, Start: m.Slot.Start}, "as planned")
		switch {
		case err == nil:
			booked++
		case !errors.As(err, new(*graft.Refusal)):
			b.Fatal(err)
		}
	}
	if booked < cases/20 {
		b.Fatalf("%d visits are booked", booked)
	}
	return k, quill
}

// BenchmarkDeskFeed fetches the feed of the desk in a clinic with 1,000 cases: when
// nothing has happened since the last fetch, when somebody has called a patient, and by a
// desk that remembers nothing. Beside it, as times, what it takes to plan every case.
func BenchmarkDeskFeed(b *testing.B) {
	today := day.New(2027, time.January, 18)
	k, quill := bookings(b, 1000, today)
	at := quill.At
	fetch := func(b *testing.B, fill func(ledger.Feed, day.Day, time.Time) ([]byte, time.Time, error)) {
		b.Helper()
		at = at.Add(time.Second)
		if data, _, err := fill(ledger.Feed{}, today, at); err != nil || len(data) == 0 {
			b.Fatal(len(data), err)
		}
	}
	fetch(b, k.FillDeskFeed) // gives out what is new
	begun := time.Now()
	fetch(b, k.EveryDeskFeed)
	every := time.Since(begun)
	beside := func(b *testing.B) {
		b.ReportMetric(float64(every)/(float64(b.Elapsed())/float64(b.N)), "times-faster")
	}
	b.Run("same", func(b *testing.B) {
		for b.Loop() {
			fetch(b, k.FillDeskFeed)
		}
		beside(b)
	})
	b.Run("called", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			if _, err := k.Contact(quill, "HR-10000", desk.Choice{Step: graft.HealingReview}, ledger.NoAnswer, ""); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			fetch(b, k.FillDeskFeed)
		}
		beside(b)
	})
	b.Run("anew", func(b *testing.B) {
		for b.Loop() {
			fetch(b, k.Afresh().FillDeskFeed)
		}
		beside(b)
	})
}

// BenchmarkPreview shows what a week's closure would hit in a clinic with 1,000 cases.
// Beside it, as times, what it takes to plan every case by either clinic.
func BenchmarkPreview(b *testing.B) {
	today := day.New(2027, time.January, 18)
	k, _ := bookings(b, 1000, today)
	path, data := demo(b, "clinic.yaml")
	week := clinic.Closure{From: today.AddDays(7), To: today.AddDays(11), Name: "works"}
	_, changed, faults, err := casefile.ChangeClinic(path, data, []casefile.ClinicChange{casefile.AddClosure{Closure: week}}, nil)
	if err != nil || len(faults) > 0 {
		b.Fatal(err, faults)
	}
	d := desk.New(changed, protocol.Default())
	begun := time.Now()
	if _, err := k.EveryHit(today); err != nil {
		b.Fatal(err)
	}
	every := 2 * time.Since(begun)
	hits := 0
	for b.Loop() {
		list, err := k.Preview(d, today)
		if err != nil {
			b.Fatal(err)
		}
		hits = len(list)
	}
	b.ReportMetric(float64(every)/(float64(b.Elapsed())/float64(b.N)), "times-faster")
	b.ReportMetric(float64(hits), "hits")
}
