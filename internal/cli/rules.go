package cli

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"graftclock/internal/evidence"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
)

func newRules() *cobra.Command {
	var s sources
	var check string
	c := &cobra.Command{
		Use:   "rules [ID]",
		Short: "Print the rules with their values and sources",
		Long: `Rules prints every rule with its value, or one rule with its sources.

A clinic sets values of its own in a file that names who adopted them, when and
why, and that the clinic file points to with the key protocol:

    rules: 1
    adopted_by: Dr Alba Quill
    adopted_on: 2026-12-01
    review_by: 2027-12-01
    changes:
      - id: staged-uncovering
        value: 3mo
        reason: rough surface, stability measured at every uncovering

A change that another person adopted, or on another day, says so with adopted_by and
adopted_on of its own. Each such value is shown wherever it is used.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if check != "" {
				return checkRules(c.OutOrStdout(), check)
			}
			rules, err := s.rules()
			if err != nil {
				return err
			}
			if len(args) == 0 {
				return listRules(c.OutOrStdout(), rules)
			}
			return showRule(c.OutOrStdout(), rules, graft.RuleID(args[0]))
		},
	}
	c.Flags().StringVar(&s.protocol, "protocol", "", "show the values of this clinic file of rule values")
	c.Flags().StringVar(&s.clinic, "clinic", "", "show the values of this clinic")
	c.Flags().StringVar(&check, "check", "", "check a file with a clinic's own rule values")
	return c
}

// rules returns the protocol that the flags name, without a record.
func (s *sources) rules() (*protocol.Rules, error) {
	if s.clinic == "" {
		return readRules(s.protocol)
	}
	d, err := s.desk("")
	if err != nil {
		return nil, err
	}
	return d.Rules, nil
}

func checkRules(w io.Writer, path string) error {
	data, err := os.ReadFile(path)
	if err != nil {
		return fmt.Errorf("check: %w", err)
	}
	rules, faults := protocol.Default().Adopt(path, data)
	if len(faults) > 0 {
		return faults
	}
	for _, own := range rules.Own() {
		fmt.Fprintln(w, own)
	}
	_, err = fmt.Fprintf(w, "%s: no fault\n", path)
	return err
}

// listRules prints a line a rule: id, value, status and whose value it is.
func listRules(w io.Writer, rules *protocol.Rules) error {
	rows := [][]string{{"RULE", "VALUE", "STATUS", "FINDING"}}
	for _, r := range rules.All() {
		value := orDash(r.Text())
		if r.Adopted != nil {
			value += " (the clinic's own)"
		}
		rows = append(rows, []string{string(r.ID), value, string(r.Status), orDash(string(r.Severity))})
	}
	printTable(w, rows)
	_, err := fmt.Fprintf(w, "\nRules %s. graftclock rules ID shows one with its sources.\n", rules.Version())
	return err
}

// showRule prints one rule whole.
func showRule(w io.Writer, rules *protocol.Rules, id graft.RuleID) error {
	r, ok := rules.Lookup(id)
	if !ok {
		return &graft.Refusal{Kind: graft.NotFound, Message: fmt.Sprintf("no rule %q", id), Hint: orElse(table.DidYouMean(string(id), rules.IDs()), "graftclock rules lists them")}
	}
	fmt.Fprintf(w, "%s\n  %s\n", r.ID, r.Says)
	line := func(name, value string) {
		if value != "" {
			fmt.Fprintf(w, "  %-12s %s\n", name, value)
		}
	}
	line("value", r.Text())
	if r.Allowed != nil {
		line("allowed", fmt.Sprintf("%g to %g %s", r.Allowed.Least, r.Allowed.Most, r.Unit))
	} else if r.Value.Kind != protocol.NoValue {
		line("allowed", "see graftclock rules --help; a single value is fixed")
	}
	line("to patients", r.Patient)
	line("finding", string(r.Severity))
	line("strength", r.Strength+", quality "+r.Quality)
	line("status", string(r.Status)+", reviewed "+r.Reviewed.String())
	line("differ", r.Conflict)
	if r.Adopted != nil {
		line("adopted", r.Adopted.String(r.Unit))
	}
	for _, c := range r.Cites {
		source, _ := evidence.Lookup(evidence.ID(c.Source))
		fmt.Fprintf(w, "  source       %s (%s)\n               %s\n               %s\n", c.Source, c.Status, c.Says, source.Reference())
	}
	return nil
}
