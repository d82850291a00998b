package ics

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
)

// FuzzEncode puts any text into every field: whatever is not refused is a clean
// file with the one event.
func FuzzEncode(f *testing.F) {
	const short = 200 // the engine is slow on long seeds
	for _, text := range nasty {
		text = text[:min(len(text), short)]
		f.Add(text, text, text, text, text)
	}
	f.Fuzz(func(t *testing.T, name, uid, summary, description, location string) {
		e := Event{
			UID: uid, Day: day.New(2027, 1, 14), Start: 510, Minutes: 90, Summary: summary,
			Description: description, Location: location, Alarms: []day.Period{{Days: -1}},
		}
		data, err := Encode(Calendar{Name: name, Zone: "Europe/Dublin", Stamp: stamp, Events: []Event{e}})
		if err != nil {
			return
		}
		if complaints := Lint(data); complaints != nil {
			t.Errorf("%v\n%q", complaints, data)
		}
		lines, _ := unfolded(data)
		for word, want := range map[string]int{"BEGIN:VEVENT": 1, "END:VEVENT": 1, "BEGIN:VALARM": 1, "STATUS": 0} {
			got := 0
			for _, line := range lines {
				if strings.HasPrefix(line, word) {
					got++
				}
			}
			if got != want {
				t.Errorf("%d lines with %s, want %d\n%q", got, word, want, data)
			}
		}
	})
}

// FuzzMessage puts any name and address into a message: whatever is not refused is a
// clean file with one of each.
func FuzzMessage(f *testing.F) {
	for _, text := range nasty {
		f.Add(text[:min(len(text), 200)], "nora@fenwick.example")
		f.Add("Nora Fenwick", "nora@fenwick.example"+text[:min(len(text), 200)])
	}
	f.Fuzz(func(t *testing.T, name, address string) {
		for _, method := range []Method{Request, Cancel} {
			cal := message(method)
			cal.Organizer, cal.Attendee = Party{name, address}, Party{name, address}
			data, err := Encode(cal)
			if err != nil {
				return
			}
			if complaints := Lint(data); complaints != nil {
				t.Errorf("%v\n%q", complaints, data)
			}
			if got := names(data); got != names(encode(t, message(method))) {
				t.Errorf("other lines\n%q", data)
			}
		}
	})
}

// FuzzRead reads anything without a panic, twice the same, and nothing that is out of
// order.
func FuzzRead(f *testing.F) {
	f.Add([]byte(foreign), "Europe/Dublin")
	f.Add(crlf(sound), "UTC")
	for _, text := range nasty {
		f.Add(crlf(strings.Replace(foreign, "Room 2", text[:min(len(text), 200)], 1)), "Asia/Kolkata")
	}
	for _, line := range []string{"X;A=b", "X;A", "X;", "X;A=\"", "X;A=\\", "DURATION:P1DT", "DTSTART;TZID=/:20270714T083000", "RRULE:", "BEGIN:VALARM", "END:VALARM", "BEGIN:", ":"} {
		f.Add(crlf(strings.Replace(foreign, "LOCATION:Room 2", line, 1)), "Europe/Dublin")
	}
	f.Fuzz(func(t *testing.T, data []byte, zone string) {
		seen, err := Read(data, zone)
		again, _ := Read(data, zone)
		if diff := cmp.Diff(seen, again); diff != "" {
			t.Errorf("another answer:\n%s", diff)
		}
		if len(seen) == 0 && err == nil && bytes.Contains(data, []byte("\nBEGIN:VEVENT\r\n")) {
			t.Errorf("an event, but neither an answer nor an error\n%q", data)
		}
		for _, s := range seen {
			if s.Start.IsZero() || s.End.Before(s.Start) || s.Sequence < 0 || !utf8.ValidString(s.Summary+s.Description+s.Location) {
				t.Errorf("got %v", s)
			}
		}
	})
}

// FuzzCompact holds the length for any texts, and never loses the event.
func FuzzCompact(f *testing.F) {
	for _, text := range nasty {
		f.Add(text[:min(len(text), 200)], text[:min(len(text), 200)], codeBytes)
	}
	f.Fuzz(func(t *testing.T, summary, location string, atMost int) {
		e := next()
		e.Summary, e.Location = summary, location
		data, err := Compact(e, "Europe/Dublin", atMost)
		if err != nil {
			if atMost >= codeBytes && visible(summary) != "" {
				t.Error(err)
			}
			return
		}
		if complaints := Lint(data); complaints != nil || len(data) > atMost {
			t.Errorf("%d octets of %d, %v\n%q", len(data), atMost, complaints, data)
		}
		if s := seenOf(t, data, "Europe/Dublin"); s.UID != e.UID || !isBeginning(s.Summary, visible(summary)) {
			t.Errorf("got %v", s)
		}
	})
}

// FuzzLint reads anything without a panic, twice the same, and names only lines
// there are.
func FuzzLint(f *testing.F) {
	f.Add([]byte(sound))
	f.Add(crlf(sound))
	for _, text := range nasty {
		f.Add(crlf(strings.Replace(sound, "Room 2", text, 1)))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		lines := max(1, bytes.Count(data, []byte("\n"))+1)
		for _, c := range Lint(data) {
			if c.Line < 1 || c.Line > lines {
				t.Errorf("%s, but there are %d lines", c, lines)
			}
		}
	})
}
