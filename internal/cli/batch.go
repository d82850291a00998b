package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"sort"
	"sync"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// batchGC trades memory, of which a record takes little, for time: the collector
// waits until the heap has grown by this many percent.
const batchGC = 400

// batch is a run over the records of a folder.
type batch struct {
	options *planOptions
	desk    *desk.Desk
	results chan result
}

// result is what became of one record.
type result struct {
	path    string
	files   int
	bytes   int
	patient bool // a patient's calendar is among the files
	plan    desk.Plan
	err     error
	planned bool
	other   bool // no record, but the clinic's own file or its rule values
}

// folder plans every record of a folder, as many at once as there are cores. A
// bad record is reported and never stops the rest.
func (o *planOptions) folder(c *cobra.Command, folder string) error {
	if o.asJSON {
		return usagef("--json goes with one record; a folder's timelines are written with --out")
	}
	paths, err := yamlIn(folder)
	if err != nil {
		return err
	}
	if len(paths) == 0 {
		return noRecord(folder)
	}
	d, err := o.desk(folder)
	if err != nil {
		return err
	}
	if o.out != "" {
		sweep(o.out)
	}
	defer debug.SetGCPercent(debug.SetGCPercent(batchGC))
	b := &batch{options: o, desk: d, results: make(chan result)}
	go b.run(paths)
	records, err := b.report(c.OutOrStdout(), progressOn(c.ErrOrStderr()), len(paths))
	if records == 0 {
		return noRecord(folder)
	}
	return err
}

func noRecord(folder string) error {
	return &graft.Refusal{Kind: graft.NotFound, Message: "no surgery record (.yaml) in " + folder}
}

// yamlIn lists the YAML files of a folder, sorted.
func yamlIn(folder string) ([]string, error) {
	var paths []string
	for _, pattern := range []string{"*.yaml", "*.yml"} {
		found, err := filepath.Glob(filepath.Join(folder, pattern))
		if err != nil {
			return nil, fmt.Errorf("list the records: %w", err)
		}
		paths = append(paths, found...)
	}
	sort.Strings(paths)
	return paths, nil
}

func (b *batch) run(paths []string) {
	queue := make(chan string)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for path := range queue {
				b.results <- b.plan(path)
			}
		})
	}
	for _, path := range paths {
		queue <- path
	}
	close(queue)
	workers.Wait()
	close(b.results)
}

func (b *batch) plan(path string) result {
	r := result{path: path}
	data, err := os.ReadFile(path)
	if err != nil {
		r.err = err
		return r
	}
	if kind := kindOf(data); kind == clinicKind || kind == rulesKind {
		r.other = true
		return r
	}
	c, faults := casefile.ReadCase(path, data)
	if len(faults) > 0 {
		r.err = faults
		return r
	}
	if r.plan, r.err = b.desk.Plan(c, b.options.on.or(today)); r.err != nil {
		return r
	}
	r.planned = true
	if b.options.out == "" {
		return r
	}
	outputs, err := b.options.outputs(b.desk, r.plan)
	if err != nil {
		r.err = err
		return r
	}
	files, err := save(filepath.Join(b.options.out, stem(path)), c.ID, outputs, false)
	r.err = err
	for _, f := range files {
		r.files, r.bytes = r.files+1, r.bytes+f.size
	}
	r.patient = patientCalendarIn(files)
	return r
}

// summary counts what a run came to.
type summary struct {
	planned, stopped, faulty, failed, files, bytes int
	patient                                        bool // a patient's calendar is among the files
	rules                                          map[string]int
	complaints                                     []complaint
}

type complaint struct{ path, says string }

func (s *summary) add(r result) {
	s.files, s.bytes, s.patient = s.files+r.files, s.bytes+r.bytes, s.patient || r.patient
	if r.planned {
		s.planned++
		for _, id := range ruleIDs(r.plan.Timeline.Findings) {
			s.rules[id]++
		}
		if r.plan.Stopped() {
			s.stopped++
		}
	}
	var faults table.Faults
	if errors.As(r.err, &faults) {
		s.faulty++
		s.complaints = append(s.complaints, complaint{r.path, faults.Error()})
	} else if r.err != nil {
		s.failed++
		s.complaints = append(s.complaints, complaint{r.path, r.path + ": " + r.err.Error()})
	}
}

// report gathers the results, shows progress on a terminal, ends with what was
// found and returns how many records there were.
func (b *batch) report(w, progress io.Writer, files int) (records int, err error) {
	s := summary{rules: map[string]int{}}
	n := 0
	for r := range b.results {
		n++
		fmt.Fprintf(progress, "\r%d of %d files", n, files)
		if !r.other {
			records++
			s.add(r)
		}
	}
	if n > 0 {
		fmt.Fprintln(progress)
	}
	if records == 0 {
		return 0, nil
	}
	sort.Slice(s.complaints, func(i, j int) bool { return s.complaints[i].path < s.complaints[j].path })
	for _, c := range s.complaints {
		fmt.Fprintln(w, c.says)
	}
	fmt.Fprintf(w, "%s: %d planned (%d with a stop finding), %d faulty, %d failed; %d files, %d bytes\n", counted(records, "record"), s.planned, s.stopped, s.faulty, s.failed, s.files, s.bytes)
	ids := make([]string, 0, len(s.rules))
	for id := range s.rules {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	for _, id := range ids {
		fmt.Fprintf(w, "%6d  %s\n", s.rules[id], id)
	}
	if s.patient {
		fmt.Fprintln(w, "\n"+addsOnce)
	}
	switch {
	case s.failed > 0:
		return records, fmt.Errorf("%s failed", counted(s.failed, "record"))
	case s.faulty > 0 || s.stopped > 0:
		return records, errStopped
	}
	return records, nil
}

// progressOn returns the writer for progress: the terminal, or nowhere when the
// output goes to a file.
func progressOn(w io.Writer) io.Writer {
	file, ok := w.(*os.File)
	if !ok {
		return io.Discard
	}
	if info, err := file.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return io.Discard
	}
	return w
}
