package sqlite

import (
	"path/filepath"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/ledger"
)

// BenchmarkBooking books one visit after the other, each an act that is on the
// disk when it is done.
func BenchmarkBooking(b *testing.B) {
	s := opened(b, filepath.Join(b.TempDir(), "ledger"))
	admit(b, s, "HR-1")
	for n := 0; b.Loop(); n++ {
		book(b, s, "HR-1", n)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "bookings/s")
}

// BenchmarkTakenOn reads twelve months with 3,000 bookings.
func BenchmarkTakenOn(b *testing.B) {
	const bookings, days = 3000, 365
	s := opened(b, filepath.Join(b.TempDir(), "ledger"))
	admit(b, s, "HR-1")
	err := s.Act(func(w *Writer) error {
		for n := range bookings {
			v, e := recall("HR-1", n, "Ida Marlow")
			v.Day, v.Start = day.Of(noon).AddDays(n%days), day.Clock(8*60+n/days*30)
			if _, err := w.AddVisit(v, e); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	span := day.Span{From: day.Of(noon), To: day.Of(noon).AddDays(days)}
	for b.Loop() {
		err := s.View(func(r *Reader) error {
			visits, err := r.TakenOn(span)
			if len(visits) != bookings {
				b.Fatalf("%d visits", len(visits))
			}
			return err
		})
		if err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOpen opens a ledger, looks at it and closes it, as a command does.
func BenchmarkOpen(b *testing.B) {
	path := filepath.Join(b.TempDir(), "ledger")
	s := opened(b, path)
	admit(b, s, "HR-1")
	s.Close()
	for b.Loop() {
		s, err := Open(path)
		if err != nil {
			b.Fatal(err)
		}
		if err := s.View(func(r *Reader) error { _, err := r.Case("HR-1"); return err }); err != nil {
			b.Fatal(err)
		}
		s.Close()
	}
}

// BenchmarkAct writes one entry.
func BenchmarkAct(b *testing.B) {
	s := opened(b, filepath.Join(b.TempDir(), "ledger"))
	for b.Loop() {
		if err := s.Act(func(w *Writer) error { return w.AddEntry(ledger.Entry{At: noon}) }); err != nil {
			b.Fatal(err)
		}
	}
}
