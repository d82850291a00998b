package clinic

import "testing"

const thirteenYears = "2026-01-01..2038-12-31"

func BenchmarkNew(b *testing.B) {
	s, horizon := harbourRow(b), span(b, thirteenYears)
	for b.Loop() {
		if _, err := New(s, horizon); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFits(b *testing.B) {
	c := build(b, harbourRow(b), thirteenYears)
	for _, bench := range []struct{ name, day string }{{"open", "2027-05-11"}, {"closed", "2027-08-09"}, {"nobody", "2027-05-12"}} {
		d := on(b, bench.day)
		b.Run(bench.name, func(b *testing.B) {
			for b.Loop() {
				c.Fits(d, "placement")
			}
		})
	}
}

func BenchmarkStatus(b *testing.B) {
	c := build(b, harbourRow(b), thirteenYears)
	d := on(b, "2027-05-11")
	for b.Loop() {
		if _, err := c.Status(d); err != nil {
			b.Fatal(err)
		}
	}
}
