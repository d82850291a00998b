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
	"graftclock/internal/graft"
)

// shelfFlags are the flags of publish and pull.
type shelfFlags struct{ keeperFlags }

// aboutPassword is said by every command that talks to a calendar server.
const aboutPassword = `The address is shared_calendar: in the clinic file: https, unless the server is this
machine. The password is in $` + envCalendarPassword + ` or in the file named there under
password_file; never in a flag.`

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
visit stays as it is and is listed; graftclock pull says what can be done. A run that
is cut off is finished by the next one.

` + aboutPassword + `

Exit codes: 0 done, 1 fault or refusal, 2 usage, 3 something was left as it is.`,
		Example: "  graftclock publish --dry-run\n  graftclock publish",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return f.shelf(func(k *desk.Keeper, client *caldav.Client, shelf desk.Shelf) error {
				if create && !dry {
					if err := makeCalendar(c.Context(), client, shelf, k.Clinic.ShortName); err != nil {
						return err
					}
				}
				did, err := k.Publish(c.Context(), shelf, f.day(), f.now(), dry)
				return printShelvings(c.OutOrStdout(), did, dry, noCalendar(c.Context(), client, shelf, err))
			})
		},
	}
	f.flags(c)
	c.Flags().BoolVar(&dry, "dry-run", false, "say what would be written, and write nothing")
	c.Flags().BoolVar(&create, "create", false, "make the calendar on the server if it is not there yet")
	return c
}

func newPull(now func() time.Time) *cobra.Command {
	f := shelfFlags{keeperFlags{now: now}}
	var accept, putBack bool
	c := &cobra.Command{
		Use:   "pull [CASE]",
		Short: "See what was changed in the desk's shared calendar",
		Long: `Pull asks the clinic's shared calendar which visits somebody has moved, changed or
deleted there since graftclock wrote them. A visit that was dragged elsewhere is held
against its window and gate, closed days, rooms and people: it can be moved there, or
pull says why not. By itself pull changes no booking and nothing in the calendar.

With --accept it moves in the ledger what can be moved, with the reason "moved in the
calendar"; graftclock publish then brings the rest of the entry up to date. With
--put-back it makes the calendar say again what the ledger says, and writes over what
was done there. With a case only its visits are meant.

` + aboutPassword + `

Exit codes: 0 nothing is different (any more), 1 fault or refusal, 2 usage, 3
something is.`,
		Example: "  graftclock pull\n  graftclock pull HR-2041 --accept --as \"Ida Marlow\"",
		Args:    cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if accept && putBack {
				return usagef("--accept and --put-back contradict each other")
			}
			p := puller{ctx: c.Context(), w: c.OutOrStdout(), f: f}
			if len(args) > 0 {
				p.only = graft.CaseID(args[0])
			}
			switch {
			case accept:
				return p.accept()
			case putBack:
				return p.putBack()
			}
			return p.show()
		},
	}
	f.acting(c)
	c.Flags().BoolVar(&accept, "accept", false, "move in the ledger what was moved in the calendar and can be")
	c.Flags().BoolVar(&putBack, "put-back", false, "write over what was changed in the calendar")
	return c
}

// shelf opens ledger and shared calendar.
func (f *shelfFlags) shelf(do func(*desk.Keeper, *caldav.Client, desk.Shelf) error) error {
	return f.with(func(k *desk.Keeper) error {
		client, shelf, err := f.sharedCalendar(k)
		if err != nil {
			return err
		}
		return do(k, client, shelf)
	})
}

// sharedCalendar is the one that the clinic file names.
func (f *keeperFlags) sharedCalendar(k *desk.Keeper) (*caldav.Client, desk.Shelf, error) {
	shared := k.Clinic.Shared
	if shared.URL == "" {
		return nil, desk.Shelf{}, &graft.Refusal{Kind: graft.Invalid, Message: "the clinic file names no shared calendar", Hint: "add shared_calendar: with url and user"}
	}
	password, err := secret(shared.User, envCalendarPassword, f.clinic, shared.PasswordFile)
	if err != nil {
		return nil, desk.Shelf{}, err
	}
	client, err := caldav.New(caldav.Options{URL: shared.URL, User: shared.User, Password: password})
	if err != nil {
		return nil, desk.Shelf{}, err
	}
	path, err := client.Path(shared.URL)
	return client, desk.Shelf{Server: client, Path: path, Name: shared.URL}, err
}

// makeCalendar makes the shared calendar where the server has none.
func makeCalendar(ctx context.Context, client *caldav.Client, shelf desk.Shelf, name string) error {
	_, _, err := client.Changes(ctx, shelf.Path, "")
	if !caldav.IsMissing(err) {
		return err
	}
	return client.Make(ctx, shelf.Path, name)
}

// noCalendar explains an error where the cause is that the server has no such
// calendar; it names those that it has.
func noCalendar(ctx context.Context, client *caldav.Client, shelf desk.Shelf, err error) error {
	var answer *caldav.StatusError
	if !errors.As(err, &answer) {
		return err
	}
	if _, _, missing := client.Changes(ctx, shelf.Path, ""); !caldav.IsMissing(missing) {
		return err
	}
	hint := "graftclock publish --create makes it"
	if _, all, listErr := client.Collections(ctx); listErr == nil && len(all) > 0 {
		hint += "; the server has"
		for _, c := range all {
			hint += " " + c.Path
		}
	}
	return &graft.Refusal{Kind: graft.NotFound, Message: "the server has no calendar at " + shelf.Path, Hint: hint}
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
	} else if failed == nil {
		fmt.Fprintln(w, "Nothing to write: every booked visit is in the shared calendar. What others changed there, graftclock pull says.")
	}
	if failed == nil && kept {
		return errStopped
	}
	return failed
}
