package ics

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"graftclock/internal/day"
	"graftclock/internal/reference/icalread"
)

const secondsPerDay = 24 * 60 * 60

// transitionZones change their clocks in every way known to have broken a
// reader: the sign of summer reversed, half an hour, two hours, twice round
// Ramadan, a Friday, a Thursday at midnight, a Sunday on or after a date, an hour
// before midnight, quarters of an hour.
var transitionZones = []string{
	"Europe/Dublin", "Europe/Berlin", "Europe/London", "America/New_York", "Australia/Lord_Howe", "Australia/Sydney",
	"Africa/Casablanca", "Africa/Cairo", "Asia/Gaza", "Asia/Jerusalem", "America/Santiago", "America/Havana", "America/Nuuk",
	"Pacific/Chatham", "Antarctica/Troll",
}

// steadyZones change nothing any more.
var steadyZones = []string{"America/Sao_Paulo", "Asia/Kolkata"}

// write stores a calendar for the readers and returns its path.
func write(t testing.TB, folder string, number int, data []byte) string {
	t.Helper()
	path := filepath.Join(folder, fmt.Sprintf("%04d.ics", number))
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func encode(t rapid.TB, cal Calendar) []byte {
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

// randomMessage makes a message about a visit and what a reader should see of it.
func randomMessage(r *rand.Rand, zone *time.Location, uid string) (Calendar, icalread.Event) {
	e, want := randomVisit(r, zone, uid)
	cal := Calendar{
		Zone: zone.String(), Stamp: stamp, Method: []Method{Request, Cancel}[r.IntN(2)],
		Organizer: Party{randomText(r, 3), "desk@harbourrow.example"}, Attendee: Party{randomText(r, 3), "nora+visits@fenwick.example"},
	}
	switch {
	case cal.Method == Cancel:
		want.Status, want.Alarms = "CANCELLED", nil
	case e.Status == Cancelled:
		e.Status, e.Alarms = Tentative, nil
		want.Status, want.Alarms = "TENTATIVE", nil
	}
	cal.Events = []Event{e}
	want.Method = string(cal.Method)
	want.Organizer = icalread.Party{Name: cal.Organizer.commonName(), Address: "mailto:desk@harbourrow.example"}
	want.Attendees = []icalread.Party{{Name: cal.Attendee.commonName(), Address: "mailto:nora+visits@fenwick.example"}}
	return cal, want
}

// randomCompact makes the file of a square code and what a reader should see of it;
// texts as Read sees them.
func randomCompact(t testing.TB, r *rand.Rand, zone *time.Location, uid string) ([]byte, icalread.Event) {
	e, want := randomVisit(r, zone, uid)
	for !e.timed() {
		e, want = randomVisit(r, zone, uid)
	}
	e.Status, e.Stamp = Confirmed, stamp
	data, err := Compact(e, zone.String(), codeBytes)
	if err != nil || len(data) > codeBytes {
		t.Fatalf("%d octets, %v", len(data), err)
	}
	seen := seenOf(t, data, zone.String())
	return data, icalread.Event{UID: uid, Start: want.Start, End: want.End, Summary: seen.Summary, Location: seen.Location}
}

func TestReadersSeeRandomCalendars(t *testing.T) {
	const files, eventsEach = 360, 9
	r := rand.New(rand.NewPCG(7, 27))
	zones := append(steadyZones, transitionZones...)
	folder, want, events := t.TempDir(), map[string][]icalread.Event{}, 0
	for i := range files {
		zone := mustZone(t, zones[i%len(zones)])
		var data []byte
		var seen []icalread.Event
		switch i % 4 {
		case 0:
			cal, w := randomMessage(r, zone, UID(nil, "message", fmt.Sprint(i)))
			data, seen = encode(t, cal), []icalread.Event{w}
		case 1:
			c, w := randomCompact(t, r, zone, UID(nil, "compact", fmt.Sprint(i)))
			data, seen = c, []icalread.Event{w}
		default:
			cal := Calendar{Name: randomText(r, 2), Zone: zone.String(), Stamp: stamp, Refresh: time.Duration(i) * time.Minute}
			for n := range 1 + r.IntN(eventsEach) {
				e, w := randomVisit(r, zone, UID(nil, fmt.Sprint(i), fmt.Sprint(n)))
				cal.Events, seen = append(cal.Events, e), append(seen, w)
			}
			data = encode(t, cal)
		}
		if complaints := Lint(data); complaints != nil {
			t.Errorf("file %d: %v", i, complaints)
		}
		want[write(t, folder, i, data)] = seen
		events += len(seen)
	}
	t.Logf("%d files, %d events, %d readers", files, events, len(icalread.Readers))
	icalread.Check(t, want)
}
