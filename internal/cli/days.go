package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/day"
)

// mostDays bounds what graftclock days prints.
const mostDays = 3660

func newDays() *cobra.Command {
	var path string
	var from, to dayFlag
	c := &cobra.Command{
		Use:   "days",
		Short: "Print the clinic's open and closed days with the reason of each",
		Long:  "Days prints, for every day of a span, the hours the clinic is open or why it is closed.",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			house, err := readClinic(path)
			if err != nil {
				return err
			}
			first := from.or(today)
			last := to.or(func() day.Day { return first.AddMonths(1).AddDays(-1) })
			if last.Before(first) || last.Sub(first) >= mostDays {
				return usagef("days from %s to %s: want a span of 1 to %d days", first, last, mostDays)
			}
			return printDays(c, house, day.Span{From: first, To: last})
		},
	}
	c.Flags().StringVar(&path, "clinic", clinicName, "clinic file")
	c.Flags().Var(&from, "from", "first day (default: today)")
	c.Flags().Var(&to, "to", "last day (default: a month on)")
	return c
}

func printDays(c *cobra.Command, house casefile.Clinic, span day.Span) error {
	calendar, faults := house.Calendar(span)
	if len(faults) > 0 {
		return faults
	}
	rows := [][]string{{"DAY", "HOURS", "WHY"}}
	open := 0
	for d := span.From; !d.After(span.To); d = d.AddDays(1) {
		status, err := calendar.Status(d)
		if err != nil {
			return err
		}
		hours := "closed"
		if status.Open() {
			open++
			hours = ""
			for i, h := range status.Hours {
				if i > 0 {
					hours += ", "
				}
				hours += h.String()
			}
		}
		rows = append(rows, []string{withWeekday(d), hours, status.Why.String()})
	}
	w := c.OutOrStdout()
	printTable(w, rows)
	fmt.Fprintf(w, "\n%d of %s open.\n", open, counted(span.Days(), "day"))
	for _, n := range calendar.Notes() {
		fmt.Fprintf(w, "%s\n", n)
	}
	return nil
}
