package diary_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// bothSides are two restorations of one surgery, staged on one side.
func bothSides() diary.Request {
	r := fullCase()
	r.Milestones = append(r.Milestones, another(" left", 17)...)
	return r
}

// another is the restoration of the full case once more, some days later.
func another(name graft.MilestoneID, later int) []graft.Milestone {
	var list []graft.Milestone
	for _, m := range fullCase().Milestones {
		switch m.ID {
		case "phone-call", "wound-check", "late-check", "healing-review":
			continue
		}
		m.ID += name
		m.Step = graft.Step(m.ID)
		waits := m.Waits
		m.Waits = nil
		for _, w := range waits {
			if w.From != graft.SurgeryDay {
				w.From += name
			} else {
				w = days(graft.SurgeryDay, w.NotBefore.Days+later, w.Earliest.Days+later, w.Target.Days+later, w.Latest.Days+later)
			}
			m.Waits = append(m.Waits, w)
		}
		list = append(list, m)
	}
	return list
}

// harbour is a clinic of 20 people on a real calendar.
func harbour(t testing.TB) *clinic.Calendar {
	t.Helper()
	full := []day.Hours{{From: 510, To: 750}, {From: 810, To: 1020}}
	s := clinic.Settings{
		Name: "Harbour Row", Zone: "Europe/Dublin", Region: "IE",
		Hours:    clinic.Week{time.Monday: full, time.Tuesday: full, time.Wednesday: full, time.Thursday: full, time.Friday: full},
		Closures: []clinic.Closure{{From: on("2027-08-02"), To: on("2027-08-20"), Name: "Summer closure"}, {From: on("2027-12-24"), To: on("2028-01-02"), Name: "Christmas closure"}},
		Visits:   map[string]clinic.Visit{"check": {Minutes: 30, Room: "chair", Role: "nurse"}, "surgery": {Minutes: 90, Room: "surgery", Role: "surgeon"}},
	}
	for n := range 8 {
		s.Rooms = append(s.Rooms, clinic.Room{Name: fmt.Sprintf("Room %d", n), For: []string{[]string{"chair", "surgery"}[n%2]}})
	}
	for n := range 20 {
		s.People = append(s.People, clinic.Person{Name: fmt.Sprintf("Person %d", n), Role: []string{"nurse", "surgeon", "nurse"}[n%3], Days: day.WeekdaySet(time.Weekday(1+n%5), time.Weekday(1+(n+1)%5), time.Weekday(1+(n+3)%5))})
	}
	c, err := clinic.New(s, span("2026-01-01..2038-12-31"))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// post is a person with the room and the minutes of a usual visit.
type post struct {
	person, room string
	minutes      int
}

// filled gives others so many of a hundred of the posts' visits.
func filled(c *clinic.Calendar, posts []post, percent int, span day.Span) []diary.Taken {
	r := rand.New(rand.NewPCG(7, 7))
	var taken []diary.Taken
	for d := span.From; !d.After(span.To); d = d.AddDays(1) {
		status, err := c.Status(d)
		if err != nil {
			continue
		}
		for _, h := range status.Hours {
			for _, p := range posts {
				for t := h.From; t+day.Clock(p.minutes) <= h.To; t += day.Clock(p.minutes) {
					if r.IntN(100) < percent {
						taken = append(taken, diary.Taken{Slot: graft.Slot{Day: d, Start: t, Minutes: p.minutes, Person: p.person, Room: p.room}, Case: "HR-1", Says: "HR-1"})
					}
				}
			}
		}
	}
	return taken
}

func BenchmarkPlaceAll(b *testing.B) {
	c := quayside(b)
	full := diary.NewBook(filled(c, []post{{"Dr Ione Marrow", "Surgery 1", 90}, {"Nurse Ash Pell", "", 30}}, 80, span("2027-02-01..2030-12-31")))
	for _, bench := range []struct {
		name string
		r    diary.Request
		book *diary.Book
	}{{"one restoration, empty", fullCase(), nil}, {"one restoration, 80 % full", fullCase(), full},
		{"two restorations, empty", bothSides(), nil}, {"two restorations, 80 % full", bothSides(), full}} {
		b.Run(bench.name, func(b *testing.B) {
			b.ReportAllocs()
			r := bench.r
			r.Book = bench.book
			for b.Loop() {
				if p := diary.PlaceAll(r, c); len(p.Unplaced) > 0 {
					b.Fatal(p.Unplaced)
				}
			}
		})
	}
}

// The clinic has 20 people and 3,000 visits booked over the twelve months asked for;
// the case has its visits up to the impression booked.
func BenchmarkSlots(b *testing.B) {
	c := harbour(b)
	var posts []post
	for n := range 20 {
		posts = append(posts, post{fmt.Sprintf("Person %d", n), fmt.Sprintf("Room %d", n%8), 60})
	}
	year := span("2027-02-03..2028-02-02")
	taken := filled(c, posts, 9, year)
	taken = taken[:min(3000, len(taken))]
	r := fullCase()
	r.Book = diary.NewBook(taken)
	b.Run("book", func(b *testing.B) {
		for b.Loop() {
			diary.NewBook(taken)
		}
		b.ReportMetric(float64(len(taken)), "bookings")
	})
	for _, id := range []graft.MilestoneID{"placement", "impression", "recall 3 months"} {
		b.Run(string(id), func(b *testing.B) {
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				offers, err := diary.Slots(r, c, id, year, 5)
				if err != nil {
					b.Fatal(err)
				}
				n = len(offers)
			}
			b.ReportMetric(float64(n), "offers")
		})
	}
}

// One small case, planned and tried out in full.
func BenchmarkAgainstBruteForce(b *testing.B) {
	var small []small
	for seed := range uint64(40) {
		small = append(small, someSmall(seed))
	}
	start := time.Now()
	for _, s := range small {
		bruteForce(s.r, s.c, s.taken)
	}
	brute := time.Since(start) / time.Duration(len(small))
	n := 0
	for b.Loop() {
		s := small[n%len(small)]
		diary.PlaceAll(s.r, s.c)
		n++
	}
	b.ReportMetric(float64(brute)/float64(b.Elapsed())*float64(n), "times-faster")
}
