package ics

import (
	"bytes"
	"fmt"
	"testing"
	"time"

	ical "github.com/arran4/golang-ical"

	"graftclock/internal/day"
)

// busy is a calendar of n timed events with texts and two or three alarms each.
func busy(n int) Calendar {
	texts := []struct{ summary, description string }{
		{"Appointment: Harbour Row", "If you cannot come, please call: +353 1 555 0100. Bring your tablets, and eat before you come; drink as well."},
		{"Review of the graft, left side", "Window 4 January to 15 January.\nDue: 12 weeks after the surgery; not before 10 weeks."},
		{"Kontrolltermin: Harbour Row", "Bitte bringen Sie Ihre Tabletten mit und essen Sie vorher. Wenn Sie verhindert sind, rufen Sie uns früh an."},
		{"Ραντεβού: Harbour Row", "Παρακαλούμε τηλεφωνήστε αν δεν μπορείτε να έρθετε. Φέρτε μαζί σας τα φάρμακά σας."},
	}
	cal := Calendar{Name: "Harbour Row", Zone: "Europe/Dublin"}
	for i := range n {
		text := texts[i%len(texts)]
		e := Event{
			UID: UID(nil, "bench", fmt.Sprint(i)), Day: day.New(2027, 1, 4+i%500), Start: day.Clock(8*60 + i%32*15), Minutes: 45,
			Summary: text.summary, Description: text.description, Location: "Harbour Row, 12 Quay Street, second floor, room 2",
			Status: Confirmed, Sequence: i % 3, Stamp: stamp.Add(time.Duration(i/4) * time.Minute), Alarms: []day.Period{{Days: -3}, {Days: -1}},
		}
		if i%2 == 1 {
			e.Alarms = append(e.Alarms, day.Period{Days: -10})
		}
		cal.Events = append(cal.Events, e)
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
	cal := busy(1000)
	m, err := cal.model()
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
