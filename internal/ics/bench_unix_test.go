//go:build unix

package ics

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"graftclock/internal/reference"
)

// BenchmarkTenThousand builds and writes ten thousand events, and has libical write
// the same ones, which it has in memory already: see testdata/reference/bench_ical.sh.
// Both count the time that the processor spends on them, everything included, for what
// the clock on the wall shows depends on what else the machine has to do.
func BenchmarkTenThousand(b *testing.B) {
	const events = 10_000
	cal := busy(events)
	data := encode(b, cal)
	b.Run("graftclock", func(b *testing.B) {
		b.ReportAllocs()
		before := busyFor(b)
		for b.Loop() {
			if _, err := Encode(cal); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(events)*float64(b.N)/(busyFor(b)-before).Seconds(), "events/s")
		b.ReportMetric(float64(len(data)), "octets")
	})
	b.Run("libical", func(b *testing.B) {
		program := reference.Libical(b, "ical_libical_speed.c")
		file := filepath.Join(b.TempDir(), "busy.ics")
		if err := os.WriteFile(file, data, 0o600); err != nil {
			b.Fatal(err)
		}
		text := output(b, program, file, "text")
		asLong(b, text, data, events)
		var speed float64
		for range b.N { // the program itself goes on for long enough
			var err error
			if speed, err = strconv.ParseFloat(strings.TrimSpace(string(output(b, program, file))), 64); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(speed, "events/s")
		b.ReportMetric(float64(len(text)), "octets")
	})
}

// busyFor is how long the processor has been busy with this process.
func busyFor(b *testing.B) time.Duration {
	b.Helper()
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		b.Fatal(err)
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}

// asLong holds that two files have as many events, and as many octets but for a few in a
// hundred: programs fold and escape a little differently.
func asLong(b *testing.B, theirs, ours []byte, events int) {
	b.Helper()
	for _, data := range [][]byte{theirs, ours} {
		if n := bytes.Count(data, []byte("\nBEGIN:VEVENT\r\n")); n != events {
			b.Fatalf("%d events, want %d", n, events)
		}
	}
	if apart := float64(len(theirs))/float64(len(ours)) - 1; apart < -0.03 || apart > 0.03 {
		b.Fatalf("%d octets beside %d", len(theirs), len(ours))
	}
}

func output(b *testing.B, program string, arguments ...string) []byte {
	b.Helper()
	out, err := exec.Command(program, arguments...).Output()
	if err != nil {
		b.Fatal(err)
	}
	return out
}
