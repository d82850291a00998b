package cli

import (
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/sheet"
)

// listing is a command that prints one of the desk's lists.
type listing struct {
	keeperFlags
	asJSON, asCSV, asHTML bool

	next string // what to do about the rows, said below the table; empty: they say it
}

func (l *listing) command(use, short, long string, list func(*desk.Keeper, day.Day) (sheet.Sheet, error)) *cobra.Command {
	c := &cobra.Command{
		Use: use, Short: short, Long: long + `

As a table, or with --json, --csv (safe to open in a spreadsheet) or --html (a page
to print).`, Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if l.asJSON && l.asCSV || l.asJSON && l.asHTML || l.asCSV && l.asHTML {
				return usagef("--json, --csv and --html contradict each other")
			}
			return l.with(func(k *desk.Keeper) error {
				s, err := list(k, l.day())
				if err != nil {
					return err
				}
				return l.print(c.OutOrStdout(), s)
			})
		},
	}
	l.flags(c)
	c.Flags().BoolVar(&l.asJSON, "json", false, "print as JSON")
	c.Flags().BoolVar(&l.asCSV, "csv", false, "print as CSV")
	c.Flags().BoolVar(&l.asHTML, "html", false, "print as an HTML page")
	return c
}

func (l *listing) print(w io.Writer, s sheet.Sheet) error {
	switch {
	case l.asJSON:
		return s.WriteJSON(w)
	case l.asCSV:
		return s.WriteCSV(w)
	case l.asHTML:
		return s.WriteHTML(w)
	}
	err := s.WriteText(w)
	some := slices.ContainsFunc(s.Sections, func(part sheet.Section) bool { return len(part.Rows) > 0 })
	if err == nil && l.next != "" && some {
		_, err = fmt.Fprintf(w, "\n%s\n", l.next)
	}
	return err
}

func newToday(now func() time.Time) *cobra.Command {
	l := &listing{keeperFlags: keeperFlags{now: now}}
	return l.command("today", "Print the day: visits, calls, what waits for a surgeon",
		`Today lists the visits of the day in order, whom to call (after surgery, overdue by
harm, unconfirmed) and the plans that wait for a surgeon's approval.`, (*desk.Keeper).Today)
}

func newDue(now func() time.Time) *cobra.Command {
	const usual = 2
	l := &listing{keeperFlags: keeperFlags{now: now}}
	weeks := usual
	c := l.command("due", "Print what is to be booked soon", "Due lists the steps whose proposed day is near and that have no time yet.",
		func(k *desk.Keeper, on day.Day) (sheet.Sheet, error) {
			if weeks < 0 || weeks > mostWeeks {
				return sheet.Sheet{}, usagef("--weeks %d: want 0 to %d", weeks, mostWeeks)
			}
			return k.Due(on, weeks)
		})
	c.Flags().IntVar(&weeks, "weeks", usual, "how far to look ahead")
	return c
}

// mostWeeks bounds how far the desk looks ahead.
const mostWeeks = 520

func newOverdue(now func() time.Time) *cobra.Command {
	l := &listing{keeperFlags: keeperFlags{now: now}}
	return l.command("overdue", "Print what is overdue, the gravest first",
		`Overdue lists the steps whose window has passed or whose visit was missed, ranked by
harm: an early check missed, stitches past their time, a loading that waits, a
review, a recall.`, (*desk.Keeper).Overdue)
}

func newUnconfirmed(now func() time.Time) *cobra.Command {
	l := &listing{keeperFlags: keeperFlags{now: now}}
	return l.command("unconfirmed", "Print the coming visits that nobody has confirmed",
		`Unconfirmed lists the visits of the coming days (rule unconfirmed-within) that the
patient has not confirmed. Those booked long ahead and patients who missed a visit
before are marked: they deserve two contacts.`, (*desk.Keeper).Unconfirmed)
}

func newClosures(now func() time.Time) *cobra.Command {
	l := &listing{keeperFlags: keeperFlags{now: now}, next: "graftclock settle CASE does what is proposed for a case; graftclock move does something else."}
	return l.command("closures", "Print the booked visits that the clinic can no longer hold",
		`Closures compares every booked visit with the clinic file as it is now: closed days,
shorter hours, people away, rooms out of use. Each visit that is hit comes with a
proposal; graftclock settle CASE does it, graftclock move does something else.`, (*desk.Keeper).HitSheet)
}
