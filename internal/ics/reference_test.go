package ics

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/reference/icalread"
)

const secondsPerDay = 24 * 60 * 60

// transitionZones change their clocks in every way known to have broken a
// reader: the sign of summer reversed, half an hour, twice round Ramadan, a
// Friday, a Sunday on or after a date, quarters of an hour.
var transitionZones = []string{
	"Europe/Dublin", "Europe/Berlin", "Europe/London", "America/New_York", "Australia/Lord_Howe",
	"Africa/Casablanca", "Asia/Jerusalem", "America/Santiago", "Pacific/Chatham",
}

// write stores a calendar for the readers and returns its path.
func write(t testing.TB, folder string, number int, data []byte) string {
	t.Helper()
	path := filepath.Join(folder, fmt.Sprintf("%04d.ics", number))
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func encode(t testing.TB, cal Calendar) []byte {
	t.Helper()
	data, err := Encode(cal)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// words that readers have stumbled over; no backslash, see icalread.Python.
var stumbling = []string{
	"Visit", "Sinus floor", "Müller", "診療予約", "🦷", "👩🏽\u200d⚕️", "موعد", "a,b", "c;d", "e:f", `"g"`, "h\ni", "j\tk",
	"^n", "^'", "100 %", "O'Neil", "BEGIN:VEVENT", "END:VALARM", "\n\n", "n", "N", "x=y", "<b>", "é", "\u00a0", strings.Repeat("long ", 30),
}

func randomText(r *rand.Rand, atMost int) string {
	var picked []string
	for range r.IntN(atMost + 1) {
		picked = append(picked, stumbling[r.IntN(len(stumbling))])
	}
	return strings.Join(picked, []string{" ", ""}[r.IntN(2)])
}

// randomVisit makes an event and what a reader should see of it.
func randomVisit(r *rand.Rand, loc *time.Location, uid string) (Event, icalread.Event) {
	e := Event{
		UID: uid, Day: day.New(2024, 1, 1+r.IntN(3000)), Summary: "T " + randomText(r, 4), Description: randomText(r, 9),
		Location: randomText(r, 3), Sequence: r.IntN(5), Transparent: r.IntN(2) == 0,
		Status: []Status{"", Tentative, Confirmed, Cancelled}[r.IntN(4)],
	}
	want := icalread.Event{
		UID: uid, Summary: strings.TrimSpace(e.Summary), Description: strings.TrimSpace(e.Description),
		Location: strings.TrimSpace(e.Location), Sequence: e.Sequence, Transparent: e.Transparent, Status: strings.ToUpper(string(e.Status)),
	}
	for range r.IntN(3) {
		before := 1 + r.IntN(30)
		e.Alarms = append(e.Alarms, day.Period{Days: -before})
		if e.Status != Cancelled {
			want.Alarms = append(want.Alarms, -before*secondsPerDay)
		}
	}
	if r.IntN(3) == 0 {
		e.LastDay = e.Day.AddDays(r.IntN(40))
		want.Start, want.End = e.Day.String(), e.LastDay.AddDays(1).String()
		return e, want
	}
	// Hours of a clinic: no zone of the test changes its clocks between them.
	e.Start, e.Minutes = day.Clock(6*60+r.IntN(14*60)), 5+r.IntN(180)
	year, month, date := e.Day.Date()
	start := time.Date(year, month, date, 0, int(e.Start), 0, 0, loc)
	want.Start = start.UTC().Format(time.RFC3339)
	want.End = start.Add(time.Duration(e.Minutes) * time.Minute).UTC().Format(time.RFC3339)
	return e, want
}

func TestReadersSeeRandomCalendars(t *testing.T) {
	const files = 320
	r := rand.New(rand.NewPCG(7, 27))
	folder, want, events := t.TempDir(), map[string][]icalread.Event{}, 0
	for i := range files {
		zone := transitionZones[i%len(transitionZones)]
		cal := Calendar{Name: randomText(r, 2), Zone: zone, Stamp: stamp}
		var seen []icalread.Event
		for n := range 1 + r.IntN(8) {
			e, w := randomVisit(r, mustZone(t, zone), UID(nil, fmt.Sprint(i), fmt.Sprint(n)))
			cal.Events, seen = append(cal.Events, e), append(seen, w)
		}
		data := encode(t, cal)
		if complaints := Lint(data); complaints != nil {
			t.Errorf("file %d: %v", i, complaints)
		}
		want[write(t, folder, i, data)] = seen
		events += len(seen)
	}
	t.Logf("%d files, %d events", files, events)
	icalread.Check(t, want)
}

// roundChanges makes one event of 30 minutes every half hour in the four hours
// to each side of every change of clocks of 2025 to 2028, on the clocks of the
// zone. The first of two equal wall-clock times is kept.
func roundChanges(loc *time.Location) (Calendar, []icalread.Event) {
	const slot = 30 * time.Minute
	cal := Calendar{Zone: loc.String(), Stamp: stamp}
	var want []icalread.Event
	seen := map[string]bool{}
	for hour := yearStart(2025); hour.Before(yearStart(2029)); hour = hour.Add(time.Hour) {
		if offsetAt(hour, loc) == offsetAt(hour.Add(time.Hour), loc) {
			continue
		}
		for at := hour.Add(-4 * time.Hour); at.Before(hour.Add(5 * time.Hour)); at = at.Add(slot) {
			clock := at.In(loc)
			uid := clock.Format(localForm)
			if seen[uid] {
				continue
			}
			seen[uid] = true
			cal.Events = append(cal.Events, Event{
				UID: uid, Day: day.Of(clock), Start: day.Clock(clock.Hour()*60 + clock.Minute()), Minutes: 30, Summary: "Visit",
			})
			want = append(want, icalread.Event{
				UID: uid, Summary: "Visit", Start: at.UTC().Format(time.RFC3339), End: at.Add(slot).UTC().Format(time.RFC3339),
			})
		}
	}
	return cal, want
}

// Each zone is read under its own name, and under one that no reader knows, so
// that only the VTIMEZONE of the file can tell what it means.
func TestReadersAgreeRoundEveryChangeOfClocks(t *testing.T) {
	folder, want, events := t.TempDir(), map[string][]icalread.Event{}, 0
	for i, zone := range transitionZones {
		cal, seen := roundChanges(mustZone(t, zone))
		if len(seen) < 8*14 {
			t.Errorf("%s: only %d events round its changes", zone, len(seen))
		}
		data := encode(t, cal)
		want[write(t, folder, 2*i, data)] = seen
		// One name each: python-icalendar keeps the zones of earlier files.
		name := fmt.Sprintf("Harbour/Row%d", i)
		unknown := bytes.ReplaceAll(data, []byte("TZID:"+zone), []byte("TZID:"+name))
		unknown = bytes.ReplaceAll(unknown, []byte("TZID="+zone), []byte("TZID="+name))
		want[write(t, folder, 2*i+1, unknown)] = seen
		events += len(seen)
	}
	t.Logf("%d zones, %d instants", len(transitionZones), events)
	icalread.Check(t, want)
}
