package ics

import (
	"bytes"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"graftclock/internal/day"
)

// codeBytes is what the square code of a letter holds.
const codeBytes = 300

// next is a visit as the patient's letter shows it.
func next() Event {
	e := patient().Events[0]
	e.Stamp = stamp
	return e
}

func TestCompact(t *testing.T) {
	got, err := Compact(next(), "Europe/Dublin", codeBytes)
	if err != nil {
		t.Fatal(err)
	}
	want := crlf(`BEGIN:VCALENDAR
VERSION:2.0
PRODID:graftclock
BEGIN:VEVENT
UID:` + next().UID + `
DTSTAMP:20270104T081530Z
DTSTART:20270114T083000Z
DTEND:20270114T100000Z
SUMMARY:Visit
LOCATION:Harbour Row\, room 2
END:VEVENT
END:VCALENDAR
`)
	if !bytes.Equal(got, want) {
		t.Errorf("got\n%s", got)
	}
}

func TestCompactTakesWhatFits(t *testing.T) {
	e := next()
	e.Summary, e.Location = "V", ""
	least, err := Compact(e, "Europe/Dublin", codeBytes)
	if err != nil {
		t.Fatal(err)
	}
	frame := len(least)
	e.Summary, e.Location = "Appointment: Harbour Row", "12 Quay Street, second floor, room 4"
	tests := []struct {
		name   string
		atMost int
		want   string
	}{
		{"all", 300, `SUMMARY:Appointment: Harbour Row / LOCATION:12 Quay Street\, second floor\, room 4`},
		{"exactly all", frame - 1 + 24 + 11 + 38, `SUMMARY:Appointment: Harbour Row / LOCATION:12 Quay Street\, second floor\, room 4`},
		{"a shorter place", frame - 1 + 24 + 11 + 37, `SUMMARY:Appointment: Harbour Row / LOCATION:12 Quay Street\, second floor\, ro…`},
		{"no comma or space before the ellipsis", frame - 1 + 24 + 11 + 20, `SUMMARY:Appointment: Harbour Row / LOCATION:12 Quay Street…`},
		{"the shortest place", frame - 1 + 24 + 11 + 8 + 3, `SUMMARY:Appointment: Harbour Row / LOCATION:12 Quay…`},
		{"too little of a place", frame - 1 + 24 + 11 + 8 + 1, `SUMMARY:Appointment: Harbour Row`},
		{"exactly the title", frame - 1 + 24, `SUMMARY:Appointment: Harbour Row`},
		{"a shorter title", frame - 1 + 23, `SUMMARY:Appointment: Harbour…`},
		{"one letter", frame + 3, `SUMMARY:A…`},
		{"not even one letter", frame + 2, ""},
		{"nothing at all", 0, ""},
		{"less than nothing", -1, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			data, err := Compact(e, "Europe/Dublin", tt.atMost)
			if got := strings.ReplaceAll(lines(data, "SUMMARY", "LOCATION"), "\n", " / "); got != tt.want {
				t.Errorf("got %s, want %s", got, tt.want)
			}
			if len(data) > max(tt.atMost, 0) || (err != nil) != (tt.want == "") {
				t.Errorf("%d octets, %v", len(data), err)
			}
		})
	}
}

func TestCompactRefuses(t *testing.T) {
	tests := []struct {
		name, zone, want string
		spoil            func(*Event)
	}{
		{"all-day", "Europe/Dublin", "all-day", func(e *Event) { e.Start, e.Minutes = 0, 0 }},
		{"cancelled", "Europe/Dublin", "cancelled", func(e *Event) { e.Status = Cancelled }},
		{"no stamp", "Europe/Dublin", "no stamp", func(e *Event) { e.Stamp = time.Time{} }},
		{"no zone", "", "no zone", func(*Event) {}},
		{"unknown zone", "Harbour/Row", "unknown time zone", func(*Event) {}},
		{"no title", "Europe/Dublin", "no summary", func(e *Event) { e.Summary = "\n" }},
		{"no UID", "Europe/Dublin", "UID is empty", func(e *Event) { e.UID = "" }},
		{"UID too long", "Europe/Dublin", "does not fit into 300 octets", func(e *Event) { e.UID = strings.Repeat("x", 150) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := next()
			tt.spoil(&e)
			if data, err := Compact(e, tt.zone, codeBytes); err == nil || data != nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %q, %v; want an error with %q", data, err, tt.want)
			}
		})
	}
}

// seenOf is the one event of a file as Read sees it.
func seenOf(t rapid.TB, data []byte, zone string) Seen {
	t.Helper()
	seen, err := Read(data, zone)
	if err != nil || len(seen) != 1 {
		t.Fatalf("%d events, %v\n%s", len(seen), err, data)
	}
	return seen[0]
}

// isBeginning reports whether got is the text, or a beginning of it with an ellipsis.
func isBeginning(got, text string) bool {
	short, cut := strings.CutSuffix(got, ellipsis)
	return got == text || cut && strings.HasPrefix(text, short)
}

func TestCompactHoldsItsLength(t *testing.T) {
	fitting, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		e := randomEvent(t, UID(nil, "compact"))
		e.LastDay, e.Start, e.Stamp = day.Day{}, day.Clock(rapid.IntRange(0, 1439).Draw(t, "minute")), stamp
		e.Minutes = rapid.IntRange(1, 600).Draw(t, "length")
		zone := rapid.SampledFrom(testZones).Draw(t, "zone")
		atMost := rapid.IntRange(220, 500).Draw(t, "at most")
		data, err := Compact(e, zone, atMost)
		if err != nil {
			refused++
			if smallest := len(`SUMMARY:🦷…`) + 230; e.Status != Cancelled && atMost >= smallest {
				t.Fatalf("%d octets: %v", atMost, err)
			}
			return
		}
		fitting++
		if complaints := Lint(data); complaints != nil || len(data) > atMost || !utf8.Valid(data) {
			t.Fatalf("%d octets of %d, %v\n%s", len(data), atMost, complaints, data)
		}
		whole := seenOf(t, encode(t, Calendar{Zone: zone, Events: []Event{e}}), zone)
		got := seenOf(t, data, zone)
		if got.UID != whole.UID || !got.Start.Equal(whole.Start) || !got.End.Equal(whole.End) {
			t.Fatalf("got %v, want %v", got, whole)
		}
		if !isBeginning(got.Summary, whole.Summary) || got.Location != "" && !isBeginning(got.Location, whole.Location) || got.Location != "" && got.Summary != whole.Summary {
			t.Fatalf("title %q of %q, place %q of %q", got.Summary, whole.Summary, got.Location, whole.Location)
		}
	})
	t.Logf("%d fit, %d refused", fitting, refused)
}
