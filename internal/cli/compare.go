package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

func newCompare() *cobra.Command {
	var s sources
	var set []string
	c := &cobra.Command{
		Use:   "compare RECORD --set KEY=VALUE...",
		Short: "Show what other facts would change, and change nothing",
		Long: `Compare plans the record as it is and with the given facts, and prints the dates
side by side with the difference in days. The record stays as it is.

KEY is a path of the record (sinuses[0].graft.additive, surgery.day) or the short
form for every sinus (graft.additive, window.lid), for every implant (length_mm)
or for one implant (16.length_mm). A VALUE of none takes away what may be left out;
+= and -= add to a list and take from it (patient.flags+=smoker).`,
		Example: "  graftclock compare testdata/demo/fenwick.yaml --set graft.additive=rhPDGF-BB --set window.lid=repositioned",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if len(set) == 0 {
				return usagef("nothing to compare: want at least one --set KEY=VALUE")
			}
			d, was, err := s.planOf(args[0])
			if err != nil {
				return err
			}
			data, err := os.ReadFile(args[0])
			if err != nil {
				return fmt.Errorf("read the record: %w", err)
			}
			changed, faults, err := casefile.With(filepath.Base(args[0])+" with changes", data, set)
			if err != nil {
				return usageError{err}
			}
			if len(faults) > 0 {
				return faults
			}
			is, err := d.Plan(changed, s.on.or(today))
			if err != nil {
				return err
			}
			return compare(c.OutOrStdout(), set, was, is)
		},
	}
	s.flags(c)
	c.Flags().StringArrayVar(&set, "set", nil, "KEY=VALUE, as often as wanted")
	return c
}

// compare prints two plans side by side.
func compare(w io.Writer, set []string, was, is desk.Plan) error {
	fmt.Fprintf(w, "%s, %s. As recorded, and with %s. Nothing was changed.\n\n", was.Timeline.Case, was.Case.Patient.Name, strings.Join(set, ", "))
	rows := [][]string{{"IMPLANT", "AS RECORDED", "WITH CHANGES", "MONTHS"}}
	for _, a := range was.Timeline.Implants {
		for _, b := range is.Timeline.Implants {
			if a.Tooth == b.Tooth {
				rows = append(rows, []string{fmt.Sprint(a.Tooth), fmt.Sprintf("%.2f", a.ToFull), fmt.Sprintf("%.2f", b.ToFull), fmt.Sprintf("%+.2f", b.ToFull-a.ToFull)})
			}
		}
	}
	if len(rows) > 1 {
		printTable(w, rows)
		fmt.Fprintln(w)
	}
	printTable(w, sideBySide(was.Timeline, is.Timeline))
	for _, p := range []struct {
		what string
		plan desk.Plan
	}{{"As recorded", was}, {"With changes", is}} {
		stops, warns, notes := countFindings(p.plan.Timeline.Findings)
		fmt.Fprintf(w, "\n%s: %d stop, %d warn, %d note: %s.", p.what, stops, warns, notes, strings.Join(ruleIDs(p.plan.Timeline.Findings), ", "))
	}
	fmt.Fprintln(w)
	for _, own := range was.Own {
		fmt.Fprintf(w, "rule  %s\n", own)
	}
	_, err := fmt.Fprintf(w, "\n%s\n", desk.Caution)
	return err
}

// sideBySide pairs the milestones of two plans by id.
func sideBySide(was, is graft.Timeline) [][]string {
	rows := [][]string{{"STEP", "AS RECORDED", "WITH CHANGES", "DAYS"}}
	for _, a := range dated(was.Milestones) {
		b, ok := is.Find(a.ID)
		difference := "-"
		if ok && !a.Placed.IsZero() && !b.Placed.IsZero() {
			difference = fmt.Sprintf("%+d", b.Placed.Sub(a.Placed))
		}
		rows = append(rows, []string{a.Title(), withWeekday(a.Placed), withWeekday(b.Placed), difference})
	}
	for _, b := range dated(is.Milestones) {
		if _, ok := was.Find(b.ID); !ok {
			rows = append(rows, []string{b.Title(), "-", withWeekday(b.Placed), "-"})
		}
	}
	return rows
}
