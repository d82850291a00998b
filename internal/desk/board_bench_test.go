package desk_test

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/protocol"
	"graftclock/internal/sqlite"
)

// manyCases is a ledger with so many cases, whose surgeries lie up to eight weeks back.
func manyCases(tb testing.TB, cases int, today day.Day) *desk.Keeper {
	tb.Helper()
	store, err := sqlite.Open(filepath.Join(tb.TempDir(), "clinic.ledger"))
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { store.Close() })
	kept := desk.Keep(store)
	ida := ledger.Person{Name: "Ida Marlow", Role: "desk"}
	if err := kept.Act(func(w desk.Writing) error {
		for n := range cases {
			_, data := demo(tb, []string{"fenwick", "okafor", "marsh", "lindqvist"}[n%4]+".yaml")
			id := graft.CaseID(fmt.Sprintf("HR-%d", 10000+n))
			record, _, faults, err := casefile.Change("case", data, []string{"case=" + string(id), "patient.name=" + crowdName(n), "patient.unavailable=none", "surgery.day=" + today.AddDays(-n%56).String()})
			if err != nil || len(faults) > 0 {
				return fmt.Errorf("%v %v", err, faults)
			}
			r := ledger.Revision{Case: id, Number: 1, Patient: crowdName(n), Record: record, Timeline: []byte("{}"), RulesVersion: protocol.Default().Version(), Source: "admit", On: today, At: today.Time(), By: ida.Name}
			if err := w.AddRevision(r, ledger.Entry{At: today.Time(), By: ida, Case: id, What: "admit"}); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		tb.Fatal(err)
	}
	return desk.NewKeeper(demoDesk(tb), kept)
}

// crowdName is one of many invented names.
func crowdName(n int) string {
	firsts := []string{"Nora", "Ida", "Íñigo", "Jürgen", "Łucja", "Zoë", "Wyn", "Ansel", "Begoña", "Søren", "Élodie"}
	starts := []string{"Fen", "Mar", "Grö", "Żół", "Núñ", "Lind", "Quil", "Bir", "Tat"}
	ends := []string{"wick", "low", "ßmann", "kowski", "ez", "qvist", "ler", "ch", "ton", "by", "ova", "iere", "sen"}
	return firsts[n%len(firsts)] + " " + starts[n/7%len(starts)] + ends[n/3%len(ends)]
}

// BenchmarkMorning shows the morning of a clinic with 2,000 cases from the board: when
// nothing has happened since the last look, and when something has. Beside it, as times,
// what it takes to plan all cases anew for it.
func BenchmarkMorning(b *testing.B) {
	today := day.New(2027, time.January, 18)
	k := manyCases(b, 2000, today)
	begun := time.Now()
	if _, err := k.Today(today); err != nil {
		b.Fatal(err)
	}
	anew := time.Since(begun)
	board := desk.NewBoard(k)
	if left, err := board.Deepen(today, 2000); left > 0 || err != nil {
		b.Fatal(left, err)
	}
	look := func(b *testing.B) {
		if err := board.Catch(today); err != nil {
			b.Fatal(err)
		}
		if m, err := board.Morning(today); err != nil || m.Cases != 2000 {
			b.Fatal(m.Cases, err)
		}
	}
	beside := func(b *testing.B) {
		b.ReportMetric(float64(anew)/(float64(b.Elapsed())/float64(b.N)), "times-faster")
	}
	b.Run("same", func(b *testing.B) {
		for b.Loop() {
			look(b)
		}
		beside(b)
	})
	b.Run("changed", func(b *testing.B) {
		ida := desk.Actor{Person: ledger.Person{Name: "Ida Marlow", Role: "desk"}, On: today, At: today.Time()}
		for n := 0; b.Loop(); n++ {
			b.StopTimer()
			if _, err := k.Set(ida, "HR-10002", []string{fmt.Sprintf("patient.phone=01 555 %06d", n)}, ""); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			look(b)
		}
		beside(b)
	})
	b.Run("find", func(b *testing.B) {
		for b.Loop() {
			if len(board.Find("marlwo", desk.Filter{})) == 0 {
				b.Fatal("nobody was found")
			}
		}
		beside(b)
	})
}
