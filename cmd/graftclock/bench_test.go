package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"graftclock/internal/reference"
)

// built is the program as a clinic runs it, not the test binary.
func built(b *testing.B) string {
	b.Helper()
	binary := filepath.Join(b.TempDir(), "graftclock")
	c := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w", "-o", binary, "./cmd/graftclock")
	c.Dir = reference.Root()
	c.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := c.CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	return binary
}

// BenchmarkPlanCommand is the whole command, process start and six files
// included, beside a process that does nothing.
func BenchmarkPlanCommand(b *testing.B) {
	binary, out := built(b), filepath.Join(b.TempDir(), "out")
	var nothing, plan time.Duration
	for b.Loop() {
		nothing += run(b, exec.Command("true"))
		plan += run(b, exec.Command(binary, "plan", "testdata/demo/fenwick.yaml", "--on", "2027-01-14", "--out", out))
	}
	b.ReportMetric(plan.Seconds()*1000/float64(b.N), "ms/plan")
	b.ReportMetric(plan.Seconds()/nothing.Seconds(), "x-empty-process")
}

func run(b *testing.B, c *exec.Cmd) time.Duration {
	b.Helper()
	c.Dir = reference.Root()
	start := time.Now()
	if out, err := c.CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	return time.Since(start)
}

// BenchmarkFolder plans 2,000 records in one run on one core, every file written,
// beside a run over 200: cases a second, and how the peak memory grows. The mixed
// folder holds all demo cases in turn; the other holds the heaviest one alone,
// with two implants, a window, a septum and a front wall.
func BenchmarkFolder(b *testing.B) {
	binary := built(b)
	const few, many = 200, 2000
	var mixed []string
	for _, d := range demos {
		mixed = append(mixed, d.name)
	}
	for _, c := range []struct {
		name  string
		cases []string
	}{{"mixed", mixed}, {"heavy", []string{"fenwick"}}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				_, small := folder(b, binary, c.cases, few, "plan")
				took, large := folder(b, binary, c.cases, many, "plan")
				b.ReportMetric(many/took.Seconds(), "cases/s-one-core")
				b.ReportMetric(float64(peak(large))/1024, "peak-MB-2000")
				b.ReportMetric(float64(peak(large))/float64(peak(small)), "x-peak-of-200")
			}
		})
	}
}

// BenchmarkLetters writes the letters of 500 cases in one run on one core, planning and
// files included: letters in a second of processor time, and how many take as long as a browser takes to
// print one of them.
func BenchmarkLetters(b *testing.B) {
	binary, browser := built(b), reference.Program(b, "chromium")
	const cases = 500
	pages := b.TempDir()
	run(b, exec.Command(binary, "letter", "testdata/demo/fenwick.yaml", "--on", "2027-01-14", "--out", pages))
	for _, c := range []struct {
		name, format string
		cases        []string
	}{
		{"html and text", "html,text", []string{"doyle", "fenwick", "lindqvist", "marsh", "okafor"}},
		{"pdf", "pdf", []string{"doyle", "fenwick", "lindqvist", "marsh", "okafor"}},
		{"both sides, html and text", "html,text", []string{"petrov"}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				printed := run(b, exec.Command(browser, "--headless", "--no-sandbox", "--disable-gpu", "--print-to-pdf="+filepath.Join(pages, "printed.pdf"), "file://"+filepath.Join(pages, "letter.html")))
				took, used := folder(b, binary, c.cases, cases, "letter", "--format", c.format)
				b.ReportMetric(cases/(used.UserTime()+used.SystemTime()).Seconds(), "letters/s-one-core")
				b.ReportMetric(printed.Seconds()*cases/took.Seconds(), "letters-while-a-browser-prints-one")
			}
		})
	}
}

// folder runs a command over n records on one core and returns the time it took and what
// the process used.
func folder(b *testing.B, binary string, cases []string, n int, command string, flags ...string) (time.Duration, *os.ProcessState) {
	b.Helper()
	records := b.TempDir()
	write(b, filepath.Join(records, "clinic.yaml"), demoFile(b, "clinic"))
	var texts []string
	for _, name := range cases {
		texts = append(texts, demoFile(b, name))
	}
	number := regexp.MustCompile(`HR-\d+`)
	for i := range n {
		record := number.ReplaceAllString(texts[i%len(texts)], fmt.Sprintf("HR-%d", i))
		write(b, filepath.Join(records, fmt.Sprintf("r%05d.yaml", i)), record)
	}
	c := exec.Command(binary, append([]string{command, records, "--on", "2027-01-14", "--out", b.TempDir()}, flags...)...)
	c.Env = append(os.Environ(), "GOMAXPROCS=1")
	took := run(b, c)
	return took, c.ProcessState
}

func demoFile(b *testing.B, name string) string {
	b.Helper()
	data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", name+".yaml"))
	if err != nil {
		b.Fatal(err)
	}
	return string(data)
}

func write(b *testing.B, path, text string) {
	b.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		b.Fatal(err)
	}
}
