package cli

import (
	"context"
	"errors"
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
