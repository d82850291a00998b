package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/caldav"
	"graftclock/internal/desk"
)

func newPublish(now func() time.Time) *cobra.Command {
	f := shelfFlags{keeperFlags{now: now}}
	var dry, create bool
	c := &cobra.Command{
		Use:   "publish",
		Short: "Bring the desk's shared calendar up to date",
		Long: `Publish writes every booked visit of the ledger into the clinic's shared calendar on a
CalDAV server (RFC 4791), one entry each, changes those that have moved and removes
those that are off. It names patients and steps: only the clinic may read it.

Nothing is written over that somebody has changed or deleted in the calendar: such a
visit stays as it is and is counted; graftclock pull says what can be done. A run that
is cut off is finished by the next one.

` + aboutPassword + `

Exit codes: 0 done, 1 fault or refusal, 2 usage, 3 something was left as it is, or waits
for a decision.`,
		Example: "  graftclock publish --dry-run\n  graftclock publish",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return f.shelf(func(k *desk.Keeper, client *caldav.Client, shelf desk.Shelf) error {
				p := publisher{c.Context(), c.OutOrStdout(), &f, k, client, shelf}
				if dry {
					return p.dryRun(create)
				}
				return p.run(create)
			})
		},
	}
	f.flags(c)
	c.Flags().BoolVar(&dry, "dry-run", false, "say what would be written, and write nothing")
	c.Flags().BoolVar(&create, "create", false, "make the calendar on the server if it is not there yet")
	return c
}

// publisher is one run of graftclock publish.
type publisher struct {
	ctx    context.Context
	w      io.Writer
	f      *shelfFlags
	keeper *desk.Keeper
	client *caldav.Client
	shelf  desk.Shelf
}

// run brings the calendar up to date and says what waits there for a decision.
func (p *publisher) run(create bool) error {
	others, err := p.keeper.Elsewhere(p.shelf)
	if err != nil {
		return err
	}
	if create {
		if err := makeCalendar(p.ctx, p.client, p.shelf, p.keeper.Clinic.ShortName); err != nil {
			return err
		}
	}
	did, err := p.keeper.Publish(p.ctx, p.shelf, p.f.day(), p.f.now(), false)
	err = printShelvings(p.w, did, false, noCalendar(p.ctx, p.client, p.shelf, err))
	p.printElsewhere(others)
	if err != nil && !errors.Is(err, errStopped) {
		return err
	}
	waiting, lookErr := p.keeper.Pull(p.ctx, p.shelf, p.f.day(), p.f.now())
	switch {
	case lookErr != nil:
		return noCalendar(p.ctx, p.client, p.shelf, lookErr)
	case len(waiting) > 0:
		printWaiting(p.w, len(waiting), len(did) == 0)
		return errStopped
	case len(did) == 0:
		fmt.Fprintln(p.w, "Nothing to write: every booked visit is in the shared calendar.")
	}
	return err
}

// printWaiting counts what somebody has changed or deleted in the calendar.
func printWaiting(w io.Writer, n int, nothing bool) {
	if nothing {
		fmt.Fprint(w, "Nothing to write, but ")
	}
	wait := "waits"
	if n > 1 {
		wait = "wait"
	}
	fmt.Fprintf(w, "%s changed or deleted in the calendar by others %s for a decision: graftclock pull\n", counted(n, "visit"), wait)
}

// dryRun says what a run would write, and is refused where that would be.
func (p *publisher) dryRun(create bool) error {
	others, err := p.keeper.Elsewhere(p.shelf)
	if err != nil {
		return err
	}
	if !create {
		if _, _, err := p.client.Changes(p.ctx, p.shelf.Path, ""); err != nil {
			return noCalendar(p.ctx, p.client, p.shelf, err)
		}
	}
	would, err := p.keeper.Publish(p.ctx, p.shelf, p.f.day(), p.f.now(), true)
	if len(would) == 0 && err == nil {
		fmt.Fprintln(p.w, "Nothing to write. What others changed in the calendar, graftclock pull says.")
	}
	err = printShelvings(p.w, would, true, err)
	p.printElsewhere(others)
	return err
}

// printElsewhere says what stays behind where the clinic file names another calendar
// than before.
func (p *publisher) printElsewhere(others []desk.Elsewhere) {
	for _, o := range others {
		entries := "entries stay"
		if o.Entries == 1 {
			entries = "entry stays"
		}
		fmt.Fprintf(p.w, "%d %s in the calendar that was named before, %s, and nothing keeps them up to date: remove that calendar\n", o.Entries, entries, o.Calendar)
	}
}

// printShelvings lists what publish did, or would do.
func printShelvings(w io.Writer, did []desk.Shelving, dry bool, failed error) error {
	rows := [][]string{{"CASE", "PATIENT", "STEP", "DID", "WHEN", "WHY"}}
	if dry {
		rows[0][3] = "WOULD"
	}
	kept := false
	for _, s := range did {
		rows = append(rows, []string{string(s.Case), s.Patient, s.Milestone.Title(), s.Did, slotTime(s.Slot), orDash(s.Why)})
		kept = kept || s.Did == desk.Keeps
	}
	if len(did) > 0 {
		printTable(w, rows)
	}
	if failed == nil && kept {
		return errStopped
	}
	return failed
}
