package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/sqlite"
)

// Environment variables that stand in for flags.
const (
	envAs     = "GRAFTCLOCK_AS"
	envClinic = "GRAFTCLOCK_CLINIC"
)

// keeperFlags are the flags of every command that works with the ledger.
type keeperFlags struct {
	sources
	as  string
	now func() time.Time
}

func (f *keeperFlags) flags(c *cobra.Command) {
	c.Flags().StringVar(&f.clinic, "clinic", "", "clinic file, with the ledger beside it (default: $"+envClinic+", or "+clinicName+")")
	c.Flags().StringVar(&f.protocol, "protocol", "", "file with the clinic's own rule values (default: the one the clinic file names)")
	c.Flags().Var(&f.on, "on", "the day it is taken to be (default: today)")
}

// acting adds the flag that names who acts.
func (f *keeperFlags) acting(c *cobra.Command) {
	f.flags(c)
	c.Flags().StringVar(&f.as, "as", "", "who acts: a person of the clinic file (default: $"+envAs+")")
}

// day is the day it is taken to be.
func (f *keeperFlags) day() day.Day {
	return f.on.or(func() day.Day { return day.Of(f.now()) })
}

// clinicPath is the clinic file beside which the ledger lies.
func (f *keeperFlags) clinicPath() string {
	return orElse(f.clinic, orElse(os.Getenv(envClinic), clinicName))
}

// ledgerPath is the one file of the ledger, beside the clinic file.
func ledgerPath(clinic string) string {
	return strings.TrimSuffix(clinic, filepath.Ext(clinic)) + ledgerExt
}

// ledgerExt is the ending of a ledger's name.
const ledgerExt = ".ledger"

// with opens the ledger for a command that only looks.
func (f *keeperFlags) with(do func(*desk.Keeper) error) error {
	d, err := f.house()
	if err != nil {
		return err
	}
	return f.open(d, false, do)
}

// acted opens the ledger for an act of a person. The ledger is made on first use
// where make says so; otherwise there must be one.
func (f *keeperFlags) acted(make bool, do func(*desk.Keeper, desk.Actor) error) error {
	d, err := f.house()
	if err != nil {
		return err
	}
	person, err := d.Person(orElse(f.as, os.Getenv(envAs)))
	if err != nil {
		var refusal *graft.Refusal
		if errors.As(err, &refusal) {
			refusal.Hint = "name who acts with --as or $" + envAs + "; " + refusal.Hint
		}
		return err
	}
	return f.open(d, make, func(k *desk.Keeper) error {
		return do(k, desk.Actor{Person: person, At: f.now(), On: f.day()})
	})
}

// house reads the clinic file and its rules.
func (f *keeperFlags) house() (*desk.Desk, error) {
	f.clinic = f.clinicPath()
	return f.desk("")
}

// open opens the ledger beside the clinic file.
func (f *keeperFlags) open(d *desk.Desk, make bool, do func(*desk.Keeper) error) (err error) {
	path := ledgerPath(f.clinic)
	if _, err := os.Stat(path); err != nil && !make {
		return &graft.Refusal{Kind: graft.NotFound, Message: "no ledger beside " + f.clinic, Hint: "graftclock admit RECORD starts one"}
	}
	store, err := sqlite.Open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	return do(desk.NewKeeper(d, desk.Keep(store)))
}

// choiceFlags say which of several milestones of a step is meant.
type choiceFlags struct{ whom, which string }

func (f *choiceFlags) flags(c *cobra.Command) {
	c.Flags().StringVar(&f.whom, "for", "", "which restoration or side, where there are several")
	c.Flags().StringVar(&f.which, "which", "", "which of a row, such as \"3 months\" (default: the next)")
}

// choice reads a step's name.
func (f *choiceFlags) choice(step string) (desk.Choice, error) {
	if err := knownStep(graft.Step(step)); err != nil {
		return desk.Choice{}, err
	}
	return desk.Choice{Step: graft.Step(step), For: f.whom, Which: f.which}, nil
}

// slotOf reads the day and the time of a booking.
func slotOf(dayText, timeText string) (graft.Slot, error) {
	d, err := day.Parse(dayText)
	if err != nil {
		return graft.Slot{}, usageError{err}
	}
	start, err := day.ParseClock(timeText)
	if err != nil {
		return graft.Slot{}, usageError{err}
	}
	return graft.Slot{Day: d, Start: start}, nil
}

// namesCase reports whether an argument is no file and can only be the number of
// a case that the ledger keeps.
func namesCase(arg string) bool {
	if _, err := os.Stat(arg); err == nil || strings.ContainsAny(arg, `/\`) {
		return false
	}
	ext := filepath.Ext(arg)
	return ext != ".yaml" && ext != ".yml"
}

// withCase opens the ledger and shows one of its cases as it stands.
func withCase(s sources, now func() time.Time, id string, look func(*desk.Keeper, desk.Live) error) error {
	f := keeperFlags{sources: s, now: now}
	if _, err := os.Stat(ledgerPath(f.clinicPath())); err != nil {
		return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("there is no file %s, and no ledger beside %s that could keep a case of that number", id, f.clinicPath())}
	}
	return f.with(func(k *desk.Keeper) error {
		live, err := k.Live(graft.CaseID(id), f.day())
		if err != nil {
			return err
		}
		return look(k, live)
	})
}
