package diary_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// check takes the usual number of cases so many times.
func check(t *testing.T, rounds int, property func(*rapid.T)) {
	for range rounds {
		rapid.Check(t, property)
	}
}

var someShift = rapid.SampledFrom([]graft.Shift{graft.OnlyLater, graft.Afterwards, graft.Earlier, graft.Nearest})

func someDays(t *rapid.T, label string) day.Weekdays {
	return rapid.SampledFrom([]day.Weekdays{everyDay, weekdays, 1 << 1, 1<<2 | 1<<4, 1<<1 | 1<<6, 0}).Draw(t, label)
}

func someSpans(t *rapid.T, about day.Day, most int, label string) []day.Span {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) day.Span {
		from := about.AddDays(rapid.IntRange(-20, 250).Draw(t, "from"))
		return day.Span{From: from, To: from.AddDays(rapid.IntRange(0, 30).Draw(t, "length"))}
	}), 0, most).Draw(t, label)
}

// someRota draws a clinic that is the same every week.
func someRota(t *rapid.T) rota {
	return rota{
		Open:   rapid.SampledFrom([]day.Weekdays{everyDay, weekdays, weekdays, 1<<1 | 1<<2 | 1<<3, 1 << 4, 0}).Draw(t, "open"),
		Visits: map[string]day.Weekdays{"check": everyDay, "surgery": someDays(t, "surgery")},
		Roles:  map[string]day.Weekdays{"surgeon": someDays(t, "surgeon")},
	}
}

// somePeriods draws the four points of a wait, now and then out of order.
func somePeriods(t *rapid.T, months bool) [4]day.Period {
	var points [4]day.Period
	at := day.Period{Days: rapid.IntRange(-30, 60).Draw(t, "not before")}
	for i := range points {
		points[i] = at
		at.Days += rapid.IntRange(0, 20).Draw(t, "days on")
		if months && rapid.IntRange(0, 4).Draw(t, "in months") == 0 {
			at.Months++
			at.Days -= rapid.IntRange(0, 31).Draw(t, "less")
		}
	}
	return points
}

func someWaits(t *rapid.T, from []graft.MilestoneID, months bool) []graft.Wait {
	var waits []graft.Wait
	for n := range rapid.IntRange(1, 3).Draw(t, "waits") {
		p := somePeriods(t, months)
		waits = append(waits, graft.Wait{
			From: rapid.SampledFrom(from).Draw(t, "from"), FloorOnly: n > 0 && rapid.Bool().Draw(t, "floor"),
			NotBefore: p[0], Earliest: p[1], Target: p[2], Latest: p[3],
		})
	}
	return waits
}

// someRequest draws a chain of milestones in any order. Each waits for the
// surgery or for others; a few wait for something that is not there.
func someRequest(t *rapid.T, months bool) diary.Request {
	r := diary.Request{Surgery: on("2027-01-01").AddDays(rapid.IntRange(0, 800).Draw(t, "surgery"))}
	r.On = r.Surgery.AddDays(rapid.IntRange(-30, 150).Draw(t, "on"))
	r.Closure = rapid.IntRange(0, 4).Draw(t, "closure")
	r.FirmWithin = day.Period{Days: rapid.IntRange(0, 60).Draw(t, "firm within")}
	r.Unavailable = someSpans(t, r.Surgery, 2, "away")
	from := []graft.MilestoneID{graft.SurgeryDay, graft.SurgeryDay, graft.SurgeryDay}
	for n := range rapid.IntRange(1, 7).Draw(t, "milestones") {
		m := graft.Milestone{ID: graft.MilestoneID(fmt.Sprintf("m%d", n)), Step: graft.Recall, Shift: someShift.Draw(t, "shift")}
		m.Waits = someWaits(t, from, months)
		m.Surgical = rapid.Bool().Draw(t, "surgical")
		switch rapid.SampledFrom([]string{"check", "surgery", "surgeon", ""}).Draw(t, "needs") {
		case "check":
			m.Visit = "check"
		case "surgery":
			m.Visit = "surgery"
		case "surgeon":
			m.Role = "surgeon"
		}
		if rapid.IntRange(0, 5).Draw(t, "attended") == 0 {
			m.Attended = r.Surgery.AddDays(rapid.IntRange(-10, 200).Draw(t, "attended on"))
		}
		if rapid.IntRange(0, 30).Draw(t, "dangling") == 0 {
			m.Waits[0].From = "nobody"
		}
		r.Milestones = append(r.Milestones, m)
		from = append(from, m.ID)
	}
	r.Milestones = rapid.Permutation(r.Milestones).Draw(t, "order")
	return r
}

// someClinic draws a weekly clinic with closures.
func someClinic(t *rapid.T, about day.Day) rota {
	c := someRota(t)
	c.Closed = someSpans(t, about, 4, "closures")
	return c
}

// read parses a day as failures and reasons write it; no text is no day.
func read(t require, text string) day.Day {
	if text == "" {
		return day.Day{}
	}
	for _, form := range []string{"2 January 2006", "Mon 2 Jan 2006"} {
		if at, err := time.Parse(form, text); err == nil {
			return day.Of(at)
		}
	}
	t.Fatalf("%q is no day", text)
	return day.Day{}
}

// require is what helpers need of a test or a property.
type require interface {
	Fatalf(format string, args ...any)
}

func TestWindowPointsAreInOrderAndDaysInside(t *testing.T) {
	check(t, 5, func(t *rapid.T) {
		r := someRequest(t, true)
		placed, _ := placeAll(r, someClinic(t, r.Surgery))
		for _, m := range placed {
			w := m.Window
			if w.Earliest.Before(w.NotBefore) || w.Target.Before(w.Earliest) || w.Latest.Before(w.Target) {
				t.Fatalf("%s: window %v", m.ID, w)
			}
			if m.Placed.IsZero() || !m.Attended.IsZero() {
				continue
			}
			if m.Placed.Before(w.NotBefore) || m.Placed.Before(w.Earliest) || m.Placed.After(w.Latest) {
				t.Fatalf("%s: %s outside %v", m.ID, m.Placed, w)
			}
			if m.Placed.Before(r.On) && !w.Latest.Before(r.On) {
				t.Fatalf("%s: %s before the day of planning %s, latest %s", m.ID, m.Placed, r.On, w.Latest)
			}
		}
	})
}

// Over random closures a step whose window is over is overdue, with a day or without,
// and no other is.
func TestEveryOpenStepIsOverdueOrHasTimeLeft(t *testing.T) {
	without, with := 0, 0
	check(t, 5, func(t *rapid.T) {
		r := someRequest(t, true)
		r.Overdue = day.Period{Days: rapid.IntRange(0, 40).Draw(t, "overdue")}
		plan := diary.PlaceAll(r, someClinic(t, r.Surgery))
		for _, m := range plan.Milestones {
			ended := m.Attended.IsZero() && m.Window != (graft.Window{}) && m.Window.Latest.Before(r.On)
			if m.Overdue != (ended && r.Overdue.Days > 0) {
				t.Fatalf("%s on %s in %v, planned on %s: overdue %v", m.ID, m.Placed, m.Window, r.On, m.Overdue)
			}
			if !m.Overdue {
				continue
			}
			told := slices.ContainsFunc(plan.Unplaced, func(u diary.Unplaced) bool { return u.ID == m.ID && !u.Passed })
			if told != m.Placed.IsZero() || !told && (m.Placed.Before(r.On) || m.Placed.After(r.On.Add(r.Overdue))) {
				t.Fatalf("%s is overdue, on %s, told that it has no day: %v", m.ID, m.Placed, told)
			}
			if told {
				without++
			} else {
				with++
			}
		}
	})
	if without == 0 || with == 0 {
		t.Errorf("%d overdue without a day, %d with one: too few to tell", without, with)
	}
}

func TestMovingTheSurgeryByWeeksMovesEveryDay(t *testing.T) {
	check(t, 5, func(t *rapid.T) {
		r, c := someRequest(t, false), someRota(t)
		by := 7 * rapid.IntRange(1, 80).Draw(t, "weeks")
		later := r
		later.Surgery, later.On = r.Surgery.AddDays(by), r.On.AddDays(by)
		later.Milestones, later.Unavailable = slices.Clone(r.Milestones), slices.Clone(r.Unavailable)
		for i, u := range later.Unavailable {
			later.Unavailable[i] = day.Span{From: u.From.AddDays(by), To: u.To.AddDays(by)}
		}
		for i, m := range later.Milestones {
			if !m.Attended.IsZero() {
				later.Milestones[i].Attended = m.Attended.AddDays(by)
			}
		}
		before, failedBefore := placeAll(r, c)
		after, failedAfter := placeAll(later, c)
		if len(failedBefore) != len(failedAfter) {
			t.Fatalf("failed %v, %d days on %v", failedBefore, by, failedAfter)
		}
		for i, m := range before {
			if n := after[i]; m.Placed.IsZero() != n.Placed.IsZero() || n.Placed.Sub(m.Placed) != by && !m.Placed.IsZero() || m.Firm != n.Firm {
				t.Fatalf("%s on %s, firm %v; %d days on: %s, firm %v", m.ID, m.Placed, m.Firm, by, n.Placed, n.Firm)
			}
		}
	})
}

// The order of the milestones changes nothing but the order in which they come
// back, and what an earlier plan gave them changes nothing at all.
func TestOrderAndEarlierPlansDoNotMatter(t *testing.T) {
	check(t, 5, func(t *rapid.T) {
		r := someRequest(t, true)
		c := someClinic(t, r.Surgery)
		placed, failed := placeAll(r, c)
		other := r
		other.Milestones = rapid.Permutation(r.Milestones).Draw(t, "another order")
		if rapid.Bool().Draw(t, "planned before") {
			planned := r
			planned.Surgery, planned.On = r.Surgery.AddDays(30), r.On.AddDays(-20)
			planned.Milestones = other.Milestones
			other.Milestones, _ = placeAll(planned, rota{})
		}
		placedToo, failedToo := placeAll(other, c)
		byID := func(milestones []graft.Milestone) map[graft.MilestoneID]graft.Milestone {
			return maps.Collect(func(yield func(graft.MilestoneID, graft.Milestone) bool) {
				for _, m := range milestones {
					yield(m.ID, m)
				}
			})
		}
		if diff := cmp.Diff(byID(placed), byID(placedToo), cmp.AllowUnexported(day.Day{})); diff != "" {
			t.Fatal(diff)
		}
		inOrder := func(list []diary.Unplaced) []diary.Unplaced {
			return slices.SortedFunc(slices.Values(list), func(a, b diary.Unplaced) int { return strings.Compare(string(a.ID), string(b.ID)) })
		}
		if diff := cmp.Diff(inOrder(failed), inOrder(failedToo)); diff != "" {
			t.Fatal(diff)
		}
		for i, m := range placedToo {
			if m.ID != other.Milestones[i].ID {
				t.Fatalf("milestone %d went in as %s and came out as %s", i, other.Milestones[i].ID, m.ID)
			}
		}
	})
}

func TestTheRequestIsNotTouched(t *testing.T) {
	check(t, 5, func(t *rapid.T) {
		r := someRequest(t, true)
		for i := range r.Milestones {
			r.Milestones[i].Reasons = append(make([]graft.Reason, 0, 9), graft.Reason{Says: "an earlier plan"})
			r.Milestones[i].Waits[0].Because = graft.Reason{Because: make([]graft.Reason, 0, 9)}
		}
		copied := r
		copied.Unavailable, copied.Milestones = slices.Clone(r.Unavailable), slices.Clone(r.Milestones)
		for i, m := range copied.Milestones {
			copied.Milestones[i].Waits = slices.Clone(m.Waits)
			copied.Milestones[i].Reasons = slices.Clone(m.Reasons)
		}
		placeAll(r, someClinic(t, r.Surgery))
		if diff := cmp.Diff(copied, r, cmp.AllowUnexported(day.Day{})); diff != "" {
			t.Fatal(diff)
		}
		for _, m := range r.Milestones {
			if spare := m.Reasons[:2][1]; spare.Says != "" {
				t.Fatalf("%s: %q was written behind its reasons", m.ID, spare.Says)
			}
		}
	})
}
