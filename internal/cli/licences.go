package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"graftclock/internal/paper"
)

// newLicences prints what has to go with every copy of the fonts.
func newLicences() *cobra.Command {
	return &cobra.Command{
		Use:   "licences",
		Short: "Print the licences of the fonts inside the program and its PDFs",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := fmt.Fprint(c.OutOrStdout(), paper.Notice)
			return err
		},
	}
}
