package ics

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/reference/icalread"
)

// roundChanges makes one event of 30 minutes every half hour in the four hours
// to each side of every change of clocks of 2025 to 2028, on the clocks of the
// zone, and one on the first of every month. The first of two equal wall-clock times
// is kept.
func roundChanges(loc *time.Location) (cal Calendar, want []icalread.Event, changes int) {
	const slot, around = 30 * time.Minute, 4 * time.Hour
	cal = Calendar{Zone: loc.String(), Stamp: stamp}
	seen := map[string]bool{}
	add := func(at time.Time) {
		clock := at.In(loc)
		uid := clock.Format(localForm)
		if seen[uid] {
			return
		}
		seen[uid] = true
		cal.Events = append(cal.Events, Event{
			UID: uid, Day: day.Of(clock), Start: day.Clock(clock.Hour()*60 + clock.Minute()), Minutes: 30, Summary: "Visit",
		})
		want = append(want, icalread.Event{
			UID: uid, Summary: "Visit", Start: at.UTC().Format(time.RFC3339), End: at.Add(slot).UTC().Format(time.RFC3339),
		})
	}
	for hour := yearStart(2025); hour.Before(yearStart(2029)); hour = hour.Add(time.Hour) {
		if hour.Day() == 1 && hour.Hour() == 12 {
			add(hour)
		}
		if offsetAt(hour, loc) == offsetAt(hour.Add(time.Hour), loc) {
			continue
		}
		changes++
		for at := hour.Add(-around); at.Before(hour.Add(time.Hour + around)); at = at.Add(slot) {
			add(at)
		}
	}
	return cal, want, changes
}

// floats are the zones that vobject takes for no zone at all under a name it does not
// know, for their winter looks to it like UTC. Under the IANA name it reads them right.
var floats = map[string]bool{"Africa/Casablanca": true}

// Each zone is read under its own name, and under one that no reader knows, so
// that only the VTIMEZONE of the file can tell what it means.
func TestReadersAgreeRoundEveryChangeOfClocks(t *testing.T) {
	folder, want, without := t.TempDir(), map[string][]icalread.Event{}, map[string]bool{}
	zones, events, changes := append(transitionZones, steadyZones...), 0, 0
	for i, zone := range zones {
		cal, seen, n := roundChanges(mustZone(t, zone))
		if i < len(transitionZones) && n < 8 {
			t.Errorf("%s: only %d changes", zone, n)
		}
		data := encode(t, cal)
		want[write(t, folder, 2*i, data)] = seen
		// One name each: python-icalendar keeps the zones of earlier files.
		name := fmt.Sprintf("Harbour/Row%d", i)
		unknown := bytes.ReplaceAll(data, []byte("TZID:"+zone), []byte("TZID:"+name))
		unknown = bytes.ReplaceAll(unknown, []byte("TZID="+zone), []byte("TZID="+name))
		path := write(t, folder, 2*i+1, unknown)
		want[path], without[path] = seen, floats[zone]
		events, changes = events+len(seen), changes+n
	}
	t.Logf("%d zones, %d changes of clocks, %d instants under two names, %d readers", len(zones), changes, events, len(icalread.Readers))
	for _, reader := range icalread.Readers {
		t.Run(string(reader), func(t *testing.T) {
			mine := map[string][]icalread.Event{}
			for path, seen := range want {
				if !(reader == icalread.VObject && without[path]) {
					mine[path] = seen
				}
			}
			icalread.CheckWith(t, reader, mine)
		})
	}
}
