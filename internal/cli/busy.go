package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
)

// wholeDayMinutes is the length of a slot that takes a whole day.
const wholeDayMinutes = 24 * 60

func newBusy(now func() time.Time, download func(address string) ([]byte, error)) *cobra.Command {
	f := keeperFlags{now: now}
	var from, to dayFlag
	var out string
	c := &cobra.Command{
		Use:   "busy FILE.ics|URL",
		Short: "See what a calendar takes of somebody's time, and give it to the diary",
		Long: `Busy reads a calendar, from a file or over https, and prints the time it takes, by the
clinic's clocks: events that repeat are expanded, cancelled and transparent ones left
out. With --out it writes just these times, without a word of what they are, as an .ics
file; name it under busy_files: of a person or a room in the clinic file, and the diary
offers no slot there.

The login for an address is in $` + envBusyUser + ` and $` + envBusyPassword + `; never in a flag.`,
		Example: "  graftclock busy quill.ics --out quill-busy.ics\n  graftclock busy https://calendar.harbour-row.example/quill.ics",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			d, err := f.house()
			if err != nil {
				return err
			}
			data, err := readCalendar(args[0], download)
			if err != nil {
				return err
			}
			span := day.Span{From: from.or(f.day)}
			span.To = to.or(func() day.Day { return span.From.AddMonths(12) })
			taken, notes, err := clinic.BusyTimes(clinic.File{Name: filepath.Base(args[0]), Data: data}, d.Clinic.Zone, span)
			if err != nil {
				return err
			}
			rows := [][]string{{"DAY", "FROM", "TO"}}
			for _, s := range taken {
				rows = append(rows, []string{withWeekday(s.Day), s.Start.String(), day.Clock(int(s.Start) + s.Minutes).String()})
			}
			printTable(c.OutOrStdout(), rows)
			for _, n := range notes {
				fmt.Fprintf(c.OutOrStdout(), "note  %s\n", n)
			}
			if out == "" {
				return nil
			}
			return writeBusy(out, d, taken, f.now())
		},
	}
	f.flags(c)
	c.Flags().Var(&from, "from", "first day (default: today)")
	c.Flags().Var(&to, "to", "last day (default: a year on)")
	c.Flags().StringVar(&out, "out", "", "write the times, without words, as an .ics file")
	return c
}

// readCalendar reads a calendar from an address or a file.
func readCalendar(source string, download func(string) ([]byte, error)) ([]byte, error) {
	if strings.Contains(source, "://") {
		return download(source)
	}
	data, err := os.ReadFile(source)
	if err != nil {
		return nil, fmt.Errorf("read the calendar: %w", err)
	}
	return data, nil
}

// writeBusy writes the times as a calendar file, whole, over nothing but a file that
// graftclock wrote.
func writeBusy(path string, d *desk.Desk, taken []graft.Slot, at time.Time) error {
	if len(taken) == 0 {
		return &graft.Refusal{Kind: graft.NotFound, Message: "the calendar takes no time on these days, and a calendar file without an event is none"}
	}
	cal := ics.Calendar{Zone: d.Clinic.Zone, Stamp: at}
	for _, s := range taken {
		e := ics.Event{UID: ics.UID(nil, "busy", s.Day.String(), s.Start.String()), Day: s.Day, Start: s.Start, Minutes: s.Minutes, Summary: "Busy"}
		if s.Minutes == wholeDayMinutes {
			e.Start, e.Minutes = 0, 0
		}
		cal.Events = append(cal.Events, e)
	}
	data, err := ics.Encode(cal)
	if err != nil {
		return err
	}
	old, err := os.ReadFile(path)
	switch {
	case err == nil && !bytes.Contains(old, []byte("graftclock")):
		return &graft.Refusal{Kind: graft.Conflict, Message: path + " was not written by graftclock, so it is left alone"}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("look at what is there: %w", err)
	}
	return replaceWhole(path, data, fileMode)
}
