package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"graftclock/internal/clinic"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
)

// busyName titles a file of busy times, by which it is known again.
const busyName = "Busy times"

// calendar returns the times as a calendar file. One without an event would be none,
// so where nothing is taken it says so in an event that takes no time.
func (b busyTimes) calendar(at time.Time) ([]byte, error) {
	c := ics.Calendar{Name: busyName, Zone: b.zone, Stamp: at}
	for _, s := range b.taken {
		e := ics.Event{UID: ics.UID(nil, "busy", s.Day.String(), s.Start.String()), Day: s.Day, Summary: "Busy"}
		if s.Minutes < wholeDayMinutes {
			minutes, err := clinic.Elapsed(s, b.zone)
			if err != nil {
				return nil, err
			}
			e.Start, e.Minutes = s.Start, minutes
		}
		c.Events = append(c.Events, e)
	}
	if len(c.Events) == 0 {
		c.Events = []ics.Event{{UID: ics.UID(nil, "busy", "never"), Day: b.span.From, LastDay: b.span.To, Summary: "Nothing taken", Transparent: true}}
	}
	return ics.Encode(c)
}

// save writes the times to a file, whole or not at all, over nothing but an earlier
// file of busy times.
func (b busyTimes) save(path string, at time.Time) error {
	data, err := b.calendar(at)
	if err != nil {
		return err
	}
	old, err := os.ReadFile(path)
	ours := bytes.Contains(old, []byte("PRODID:-//graftclock//")) && bytes.Contains(old, []byte("NAME:"+busyName))
	switch {
	case err == nil && !ours:
		return &graft.Refusal{Kind: graft.Conflict, Message: path + " is no file of busy times that graftclock wrote, so it is left alone", Hint: "name another file with --out"}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("look at what is there: %w", err)
	}
	return replaceWhole(path, data, fileMode)
}
