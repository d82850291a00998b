package ics

import (
	"bytes"
	"strings"
	"testing"

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
