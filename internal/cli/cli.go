// Package cli is graftclock on the command line: it reads files and flags, asks
// the desk and prints. It is the one place, beside the web pages to come, that
// asks the clock what day it is.
package cli

import (
	"errors"
	"fmt"
	"io"
	"time"
	_ "time/tzdata" // clinics run machines without zone data

	"github.com/spf13/cobra"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/sqlite"
	"graftclock/internal/table"
)

// Exit codes of the program.
const (
	exitDone  = 0
	exitFault = 1 // fault or refusal
	exitUsage = 2
	exitStop  = 3 // a stop finding, or a file with faults
)

// Main runs the program and returns its exit code.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return MainAt(time.Now, args, stdin, stdout, stderr)
}

// MainAt is Main with a clock of the caller's: a test plays a year in a minute.
func MainAt(now func() time.Time, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot(now)
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	return exitCode(root.Execute(), stderr)
}

func newRoot(now func() time.Time) *cobra.Command {
	root := &cobra.Command{
		Use:   "graftclock",
		Short: "A dated, explained healing timeline from a surgery record",
		Long: `graftclock plans the visits after an augmentation of the maxillary sinus floor:
from the surgery record it derives when bone will hold each implant, the visits
and their dates on days the clinic is open, calendar files and a letter.

It is a planning aid. It computes windows from entered facts and editable rules;
the clinician decides. It does not diagnose, read images or decide that bone has
healed. Local codes and licensed practice come first.`,
		Version:       version(),
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetVersionTemplate("{{.Version}}\n")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.AddGroup(&cobra.Group{ID: fromFiles, Title: "From files:"}, &cobra.Group{ID: caseGroup, Title: "The ledger, one case:"}, &cobra.Group{ID: deskGroup, Title: "The ledger, the desk's day:"})
	grouped(root, fromFiles, newPlan(now), newCheck(), newRecord(now), newExplain(now), newLetter(now), newReport(now), newCompare(), newClock(), newRules(), newDays(), newLicences())
	grouped(root, caseGroup, newAdmit(now), newSlots(now), newBook(now), newMove(now), newHold(now), newCancel(now), newMissed(now), newAttended(now),
		newContact(now), newNote(now), newSet(now), newSettle(now), newApprove(now), newOverride(now), newHistory(now), newCalendar(now), newInvite(now))
	grouped(root, deskGroup, newToday(now), newDue(now), newOverdue(now), newUnconfirmed(now), newClosures(now), newPublish(now), newPull(now), newBusy(now, download), newPeople(now), newServe(now), newBackup(now), newRestore())
	argsAreUsage(root)
	return root
}

// The groups of commands in the help.
const (
	fromFiles = "files"
	caseGroup = "case"
	deskGroup = "desk"
)

func grouped(root *cobra.Command, group string, commands ...*cobra.Command) {
	for _, c := range commands {
		c.GroupID = group
		root.AddCommand(c)
	}
}

// usageError is a call that the program does not understand.
type usageError struct{ error }

func (u usageError) Unwrap() error { return u.error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// errStopped ends a command whose findings, printed already, hold a stop.
var errStopped = errors.New("stop finding")

// exitCode prints an error once and returns its code.
func exitCode(err error, stderr io.Writer) int {
	var faults table.Faults
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errStopped):
		return exitStop
	case errors.As(err, &faults):
		fmt.Fprintln(stderr, faults)
		return exitStop
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "graftclock: error: %v\ngraftclock: hint: graftclock help tells the commands and flags\n", err)
		return exitUsage
	}
	fmt.Fprintf(stderr, "graftclock: error: %v\n", err)
	if hint := hintOf(err); hint != "" {
		fmt.Fprintf(stderr, "graftclock: hint: %s\n", hint)
	}
	return exitFault
}

// hintOf says what would help; empty where there is nothing to say.
func hintOf(err error) string {
	var refusal *graft.Refusal
	var disk *sqlite.DiskError
	switch {
	case errors.As(err, &refusal):
		return refusal.Hint
	case errors.As(err, &disk):
		return "free some room on that disk and try again; the ledger is as it was before"
	}
	return ""
}

// dayFlag is a flag that holds a day; left out, it is the given day.
type dayFlag struct{ day.Day }

func (f *dayFlag) Set(text string) (err error) {
	f.Day, err = day.Parse(text)
	return err
}

func (f *dayFlag) Type() string { return "YYYY-MM-DD" }

func (f *dayFlag) String() string {
	if f.IsZero() {
		return ""
	}
	return f.Day.String()
}

// today is the only question graftclock asks the machine's clock.
func today() day.Day { return day.Of(time.Now()) }

// or returns the day of the flag, or today.
func (f *dayFlag) or(fallback func() day.Day) day.Day {
	if f.IsZero() {
		return fallback()
	}
	return f.Day
}
