package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// reportOptions are the flags of graftclock report.
type reportOptions struct {
	sources
	out, format string
	now         func() time.Time
}

// The formats of the surgeon's page.
const (
	asHTML = "html"
	asPDF  = "pdf"
)

func newReport(now func() time.Time) *cobra.Command {
	o := reportOptions{now: now}
	c := &cobra.Command{
		Use:   "report RECORD|CASE",
		Short: "Write the surgeon's page: drawings, reasons, what-if, sources",
		Long: `Report writes the surgeon's page of a record or of a case that the ledger keeps: the
findings, every date with its window, each implant in cross-section with the share
that bone holds against time, the reasons of each date with their sums and sources,
what other facts would change, the bibliography, and lines to sign.

Without --out it prints the page as HTML, or as PDF with --format pdf into a file or
a pipe. With --out it writes report.html and report.pdf (with --format only the one
asked for) and timeline.json, which says whose folder it is.

The page is written while a stop finding stands, too: the surgeon has to see it. It is
a draft until a surgeon approves the revision it shows. It names the patient and is
for the clinic only.

Exit codes: 0 done, 1 fault or refusal, 2 usage, 3 stop finding or faulty file.`,
		Example: "  graftclock report testdata/demo/fenwick.yaml --on 2027-01-14 --out out",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if o.format != "" && o.format != asHTML && o.format != asPDF {
				return usagef("--format %q; allowed: %s, %s", o.format, asHTML, asPDF)
			}
			if namesCase(args[0]) {
				return withCase(o.sources, now, args[0], func(k *desk.Keeper, live desk.Live) error {
					return o.write(c.OutOrStdout(), k.Desk, live.Plan, live.Revision.Record)
				})
			}
			d, p, err := o.planOf(args[0])
			if err != nil {
				return err
			}
			record, err := os.ReadFile(args[0])
			if err != nil {
				return fmt.Errorf("read the record: %w", err)
			}
			return o.write(c.OutOrStdout(), d, p, record)
		},
	}
	o.flags(c)
	c.Flags().StringVar(&o.out, "out", "", "folder to write the files to; without it one page is printed")
	c.Flags().StringVar(&o.format, "format", "", "html or pdf (default: html; with --out both)")
	return c
}

// write puts the page into a folder, or prints it.
func (o *reportOptions) write(w io.Writer, d *desk.Desk, p desk.Plan, record []byte) error {
	names := []string{desk.ReportPage, desk.ReportPrint}
	switch {
	case o.format == asPDF:
		names = names[1:]
	case o.format == asHTML, o.out == "":
		names = names[:1]
	}
	if o.out == "" && o.format == asPDF && isTerminal(w) {
		return &graft.Refusal{Kind: graft.Invalid, Message: "a PDF is nothing for a terminal", Hint: "name a folder with --out, or send it into a file"}
	}
	outputs, err := d.ReportFiles(p, record, names...)
	if err != nil {
		return err
	}
	if o.out == "" {
		_, err = w.Write(outputs.Files[0].Data)
	} else {
		err = o.save(w, p, outputs)
	}
	if err == nil && p.Stopped() {
		return errStopped
	}
	return err
}

func (o *reportOptions) save(w io.Writer, p desk.Plan, outputs desk.Outputs) error {
	sweep(filepath.Dir(o.out))
	files, err := save(o.out, p.Case.ID, outputs, true)
	if err != nil {
		return err
	}
	for _, f := range files {
		fmt.Fprintf(w, "%8d  %s\n", f.size, f.path)
	}
	stops, warns, notes := countFindings(p.Timeline.Findings)
	_, err = fmt.Fprintf(w, "\n%s, %s: %d stop, %d warn, %d note.\n", p.Timeline.Case, p.Case.Patient.Name, stops, warns, notes)
	return err
}

// isTerminal reports whether what is written is seen by a person at once: a device
// that takes characters, and not the one that drops them.
func isTerminal(w io.Writer) bool {
	file, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := file.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(info, null)
}
