package casefile_test

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	"graftclock/internal/casefile"
)

// BenchmarkCSV reads a file of 1,000 records to take them in, and to say what is wrong
// with them. Beside it, as times, what it takes to read each record alone in its canonical
// form.
func BenchmarkCSV(b *testing.B) {
	heading, below, _ := bytes.Cut(bytes.TrimSpace([]byte(arrivals(b))), []byte("\n"))
	lines := bytes.Split(below, []byte("\n"))
	data := bytes.Clone(heading)
	const records = 1000
	for n := range records {
		_, cells, _ := bytes.Cut(lines[n%len(lines)], []byte(","))
		data = fmt.Appendf(append(data, '\n'), "HR-%d,%s", 10000+n, cells)
	}
	rows := casefile.ReadCSV("a.csv", data)
	begun := time.Now()
	for _, r := range rows {
		if _, faults := casefile.ReadCase("a", r.Canonical); len(r.Faults)+len(faults) > 0 {
			b.Fatal(r.Faults, faults)
		}
	}
	alone := time.Since(begun)
	for _, way := range []struct {
		name string
		read func(string, []byte) []casefile.Row
	}{{"read", casefile.ReadCSV}, {"check", casefile.CheckCSV}} {
		b.Run(way.name, func(b *testing.B) {
			for b.Loop() {
				if rows := way.read("a.csv", data); len(rows) != records {
					b.Fatal(len(rows))
				}
			}
			b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(alone), "times-alone")
		})
	}
}
