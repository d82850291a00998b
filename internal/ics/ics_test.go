package ics

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
)

var update = flag.Bool("update", false, "rewrite the golden files")

var stamp = time.Date(2027, 1, 4, 8, 15, 30, 999, time.UTC)

// patient is a plan with one booked step, one window and one step called off.
func patient() Calendar {
	return Calendar{Name: "Your visits at Harbour Row", Zone: "Europe/Dublin", Stamp: stamp, Events: []Event{
		{
			UID: UID(nil, "case 1", "surgery"), Day: day.New(2027, 1, 14), Start: 8*60 + 30, Minutes: 90,
			Summary: "Visit", Description: "Please eat before you come.\nBring your tablets, all of them; thank you.",
			Location: "Harbour Row, room 2", Status: Confirmed, Sequence: 1,
			Alarms: []day.Period{{Days: -3}, {Days: -1}},
		},
		{
			UID: UID(nil, "case 1", "review"), Day: day.New(2027, 6, 28), LastDay: day.New(2027, 7, 9),
			Summary: "Visit to be booked in these weeks", Status: Tentative, Transparent: true,
			Alarms: []day.Period{{Days: -21}},
		},
		{
			UID: UID(nil, "case 1", "photograph"), Day: day.New(2027, 2, 1), Summary: "Visit called off",
			Status: Cancelled, Sequence: 2, Alarms: []day.Period{{Days: -1}},
		},
	}}
}

// desk is a day's list across a change of clocks.
func desk() Calendar {
	night := Event{UID: UID(nil, "night"), Day: day.New(2027, 10, 31), Start: 2*60 + 30, Minutes: 30, Summary: "Clocks go back"}
	long := Event{UID: UID(nil, "long"), Day: day.New(2027, 10, 30), Start: 23 * 60, Minutes: 6 * 60, Summary: "Across the change"}
	title := Event{UID: UID(nil, "title"), Day: day.New(2028, 2, 29), Summary: strings.Repeat("Knochenaufbau für Zahnärzte 🦷 ", 9)}
	return Calendar{Zone: "Europe/Berlin", Stamp: stamp, Events: []Event{night, long, title}}
}

func TestGoldenFiles(t *testing.T) {
	feed := patient()
	feed.Refresh = 4 * time.Hour
	days := Calendar{Name: "All-day only", Stamp: stamp, Events: patient().Events[1:]}
	for name, cal := range map[string]Calendar{"patient": patient(), "desk": desk(), "days": days, "request": message(Request), "cancel": message(Cancel), "feed": feed} {
		t.Run(name, func(t *testing.T) {
			got, err := Encode(cal)
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join("testdata", name+".ics")
			if *update {
				if err := os.WriteFile(path, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), string(got)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", path, diff)
			}
			if complaints := Lint(got); complaints != nil {
				t.Errorf("Lint: %v", complaints)
			}
		})
	}
}

func TestSameCalendarSameBytes(t *testing.T) {
	first, asked := encode(t, patient()), encode(t, message(Request))
	short, err := Compact(next(), "Europe/Dublin", codeBytes)
	if err != nil {
		t.Fatal(err)
	}
	for range 50 {
		again, _ := Compact(next(), "Europe/Dublin", codeBytes)
		if !bytes.Equal(first, encode(t, patient())) || !bytes.Equal(asked, encode(t, message(Request))) || !bytes.Equal(short, again) {
			t.Fatal("the same calendar gave other bytes")
		}
	}
	elsewhere := patient()
	elsewhere.Stamp = stamp.In(time.FixedZone("", 5*60*60))
	if again, _ := Encode(elsewhere); !bytes.Equal(first, again) {
		t.Error("the zone of the stamp changed the bytes")
	}
}

func TestDefaultFileInvitesNobody(t *testing.T) {
	data, err := Encode(patient())
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"METHOD", "ORGANIZER", "ATTENDEE", "RDATE"} {
		if bytes.Contains(data, []byte("\r\n"+name)) {
			t.Errorf("the file has a %s", name)
		}
	}
}

func TestCancelledEventRingsNoAlarm(t *testing.T) {
	cal := patient()
	cal.Events = cal.Events[2:]
	data, err := Encode(cal)
	if err != nil || bytes.Contains(data, []byte("VALARM")) || !bytes.Contains(data, []byte("\r\nSTATUS:CANCELLED\r\n")) {
		t.Errorf("got %v\n%s", err, data)
	}
}

func TestRefusals(t *testing.T) {
	spoil := func(change func(e *Event)) func(*Calendar) {
		return func(cal *Calendar) { change(&cal.Events[0]) }
	}
	tests := []struct {
		name, want string
		spoil      func(*Calendar)
	}{
		{"no events", "no events", func(c *Calendar) { c.Events = nil }},
		{"no stamp", "event 1: no stamp", func(c *Calendar) { c.Stamp = time.Time{} }},
		{"stamp past four digits", "year 10000", func(c *Calendar) { c.Stamp = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) }},
		{"no zone for a timed event", "no zone", func(c *Calendar) { c.Zone = "" }},
		{"the machine's own zone", "no zone", func(c *Calendar) { c.Zone = "Local" }},
		{"unknown zone", "unknown time zone", func(c *Calendar) { c.Zone = "Harbour/Row" }},
		{"zone outside the zone folder", "time", func(c *Calendar) { c.Zone = "../../etc/passwd" }},
		{"line break in the zone", "time", func(c *Calendar) { c.Zone = "Europe/Dublin\r\nX:1" }},
		{"same UID twice", "same UID as event 1", func(c *Calendar) { c.Events[1].UID = c.Events[0].UID }},
		{"no UID", "UID is empty", spoil(func(e *Event) { e.UID = "" })},
		{"line break in the UID", "control character", spoil(func(e *Event) { e.UID = "a\r\nb" })},
		{"bad UTF-8 in the UID", "not UTF-8", spoil(func(e *Event) { e.UID = "a\xff" })},
		{"no summary", "no summary", spoil(func(e *Event) { e.Summary = " \x00\n" })},
		{"status of no event", `"done"`, spoil(func(e *Event) { e.Status = "done" })},
		{"sequence below 0", "below 0", spoil(func(e *Event) { e.Sequence = -1 })},
		{"alarm after the start", "alarm 1d", spoil(func(e *Event) { e.Alarms = []day.Period{{Days: 1}} })},
		{"alarm in months", "alarm -1mo", spoil(func(e *Event) { e.Alarms = []day.Period{{Months: -1}} })},
		{"no day", "outside", spoil(func(e *Event) { e.Day = day.Day{} })},
		{"day past all calendars", "outside", spoil(func(e *Event) { e.Day = day.New(2200, 1, 1) })},
		{"end before the start", "ends 30 minutes before", spoil(func(e *Event) { e.Minutes = -30 })},
		{"longer than two weeks", "at most", spoil(func(e *Event) { e.Minutes = 15 * 24 * 60 })},
		{"start without a length", "no length", spoil(func(e *Event) { e.Minutes = 0 })},
		{"start at 24:00", "no minute", spoil(func(e *Event) { e.Start = 24 * 60 })},
		{"timed with a last day", "both", spoil(func(e *Event) { e.LastDay = e.Day.AddDays(1) })},
		{"last day before the first", "before its start", spoil(func(e *Event) { e.LastDay = e.Day.AddDays(-1) })},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			cal := patient()
			tt.spoil(&cal)
			var out bytes.Buffer
			err := Write(&out, cal)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want an error with %q", err, tt.want)
			}
			if out.Len() > 0 {
				t.Errorf("a refused calendar wrote %q", out.Bytes())
			}
		})
	}
}

func TestAllRefusalsAtOnce(t *testing.T) {
	cal := patient()
	cal.Events[0].UID, cal.Events[1].Sequence = "", -1
	_, err := Encode(cal)
	if err == nil || !strings.Contains(err.Error(), "event 1: UID is empty") || !strings.Contains(err.Error(), "event 2: sequence -1") {
		t.Errorf("got %v, want both faults", err)
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteReportsAFullDisk(t *testing.T) {
	if err := Write(fullDisk{}, patient()); err == nil || !strings.Contains(err.Error(), "disk full") {
		t.Errorf("got %v", err)
	}
}
