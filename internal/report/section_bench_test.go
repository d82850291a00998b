package report

import "testing"

// BenchmarkDrawings makes all drawings of one implant.
func BenchmarkDrawings(b *testing.B) {
	s := samples(b)[0]
	s.sites = s.sites[:1]
	b.ReportAllocs()
	for b.Loop() {
		drawingsOf(s)
	}
}
