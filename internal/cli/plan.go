package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/desk"
)

// planOptions are the flags of graftclock plan.
type planOptions struct {
	sources
	out    string
	each   bool
	asJSON bool
	now    func() time.Time
}

func newPlan(now func() time.Time) *cobra.Command {
	o := planOptions{now: now}
	c := &cobra.Command{
		Use:   "plan RECORD|FOLDER|CASE",
		Short: "Print the timeline of a record or case and write its calendars and letter",
		Long: `Plan prints the timeline of a record as a table and, with --out, writes
patient.ics, desk.ics, surgeon.ics, letter.html, letter.txt and timeline.json.

With the number of a case that the ledger keeps it plans round what is booked, shows
where each visit stands and lists what no longer fits.

With a folder it plans every record in it, each into a folder of its own below
--out; a bad record never stops the rest.

While a stop finding stands, the dates that depend on it are left out and nothing
for the patient is written. Letter and calendar are drafts until a surgeon
approves them. A calendar file adds its dates to a phone once and changes none later:
a second file is refused there or doubles them. Changes reach people by graftclock
invite (mail), graftclock calendar (a feed) or a call.

Exit codes: 0 done, 1 fault or refusal, 2 usage, 3 stop finding or faulty file.`,
		Example: "  graftclock plan testdata/demo/fenwick.yaml --on 2027-01-14 --out out",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if info, err := os.Stat(args[0]); err == nil && info.IsDir() {
				return o.folder(c, args[0])
			}
			if namesCase(args[0]) {
				return o.kept(c.OutOrStdout(), args[0])
			}
			return o.record(c.OutOrStdout(), args[0])
		},
	}
	o.flags(c)
	c.Flags().StringVar(&o.out, "out", "", "folder to write the files to; without it nothing is written")
	c.Flags().BoolVar(&o.each, "each", false, "with --out: also the patient's visits as one file each, for phones that take only the first event of a file")
	c.Flags().BoolVar(&o.asJSON, "json", false, "print the timeline as JSON instead of a table")
	return c
}

// record plans one record. The files are written before the table is printed,
// so that a failure to write is not lost in what scrolls by.
func (o *planOptions) record(w io.Writer, path string) error {
	d, p, err := o.planOf(path)
	if err != nil {
		return err
	}
	return o.show(w, p, func() (desk.Plan, desk.Outputs, error) {
		outputs, err := o.outputs(d, p)
		return p, outputs, err
	})
}

// outputs writes the files of a plan made from a file.
func (o *planOptions) outputs(d *desk.Desk, p desk.Plan) (desk.Outputs, error) {
	outputs, err := d.Outputs(p)
	if err == nil && o.each {
		err = d.VisitFiles(p, &outputs)
	}
	return outputs, err
}

// kept plans one case of the ledger, which remembers what goes out of the house.
func (o *planOptions) kept(w io.Writer, id string) error {
	return withCase(o.sources, o.now, id, func(k *desk.Keeper, live desk.Live) error {
		return o.show(w, live.Plan, func() (desk.Plan, desk.Outputs, error) {
			live, outputs, err := k.GiveOut(live.Kept.Case, live.Timeline.On, o.now())
			if err == nil && o.each {
				err = k.VisitFiles(live.Plan, &outputs)
			}
			return live.Plan, outputs, err
		})
	})
}

// show writes the files of a plan, where a folder is named, and prints it.
func (o *planOptions) show(w io.Writer, p desk.Plan, give func() (desk.Plan, desk.Outputs, error)) error {
	var saved []saved
	var held []desk.Held
	if o.out != "" {
		sweep(filepath.Dir(o.out))
		var outputs desk.Outputs
		var err error
		if p, outputs, err = give(); err != nil {
			return err
		}
		if saved, err = save(o.out, p.Case.ID, outputs, true); err != nil {
			return err
		}
		held = outputs.Held
	}
	if err := o.print(w, p); err != nil {
		return err
	}
	if !o.asJSON {
		printSaved(w, saved, held)
	}
	if p.Stopped() {
		return errStopped
	}
	return nil
}

func (o *planOptions) print(w io.Writer, p desk.Plan) error {
	if !o.asJSON {
		return printPlan(w, p)
	}
	data, err := desk.JSON(p)
	if err == nil {
		_, err = w.Write(data)
	}
	return err
}

// printSaved lists the files with their sizes, and says what the patient's calendar
// can do and cannot.
func printSaved(w io.Writer, files []saved, held []desk.Held) {
	for _, f := range files {
		fmt.Fprintf(w, "%8d  %s\n", f.size, f.path)
	}
	for _, h := range held {
		fmt.Fprintf(w, "    held  %s: %s\n", h.Name, h.Why)
	}
	if patientCalendarIn(files) {
		fmt.Fprintln(w, "\n"+addsOnce)
	}
}

// addsOnce is what a calendar file does in the calendar programs that were tried.
const addsOnce = desk.PatientCalendar + " adds its dates once: a second file moves and cancels nothing. Changes go by graftclock invite, a feed or a call."

func patientCalendarIn(files []saved) bool {
	return slices.ContainsFunc(files, func(f saved) bool { return filepath.Base(f.path) == desk.PatientCalendar })
}
