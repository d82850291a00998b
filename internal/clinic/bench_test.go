package clinic

import "testing"

const thirteenYears = "2026-01-01..2038-12-31"

func BenchmarkNew(b *testing.B) {
	s, horizon := harbourRow(b), span(b, thirteenYears)
	for b.Loop() {
		if _, err := New(s, horizon); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFits(b *testing.B) {
	c := build(b, harbourRow(b), thirteenYears)
	for _, bench := range []struct{ name, day string }{{"open", "2027-05-11"}, {"closed", "2027-08-09"}, {"nobody", "2027-05-12"}} {
		d := on(b, bench.day)
		b.Run(bench.name, func(b *testing.B) {
			for b.Loop() {
				c.Fits(d, "placement")
			}
		})
	}
}

func BenchmarkNewWithBusyFiles(b *testing.B) {
	s, horizon := harbourRow(b), span(b, thirteenYears)
	var events []string
	for n := range 500 {
		d := on(b, "2027-01-04").AddDays(n)
		events = append(events, event("DTSTART:"+d.Time().Format("20060102")+"T100000", "DURATION:PT90M"), event("DTSTART;VALUE=DATE:"+d.AddDays(600).Time().Format("20060102")))
	}
	s.People[0].BusyFiles = []File{{"quill.ics", calendarFile(events...)}}
	for b.Loop() {
		if _, err := New(s, horizon); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOpening(b *testing.B) {
	c := build(b, harbourRow(b), thirteenYears)
	d := on(b, "2027-05-11")
	for b.Loop() {
		c.Opening(d, "placement")
	}
}

func BenchmarkObstacles(b *testing.B) {
	c := build(b, harbourRow(b), thirteenYears)
	for _, bench := range []struct{ name, day string }{{"open", "2027-05-11"}, {"closed", "2027-08-08"}} {
		d := on(b, bench.day)
		b.Run(bench.name, func(b *testing.B) {
			for b.Loop() {
				c.Obstacles(d, "placement", "")
			}
		})
	}
}

func BenchmarkStatus(b *testing.B) {
	c := build(b, harbourRow(b), thirteenYears)
	d := on(b, "2027-05-11")
	for b.Loop() {
		if _, err := c.Status(d); err != nil {
			b.Fatal(err)
		}
	}
}
