package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/sqlite"
)

func newAdmit(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	var why string
	c := &cobra.Command{
		Use:   "admit RECORD|CSV|FOLDER",
		Short: "Take surgery records into the ledger",
		Long: `Admit takes surgery records into the ledger: a record, every record of a folder, or a
CSV file whose header names the keys of the record format (case, patient.name,
surgery.day, sinuses[0].side, sinuses[0].implants[0].tooth, ...), one record a line.
A bad record or row is reported with all its faults and nothing of it is kept; it
never stops the rest. The same record again changes nothing. In a case that is kept,
what is the patient's own (patient.*) may be changed by anybody of the clinic, all else
by a surgeon.

The ledger is made on first use, beside the clinic file.`,
		Example: "  graftclock admit testdata/demo --as \"Ida Marlow\"",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			found, err := toAdmit(args[0])
			if err != nil {
				return err
			}
			return f.acted(true, func(k *desk.Keeper, a desk.Actor) error {
				return admit(c.OutOrStdout(), k, a, found, why)
			})
		},
	}
	f.acting(c)
	c.Flags().StringVar(&why, "why", "", "reason; needed to replace what the ledger has recorded since")
	return c
}

// toAdmit reads a record, a CSV file or the records of a folder.
func toAdmit(path string) ([]casefile.Arrival, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("read the records: %w", err)
	}
	if !info.IsDir() {
		return arrivalsIn(path)
	}
	paths, err := yamlIn(path)
	if err != nil {
		return nil, err
	}
	var all []casefile.Arrival
	for _, p := range paths {
		found, err := arrivalsIn(p)
		var refusal *graft.Refusal
		if errors.As(err, &refusal) {
			continue // the clinic's own file or its rule values
		}
		if err != nil {
			return nil, err
		}
		all = append(all, found...)
	}
	if len(all) == 0 {
		return nil, noRecord(path)
	}
	return all, nil
}

func arrivalsIn(path string) ([]casefile.Arrival, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the record: %w", err)
	}
	all, _, err := casefile.Arrivals(path, data, strings.EqualFold(filepath.Ext(path), ".csv"))
	return all, err
}

// admit takes the records in, one after the other, and says what became of each.
func admit(w io.Writer, k *desk.Keeper, a desk.Actor, arrivals []casefile.Arrival, why string) error {
	counts := map[string]int{}
	bad := 0
	for _, r := range arrivals {
		err := error(nil)
		did := desk.Admitted{}
		if len(r.Faults) > 0 {
			err = r.Faults
		} else if did = k.Admit(a, r.Record, r.Case, why); did.Err != nil {
			err = did.Err
		}
		if err != nil {
			bad++
			fmt.Fprintf(w, "%s: not taken in\n%s\n", r.Place, indented(refusalText(err)))
			continue
		}
		counts[did.Did]++
		fmt.Fprintf(w, "%s: %s, %s: %s, revision %d\n", r.Place, did.Case, r.Case.Patient.Name, did.Did, did.Revision)
	}
	fmt.Fprintf(w, "%d admitted, %d revised, %d unchanged, %d not taken in\n", counts["admitted"], counts["revised"], counts["unchanged"], bad)
	if bad > 0 {
		return errStopped
	}
	return nil
}

// refusalText is an error with its hint.
func refusalText(err error) string {
	var refusal *graft.Refusal
	if errors.As(err, &refusal) && refusal.Hint != "" {
		return refusal.Message + "\n" + refusal.Hint
	}
	return err.Error()
}

func indented(text string) string {
	return "  " + strings.ReplaceAll(strings.TrimSpace(text), "\n", "\n  ")
}

func newBackup(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	c := &cobra.Command{
		Use:   "backup FILE",
		Short: "Write a copy of the ledger, also while it is in use",
		Args:  cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := ledgerPath(f.clinicPath())
			if _, err := os.Stat(path); err != nil {
				return &graft.Refusal{Kind: graft.NotFound, Message: "no ledger beside " + f.clinicPath()}
			}
			store, err := sqlite.Open(path)
			if err != nil {
				return fmt.Errorf("open the ledger: %w", err)
			}
			err = errors.Join(store.Backup(args[0]), store.Close())
			if err == nil {
				_, err = fmt.Fprintf(c.OutOrStdout(), "%s: a copy of %s\n", args[0], path)
			}
			return err
		},
	}
	c.Flags().StringVar(&f.clinic, "clinic", "", "clinic file, with the ledger beside it (default: $"+envClinic+", or "+clinicName+")")
	return c
}

func newRestore() *cobra.Command {
	var f keeperFlags
	c := &cobra.Command{
		Use:   "restore FILE",
		Short: "Put a copy of the ledger back in its place",
		Long: `Restore puts a copy of the ledger in the place of the present one, which is kept
beside it. A file that is no ledger, is damaged, or was written by a newer graftclock
is refused.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := ledgerPath(f.clinicPath())
			kept, err := sqlite.Restore(args[0], path)
			if err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: put back from %s\n", path, args[0])
			if kept != "" {
				fmt.Fprintf(c.OutOrStdout(), "%s: the ledger that was there before\n", kept)
			}
			return nil
		},
	}
	c.Flags().StringVar(&f.clinic, "clinic", "", "clinic file, with the ledger beside it (default: $"+envClinic+", or "+clinicName+")")
	return c
}
