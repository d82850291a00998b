package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/password"
)

func newPeople(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	c := &cobra.Command{
		Use:   "people",
		Short: "Say who signs in from a browser, and end that",
		Long: `People lists the people of the clinic file and who of them can sign in from a browser
(graftclock serve). Add sets the password of one, remove ends their sign-in; either
also ends every session of theirs. Whoever sits at this machine may do both: they can
read the ledger anyway.

A role is what the clinic file says. On the command line people act under their own
name (--as) and need no password.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return f.listPeople(c.OutOrStdout())
		},
	}
	f.flags(c)
	c.AddCommand(newPeopleAdd(now), newPeopleRemove(now))
	return c
}

func newPeopleAdd(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var role string
	var piped bool
	c := &cobra.Command{
		Use:   "add NAME",
		Short: "Set the password with which a person of the clinic file signs in",
		Long: fmt.Sprintf(`Add asks for a password twice, without showing it, and sets it. Any %d to %d characters
will do, spaces too, but for the person's own name and what is tried first. A few
words that do not belong together are good.

A person whom the clinic file does not have yet is added to it with their role, in on
every weekday on which the clinic is open; the rest of the file stays as it is.`, password.Least, password.Most),
		Example: "  graftclock people add \"Ida Marlow\"\n  graftclock people add \"Nurse Una Vale\" --role nurse",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return f.accounts(true, func(k *desk.Keeper) error {
				if err := f.inClinicFile(c.OutOrStdout(), k, args[0], role); err != nil {
					return err
				}
				ask := asker{in: c.InOrStdin(), out: c.ErrOrStderr(), piped: piped}
				return setPassword(c.OutOrStdout(), k, f.atTerminal(), args[0], &ask)
			})
		},
	}
	f.flags(c)
	c.Flags().StringVar(&role, "role", "", "surgeon, nurse, hygienist or desk: adds whom the clinic file lacks, and is refused if the file has another")
	c.Flags().BoolVar(&piped, "password-stdin", false, "read the password from the first line of standard input")
	return c
}

func newPeopleRemove(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	c := &cobra.Command{
		Use:     "remove NAME",
		Short:   "End a person's sign-in",
		Long:    "Remove ends a person's sign-in and every session of theirs. What they did stays in the history.",
		Example: "  graftclock people remove \"Ida Marlow\"",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return f.accounts(false, func(k *desk.Keeper) error {
				if err := k.EndAccount(f.atTerminal(), args[0]); err != nil {
					return err
				}
				_, err := fmt.Fprintf(c.OutOrStdout(), "%s cannot sign in any more\n", args[0])
				return err
			})
		},
	}
	f.flags(c)
	return c
}

// atTerminal is whoever sits at this machine.
func (f *keeperFlags) atTerminal() desk.Actor { return desk.Terminal(f.now(), f.day()) }

// accounts opens the ledger for a command about sign-ins; make makes one where there is
// none.
func (f *keeperFlags) accounts(make bool, do func(*desk.Keeper) error) error {
	d, err := f.house()
	if err != nil {
		return err
	}
	return f.open(d, make, do)
}

// inClinicFile adds a name that the clinic file does not have, where a role is given,
// and refuses a role that is not the one it has.
func (f *keeperFlags) inClinicFile(w io.Writer, k *desk.Keeper, name, role string) error {
	n := slices.IndexFunc(k.Clinic.People, func(p clinic.Person) bool { return p.Name == name })
	switch {
	case n < 0 && role != "":
		return f.addToClinicFile(w, k, name, role)
	case n < 0:
		return &graft.Refusal{
			Kind:    graft.NotFound,
			Message: fmt.Sprintf("the clinic file has no person %q", name),
			Hint:    "say who they are with --role, and they are added to " + f.clinic,
		}
	case role != "" && k.Clinic.People[n].Role != role:
		return &graft.Refusal{Kind: graft.Conflict, Message: fmt.Sprintf("the clinic file has %s as %s, not as %s", name, k.Clinic.People[n].Role, role), Hint: "change the role there, or leave --role out"}
	}
	return nil
}

// setPassword asks for a password and sets it.
func setPassword(w io.Writer, k *desk.Keeper, a desk.Actor, name string, ask *asker) error {
	secret, err := ask.password(name)
	if err != nil {
		return err
	}
	if err := k.SetPassword(a, name, secret); err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s can sign in\n", name)
	return err
}

// firstPerson asks for the first sign-in of a clinic that has none yet.
func firstPerson(k *desk.Keeper, at time.Time, stdin io.Reader, stdout io.Writer) error {
	accounts, err := k.Accounts()
	if err != nil || slices.ContainsFunc(accounts, func(a ledger.Account) bool { return a.Ended.IsZero() }) {
		return err
	}
	ask := asker{in: stdin, out: stdout}
	if !ask.atTerminal() {
		return &graft.Refusal{Kind: graft.NotFound, Message: "nobody can sign in yet", Hint: "graftclock people add NAME sets the first password"}
	}
	fmt.Fprintln(stdout, "Nobody can sign in yet. Whose sign-in is the first?")
	for _, p := range k.Clinic.People {
		fmt.Fprintf(stdout, "  %s (%s)\n", p.Name, p.Role)
	}
	name, err := ask.line("Name: ")
	if err != nil {
		return err
	}
	name = strings.TrimSpace(name)
	if _, err := k.Person(name); err != nil {
		return err
	}
	return setPassword(stdout, k, desk.Terminal(at, day.Of(at)), name, &ask)
}

// listPeople prints who can sign in. Without a ledger nobody can.
func (f *keeperFlags) listPeople(w io.Writer) error {
	d, err := f.house()
	if err != nil {
		return err
	}
	if _, err := os.Stat(ledgerPath(f.clinic)); errors.Is(err, fs.ErrNotExist) {
		return printPeople(w, d, nil)
	}
	return f.open(d, false, func(k *desk.Keeper) error {
		accounts, err := k.Accounts()
		if err != nil {
			return err
		}
		return printPeople(w, d, accounts)
	})
}

// printPeople prints the people of the clinic file, and those who have left it and have
// a sign-in that stands.
func printPeople(w io.Writer, d *desk.Desk, accounts []ledger.Account) error {
	zone, err := time.LoadLocation(d.Clinic.Zone)
	if err != nil {
		return fmt.Errorf("the clinic's zone: %w", err)
	}
	by := map[string]ledger.Account{}
	for _, a := range accounts {
		by[a.Name] = a
	}
	rows := [][]string{{"NAME", "ROLE", "SIGN-IN"}}
	for _, p := range d.Clinic.People {
		rows = append(rows, []string{p.Name, p.Role, signInText(by[p.Name], zone)})
		delete(by, p.Name)
	}
	for _, a := range accounts {
		if _, left := by[a.Name]; left && a.Ended.IsZero() {
			rows = append(rows, []string{a.Name, "-", "no: no longer in the clinic file"})
		}
	}
	printTable(w, rows)
	return nil
}

// signInText says whether a person can sign in.
func signInText(a ledger.Account, zone *time.Location) string {
	const when = "2006-01-02 15:04"
	switch {
	case a.Name == "":
		return "no"
	case !a.Ended.IsZero():
		return "no: ended " + a.Ended.In(zone).Format(when)
	}
	return fmt.Sprintf("yes, password set %s (%s)", a.At.In(zone).Format(when), a.By)
}
