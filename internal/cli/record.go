package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/protocol"
	"graftclock/internal/table"
)

func newRecord(now func() time.Time) *cobra.Command {
	c := &cobra.Command{
		Use:   "record",
		Short: "Empty records to fill in, kept ones, and the formats for editors",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newRecordNew(), newRecordSchema(), newRecordShow(now))
	return c
}

func newRecordNew() *cobra.Command {
	return &cobra.Command{
		Use:   "new",
		Short: "Print an empty surgery record with its meaning beside each key",
		Long:  "New prints an empty surgery record: every key once, its meaning and what is allowed beside it, keys that may be left out behind a comment sign.",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := io.WriteString(c.OutOrStdout(), "# An empty surgery record. Lengths are in millimetres, days are YYYY-MM-DD.\n# Take the comment sign off a key to use it; a key without a value is a fault.\n"+casefile.Record().Blank())
			return err
		},
	}
}

func newRecordSchema() *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of records, clinic files and rule values",
		Long: `Schema prints one JSON Schema (draft 2020-12) for editors. It tells the three
formats apart by their first key. Checks between fields are the reader's alone:
graftclock check says them.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			data, err := Schema()
			if err != nil {
				return fmt.Errorf("print the schema: %w", err)
			}
			_, err = c.OutOrStdout().Write(data)
			return err
		},
	}
}

func newRecordShow(now func() time.Time) *cobra.Command {
	f := keeperFlags{now: now}
	number := 0
	c := &cobra.Command{
		Use:   "show CASE",
		Short: "Print a case's record as the ledger keeps it",
		Long:  "Show prints the surgery record of a case that the ledger keeps, findings and corrections included: its current revision, or an earlier one.",
		Args:  cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return f.with(func(k *desk.Keeper) error {
				r, err := k.Record(graft.CaseID(args[0]), number)
				if err != nil {
					return err
				}
				_, err = fmt.Fprintf(c.OutOrStdout(), "# %s, revision %d (%s) of %s by %s\n%s", r.Case, r.Number, r.Source, r.On, r.By, r.Record)
				return err
			})
		},
	}
	f.flags(c)
	c.Flags().IntVar(&number, "revision", 0, "number of the revision (default: the current one)")
	return c
}

// Schema returns the JSON Schema of the three formats.
func Schema() ([]byte, error) {
	formats := []struct {
		key, title string
		shape      table.Shape
	}{
		{"record", "surgery record", casefile.Record()},
		{"clinic", "clinic file", casefile.ClinicFile()},
		{"rules", "a clinic's own rule values", protocol.Own()},
	}
	definitions := map[string]any{}
	var branches []any
	for _, f := range formats {
		schema := f.shape.Schema(f.title)
		delete(schema, "$schema")
		definitions[f.key] = schema
		branches = append(branches, map[string]any{
			"if":   map[string]any{"required": []string{f.key}},
			"then": map[string]any{"$ref": "#/$defs/" + f.key},
		})
	}
	return json.MarshalIndent(map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "graftclock: surgery record, clinic file or rule values",
		"type":    "object",
		"$defs":   definitions,
		"allOf":   branches,
		"anyOf":   []any{requires("record"), requires("clinic"), requires("rules")},
	}, "", "  ")
}

func requires(key string) map[string]any { return map[string]any{"required": []string{key}} }
