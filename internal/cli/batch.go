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
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// batchGC trades memory, of which a record takes little, for time: the collector
// waits until the heap has grown by this many percent.
const batchGC = 400

// batch is a run over the records of a folder, or over cases of the ledger.
type batch struct {
	one     func(name string) result // what is done with one of them
	out     string                   // folder with a folder for each; empty: nothing is written
	letters bool                     // what is held back is told one by one
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
	other   bool        // no record, but the clinic's own file or its rule values
	held    []desk.Held // told one by one
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
	records, err := runRecords(c, paths, folderRun{d, o.on.or(today), o.out, false, o.outputs})
	if records == 0 && err == nil {
		return noRecord(folder)
	}
	return err
}

// folderRun is what a run over records does with each.
type folderRun struct {
	desk    *desk.Desk
	on      day.Day
	out     string
	letters bool
	outputs func(*desk.Desk, desk.Plan) (desk.Outputs, error)
}

// runRecords runs over records and returns how many there were.
func runRecords(c *cobra.Command, paths []string, r folderRun) (records int, err error) {
	if r.out != "" {
		sweep(r.out)
	}
	defer debug.SetGCPercent(debug.SetGCPercent(batchGC))
	b := &batch{out: r.out, letters: r.letters, results: make(chan result)}
	b.one = func(path string) result { return b.record(path, r) }
	go b.run(paths)
	return b.report(c.OutOrStdout(), progressOn(c.ErrOrStderr()), len(paths))
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
				b.results <- b.one(path)
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

// record plans one record and writes its files.
func (b *batch) record(path string, run folderRun) result {
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
	if r.plan, r.err = run.desk.Plan(c, run.on); r.err != nil {
		return r
	}
	r.planned = true
	if b.out == "" {
		return r
	}
	outputs, err := run.outputs(run.desk, r.plan)
	if err != nil {
		r.err = err
		return r
	}
	return b.keep(r, stem(path), c.ID, outputs)
}

// keep writes the files of one of them into a folder of its own.
func (b *batch) keep(r result, folder string, id graft.CaseID, outputs desk.Outputs) result {
	files, err := save(filepath.Join(b.out, folder), id, outputs, false)
	r.err = err
	if b.letters {
		r.held = outputs.Held
	}
	for _, f := range files {
		r.files, r.bytes = r.files+1, r.bytes+f.size
	}
	r.patient = patientCalendarIn(files)
	return r
}

// summary counts what a run came to.
type summary struct {
	planned, stopped, faulty, failed, files, bytes int
	held                                           int  // files that are not given out
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
	for _, h := range r.held {
		s.held++
		s.complaints = append(s.complaints, complaint{r.path, fmt.Sprintf("%s: %s held: %s", r.path, h.Name, h.Why)})
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
	sort.SliceStable(s.complaints, func(i, j int) bool { return s.complaints[i].path < s.complaints[j].path })
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
	case s.faulty > 0 || s.stopped > 0 || s.held > 0:
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
