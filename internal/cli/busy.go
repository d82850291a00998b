package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// wholeDayMinutes is the length of a slot that takes a whole day.
const wholeDayMinutes = 24 * 60

// busyFlags are the flags of graftclock busy.
type busyFlags struct {
	keeperFlags
	from, to dayFlag
	out      string
	asJSON   bool
}

func newBusy(now func() time.Time, download func(address string) ([]byte, error)) *cobra.Command {
	f := busyFlags{keeperFlags: keeperFlags{now: now}}
	c := &cobra.Command{
		Use:   "busy FILE.ics|URL",
		Short: "See what a calendar takes of somebody's time, and give it to the diary",
		Long: `Busy reads a calendar, from a file or over https, and prints the time it takes, by the
clinic's clocks: events that repeat are expanded, cancelled and transparent ones left
out, and so is what a list of busy times (VFREEBUSY) calls free.

With --out it writes just these times, each titled "Busy", as an .ics file beside the
clinic file; name it under busy_files: of a person or a room there, and the diary
offers no slot at these times. It knows the calendar as it was and the days up to --to:
run it again from time to time.

The login for an address is in $` + envBusyUser + ` and $` + envBusyPassword + `; never in a flag.

Exit codes: 0 done, 1 fault or refusal, 2 usage, 3 a calendar or clinic file with faults.`,
		Example: "  graftclock busy quill.ics --out quill-busy.ics\n  graftclock busy https://calendar.harbour-row.example/quill.ics",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			b, err := f.read(args[0], download)
			if err != nil {
				return err
			}
			if f.out != "" {
				if err := b.save(f.out, now()); err != nil {
					return err
				}
			}
			if f.asJSON {
				return b.writeJSON(c.OutOrStdout())
			}
			b.print(c.OutOrStdout())
			if f.out != "" {
				fmt.Fprintf(c.OutOrStdout(), "\n%s holds these times up to %s. Name it under busy_files: of a person or a room in the clinic file.\n", f.out, b.span.To)
			}
			return nil
		},
	}
	c.Flags().StringVar(&f.clinic, "clinic", "", "clinic file, for its zone (default: $"+envClinic+", or "+clinicName+")")
	c.Flags().Var(&f.from, "from", "first day (default: today)")
	c.Flags().Var(&f.to, "to", "last day (default: a year on)")
	c.Flags().StringVar(&f.out, "out", "", "write the times, without a word of what they are, as an .ics file")
	c.Flags().BoolVar(&f.asJSON, "json", false, "print as JSON")
	return c
}

// busyTimes is what one calendar takes of the days of a span.
type busyTimes struct {
	source, zone string
	span         day.Span
	taken        []graft.Slot
	notes        []string
}

// read reads a calendar by the clocks of the clinic.
func (f *busyFlags) read(source string, download func(string) ([]byte, error)) (busyTimes, error) {
	if f.out != "" && filepath.Ext(f.out) != ".ics" {
		return busyTimes{}, usagef("--out %s: want a name that ends in .ics", f.out)
	}
	b := busyTimes{source: sourceName(source)}
	b.span.From = f.from.or(f.day)
	b.span.To = f.to.or(func() day.Day { return b.span.From.AddMonths(12).AddDays(-1) })
	if n := b.span.Days(); n < 1 || n > mostDays {
		return busyTimes{}, usagef("days from %s to %s: want a span of 1 to %d days", b.span.From, b.span.To, mostDays)
	}
	var err error
	if b.zone, err = clinicZone(f.clinicPath()); err != nil {
		return busyTimes{}, err
	}
	data, err := readCalendar(source, download)
	if err != nil {
		return busyTimes{}, err
	}
	b.taken, b.notes, err = clinic.BusyTimes(clinic.File{Name: b.source, Data: data}, b.zone, b.span)
	var problems clinic.Problems
	if errors.As(err, &problems) {
		return busyTimes{}, b.faults(problems)
	}
	return b, err
}

// clinicZone reads the zone out of a clinic file. The busy files that it names may
// still have to be written.
func clinicZone(path string) (string, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("read the clinic file: %w", err)
	}
	c, faults := casefile.ReadClinic(path, data, func(string) ([]byte, error) { return nil, nil })
	if len(faults) > 0 {
		return "", faults
	}
	return c.Zone, nil
}

// faults turns what is wrong in the calendar into faults of it.
func (b busyTimes) faults(problems clinic.Problems) table.Faults {
	var faults table.Faults
	for _, p := range problems {
		faults = append(faults, table.Fault{File: b.source, Found: strings.TrimPrefix(p.String(), b.source+": ")})
	}
	return faults
}

// print writes the days with what is taken of each, and what that comes to.
func (b busyTimes) print(w io.Writer) {
	rows := [][]string{{"DAY", "TAKEN"}}
	whole, partly, minutes := 0, 0, 0
	for i, s := range b.taken {
		hours := s.Start.String() + "-" + s.End().String()
		switch another := i > 0 && b.taken[i-1].Day == s.Day; {
		case another:
			rows[len(rows)-1][1] += ", " + hours
			minutes += s.Minutes
		case s.Minutes == wholeDayMinutes:
			rows = append(rows, []string{withWeekday(s.Day), "all day"})
			whole++
		default:
			rows = append(rows, []string{withWeekday(s.Day), hours})
			partly++
			minutes += s.Minutes
		}
	}
	if len(b.taken) > 0 {
		printTable(w, rows)
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "%s takes %s, out of %s.\n", b.source, amount(whole, partly, minutes), counted(b.span.Days(), "day"))
	for _, n := range b.notes {
		fmt.Fprintf(w, "note  %s\n", n)
	}
}

// amount says how much is taken: whole days, and minutes on so many others.
func amount(whole, partly, minutes int) string {
	var parts []string
	day := "day"
	if whole > 0 {
		parts, day = append(parts, counted(whole, "whole day")), "other day"
	}
	if partly > 0 {
		parts = append(parts, duration(minutes)+" on "+counted(partly, day))
	}
	if len(parts) == 0 {
		return "nothing"
	}
	return strings.Join(parts, ", and ")
}

// duration spells minutes as hours and minutes, without what is none.
func duration(minutes int) string {
	const perHour = 60
	hours, rest := minutes/perHour, minutes%perHour
	switch {
	case hours == 0:
		return fmt.Sprintf("%d min", rest)
	case rest == 0:
		return fmt.Sprintf("%d h", hours)
	}
	return fmt.Sprintf("%d h %d min", hours, rest)
}

// writeJSON writes the same for programs: times of day are wall clock, and a whole
// day has none.
func (b busyTimes) writeJSON(w io.Writer) error {
	type stretch struct {
		Day    day.Day `json:"day"`
		AllDay bool    `json:"all_day"`
		From   string  `json:"from,omitempty"`
		To     string  `json:"to,omitempty"`
	}
	taken := []stretch{}
	for _, s := range b.taken {
		one := stretch{Day: s.Day, AllDay: s.Minutes == wholeDayMinutes}
		if !one.AllDay {
			one.From, one.To = s.Start.String(), s.End().String()
		}
		taken = append(taken, one)
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(struct {
		Source string    `json:"source"`
		Zone   string    `json:"zone"`
		From   day.Day   `json:"from"`
		To     day.Day   `json:"to"`
		Taken  []stretch `json:"taken"`
		Notes  []string  `json:"notes,omitempty"`
	}{b.source, b.zone, b.span.From, b.span.To, taken, b.notes})
}
