package cli

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/post"
)

// inviteFlags are the flags of graftclock invite.
type inviteFlags struct {
	keeperFlags
	out            string
	dry            bool
	again, arrived bool
}

func newInvite(now func() time.Time) *cobra.Command {
	f := inviteFlags{keeperFlags: keeperFlags{now: now}}
	c := &cobra.Command{
		Use:   "invite CASE",
		Short: "Mail the patient every visit that is new, has moved or is off",
		Long: `Invite sends the patient one mail for each booked visit that is new or has moved since
the last mail about it, and one for each that is off (RFC 5546): the patient's mail
program offers to put it into the calendar, to move it there, or to remove it. With
--out it writes the mails as .eml files instead, for somebody to send.

It needs a patient who chose to get mail (patient.mail in the record), mail: in the
clinic file and, unless a visit is off, a plan that a surgeon has approved. The
letter comes along as text where the patient chose that too. Mail is not secret on
its way: the words of the invitation tell nothing of the operation, the letter does.

The invitation asks for no answer. Some programs send one all the same when the patient
accepts or declines: it comes to the address in from: under mail:, and graftclock does
not read it.

What was sent is kept in the history. A mail that failed is sent by the next run. One
that was cut off while the server had it may have arrived: nothing more is sent about
that visit until, ten minutes later or more, --arrived or --again says how it is to
be taken: ask the patient first.

The password is in $` + envMailPassword + ` or in the file that mail: names under
password_file; never in a flag.

Exit codes: 0 the patient has been told of everything, 1 fault or refusal, 2 usage, 3
something has not been told.`,
		Example: "  graftclock invite HR-2041 --as \"Ida Marlow\"\n  graftclock invite HR-2041 --dry-run",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if f.again && f.arrived {
				return usagef("--again and --arrived contradict each other")
			}
			id := graft.CaseID(args[0])
			if f.dry {
				return f.with(func(k *desk.Keeper) error {
					list, err := k.Untold(desk.Actor{At: now(), On: f.day()}, id)
					return printInvited(c.OutOrStdout(), id, list, true, err)
				})
			}
			return f.acted(false, func(k *desk.Keeper, a desk.Actor) error {
				carry, err := f.carrier(c.Context(), k)
				if err != nil {
					return err
				}
				domain := k.Clinic.Mail.From[strings.LastIndex(k.Clinic.Mail.From, "@")+1:]
				name := func() string { return post.NewID([]byte(rand.Text()), domain) }
				told, err := k.Invite(a, id, desk.InviteOptions{Name: name, Carry: carry, Now: f.now, Again: f.again, Arrived: f.arrived})
				return printInvited(c.OutOrStdout(), id, told, false, err)
			})
		},
	}
	f.acting(c)
	c.Flags().StringVar(&f.out, "out", "", "write the mails as .eml files into this folder instead of sending them")
	c.Flags().BoolVar(&f.dry, "dry-run", false, "say what would be sent, and send nothing")
	c.Flags().BoolVar(&f.again, "again", false, "send once more what was cut off and may have arrived")
	c.Flags().BoolVar(&f.arrived, "arrived", false, "count as sent what was cut off, for the patient has it")
	return c
}

// carrier takes messages to the clinic's mail server, or into a folder.
func (f *inviteFlags) carrier(ctx context.Context, k *desk.Keeper) (func(ledger.Invitation, post.Message) (ledger.Sending, string, error), error) {
	if f.out != "" {
		return func(i ledger.Invitation, m post.Message) (ledger.Sending, string, error) {
			return writeMail(f.out, i, m)
		}, nil
	}
	mail := k.Clinic.Mail
	password, err := secret(mail.User, envMailPassword, f.clinic, mail.PasswordFile)
	if err != nil {
		return nil, err
	}
	server := post.Server{Host: mail.Host, Port: mail.Port, Security: post.Security(mail.Security), User: mail.User, Password: password}
	return func(_ ledger.Invitation, m post.Message) (ledger.Sending, string, error) {
		return outcome(server.Send(ctx, m), mail.Host)
	}, nil
}

// outcome reads what became of a mail.
func outcome(err error, host string) (ledger.Sending, string, error) {
	var not *post.NotSent
	var unsure *post.Unsure
	switch {
	case err == nil:
		return ledger.Sent, host + " took it", nil
	case errors.As(err, &not):
		return ledger.Failed, not.Says, nil
	case errors.As(err, &unsure):
		return ledger.UnderWay, unsure.Says, nil
	}
	return ledger.Failed, "it could not be made", err
}

// writeMail writes a mail into a folder, under a name that tells nothing.
func writeMail(folder string, i ledger.Invitation, m post.Message) (ledger.Sending, string, error) {
	data, err := m.Bytes()
	if err != nil {
		return ledger.Failed, "it could not be made", err
	}
	path := filepath.Join(folder, fmt.Sprintf("mail-%d.eml", i.ID))
	if err := os.MkdirAll(folder, folderMode); err != nil {
		return ledger.Failed, "it could not be written", notMade(folder, err)
	}
	if err := placeNew(path, data); err != nil {
		return ledger.Failed, "it could not be written", err
	}
	return ledger.Written, path, nil
}

// placeNew puts a new file in its place whole, or not at all; what is there already
// stays.
func placeNew(path string, data []byte) error {
	err := staged(path, data, func(next string) error {
		err := os.Link(next, path)
		if _, absent := os.Lstat(path); err != nil && errors.Is(absent, fs.ErrNotExist) {
			err = os.Rename(next, path) // a disk without links
		}
		return err
	})
	if errors.Is(err, fs.ErrExist) {
		return &graft.Refusal{Kind: graft.Conflict, Message: path + " is there already, so it is left alone", Hint: "name another folder with --out"}
	}
	return err
}

// printInvited lists what was told, and what was not and why.
func printInvited(w io.Writer, id graft.CaseID, list []desk.Invited, dry bool, failed error) error {
	if len(list) == 0 && failed == nil {
		fmt.Fprintf(w, "%s: the patient has been told of every booked visit\n", id)
		return nil
	}
	rows := [][]string{{"STEP", "MAIL", "WAS", "NOW", "STATE"}}
	waits := false
	for _, i := range list {
		state := string(i.State) + " to " + i.To
		switch {
		case i.Waits != "":
			state, waits = i.Waits, true
		case dry:
			state = "would go to " + i.To
		case i.State == ledger.Written:
			state = "written as " + i.Says + ": send it to " + i.To
		}
		rows = append(rows, []string{i.Title, mailWord(i), slotTime(i.Was), slotTime(i.Slot), state})
	}
	if len(list) > 0 {
		printTable(w, rows)
	}
	if failed == nil && (waits || dry) {
		return errStopped
	}
	return failed
}

func mailWord(i desk.Invited) string {
	switch {
	case i.Method == ledger.Cancellation:
		return "off"
	case i.Was.Day.IsZero():
		return "new"
	}
	return "moved"
}

func slotTime(s graft.Slot) string {
	if s.Day.IsZero() {
		return "-"
	}
	return withWeekday(s.Day) + " " + s.Start.String()
}
