package ics

import (
	"bytes"
	"fmt"
	"testing"

	ical "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// busy is a calendar of n timed events with text and alarms.
func busy(n int) Calendar {
	cal := Calendar{Name: "Harbour Row", Zone: "Europe/Dublin", Stamp: stamp}
	for i := range n {
		cal.Events = append(cal.Events, Event{
			UID: UID(nil, "bench", fmt.Sprint(i)), Day: day.New(2027, 1, 4+i%500), Start: day.Clock(8*60 + i%32*15), Minutes: 45,
			Summary: "Review of the graft, left side", Description: "Bring your tablets.\nEat before you come; drink as well.",
			Location: "Harbour Row, room 2", Status: Confirmed, Alarms: []day.Period{{Days: -3}, {Days: -1}},
		})
	}
	return cal
}

func eventsPerSecond(b *testing.B, n int) {
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}

func BenchmarkEncode(b *testing.B) {
	cal := busy(1000)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Encode(cal); err != nil {
			b.Fatal(err)
		}
	}
	eventsPerSecond(b, len(cal.Events))
}

// BenchmarkSerialize compares the encoder alone with the one of the model's own
// library, on the same model.
func BenchmarkSerialize(b *testing.B) {
	m, err := busy(1000).model()
	if err != nil {
		b.Fatal(err)
	}
	b.Run("graftclock", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := serialize(m); err != nil {
				b.Fatal(err)
			}
		}
		eventsPerSecond(b, 1000)
	})
	b.Run("golang-ical", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			var out bytes.Buffer
			if err := m.SerializeTo(&out, ical.WithNewLineWindows); err != nil {
				b.Fatal(err)
			}
		}
		eventsPerSecond(b, 1000)
	})
}

func BenchmarkLint(b *testing.B) {
	data, err := Encode(busy(1000))
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if complaints := Lint(data); complaints != nil {
			b.Fatal(complaints)
		}
	}
}

func BenchmarkZone(b *testing.B) {
	loc := mustZone(b, "Asia/Jerusalem")
	for b.Loop() {
		observances(loc, yearRange{2026, 2028})
	}
}
