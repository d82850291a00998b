package cli

import (
	"errors"

	"graftclock/internal/table"
)

// allFaults joins the faults of several files, so that all are shown at once.
// An error of another kind comes first.
func allFaults(errs ...error) error {
	var all table.Faults
	for _, err := range errs {
		var faults table.Faults
		switch {
		case err == nil:
		case errors.As(err, &faults):
			all = append(all, faults...)
		default:
			return err
		}
	}
	if len(all) == 0 {
		return nil
	}
	return all
}
