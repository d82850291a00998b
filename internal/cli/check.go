package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
	"graftclock/internal/ics"
	"graftclock/internal/protocol"
	"graftclock/internal/sqlite"
	"graftclock/internal/table"
)

func newCheck() *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE...",
		Short: "Say what each file is and list all its faults",
		Long: `Check reads surgery records, CSV files of them, clinic files, files with a clinic's
own rule values, .ics calendars and copies of the ledger, says what each is and lists all its
faults with line, column, path, what was found and what is allowed.

Exit codes: 0 no fault, 1 a file cannot be read, 3 faults.`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			faulty := false
			for _, path := range args {
				what, faults, err := checkFile(path)
				if err != nil {
					return err
				}
				if len(faults) == 0 {
					fmt.Fprintf(c.OutOrStdout(), "%s: %s, no fault\n", path, what)
					continue
				}
				faulty = true
				fmt.Fprintf(c.OutOrStdout(), "%s: %s, %s\n%v\n", path, what, counted(len(faults), "fault"), faults)
			}
			if faulty {
				return errStopped
			}
			return nil
		},
	}
}

// checkFile tells what a file is and its faults.
func checkFile(path string) (what string, faults table.Faults, err error) {
	if strings.EqualFold(filepath.Ext(path), ledgerExt) {
		return checkLedger(path)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return "", nil, fmt.Errorf("check: %w", err)
	}
	switch {
	case strings.EqualFold(filepath.Ext(path), ".ics"):
		return "calendar file", lint(path, data), nil
	case strings.EqualFold(filepath.Ext(path), ".csv"):
		rows := casefile.ReadCSV(path, data)
		for _, r := range rows {
			faults = append(faults, r.Faults...)
		}
		return counted(len(rows), "surgery record") + " in CSV", faults, nil
	}
	switch kindOf(data) {
	case clinicKind:
		return "clinic file", checkClinic(path), nil
	case rulesKind:
		_, faults = protocol.Default().Adopt(path, data)
		return "a clinic's own rule values", faults, nil
	case recordKind:
		_, faults = casefile.ReadCase(path, data)
		return "surgery record", faults, nil
	}
	_, faults = casefile.ReadCase(path, data)
	return "read as a surgery record, though it has no key record, clinic or rules", faults, nil
}

// checkLedger opens a ledger or a copy of one to read only; a plain read would
// take the locks of this process away from it.
func checkLedger(path string) (what string, faults table.Faults, err error) {
	found, err := sqlite.Check(path)
	if err != nil {
		return "", nil, err
	}
	for _, f := range found.Faults {
		faults = append(faults, table.Fault{File: path, Found: f})
	}
	return fmt.Sprintf("ledger of %s with %d entries of history", counted(found.Cases, "case"), found.Entries), faults, nil
}

// The kinds of files, by the key that carries the version of each format.
const (
	recordKind = casefile.RecordKind
	clinicKind = casefile.ClinicKind
	rulesKind  = casefile.RulesKind
)

// kindOf tells the formats apart; "" for a file that is none of them.
func kindOf(data []byte) string { return casefile.KindOf(data) }

// checkClinic also builds the calendar, which finds unknown regions, holidays
// and closure files.
func checkClinic(path string) table.Faults {
	c, err := readClinic(path)
	if faults, ok := err.(table.Faults); ok {
		return faults
	}
	if err != nil {
		return table.Faults{{File: path, Found: err.Error()}}
	}
	now := today()
	_, faults := c.Calendar(day.Span{From: now.AddMonths(-12), To: now.AddMonths(12 * 12)})
	if c.Protocol != "" && len(faults) == 0 {
		own := filepath.Join(filepath.Dir(path), c.Protocol)
		if _, err := os.Stat(own); err != nil {
			faults = append(faults, table.Fault{File: path, Line: c.Lines["protocol"], Column: 1, Path: "protocol", Found: err.Error(), Allowed: "a file beside the clinic file"})
		}
	}
	if c.Letters != "" {
		_, found := ownLetters(path, c)
		faults = append(faults, found...)
	}
	return faults
}

// lint lists the faults of a calendar file.
func lint(path string, data []byte) table.Faults {
	var faults table.Faults
	for _, c := range ics.Lint(data) {
		faults = append(faults, table.Fault{File: path, Line: c.Line, Column: 1, Found: c.Says})
	}
	return faults
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
