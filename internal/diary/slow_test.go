package diary_test

import (
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// outcome is where a milestone stands.
type outcome struct{ Placed day.Day }

// slow works out windows and days from their description and not from the code.
type slow struct {
	r      diary.Request
	clinic rota
	known  map[graft.MilestoneID]outcome
}

func (s slow) dayOf(id graft.MilestoneID) day.Day {
	if id == graft.SurgeryDay {
		return s.r.Surgery
	}
	return s.known[id].Placed
}

// score ranks a day, the lowest best; may is false where the shift forbids it.
func score(shift graft.Shift, d, target day.Day) (score int, may bool) {
	const farther = 1_000_000
	late := d.Sub(target)
	switch {
	case shift == graft.OnlyLater, shift == graft.Afterwards:
		return late, late >= 0
	case shift == graft.Earlier && late > 0:
		return farther + late, true
	case late > 0:
		return 2*late + 1, true // between the days before it: the earlier one wins a tie
	}
	return -2 * late, true
}

// window takes each point of each wait, one after the other.
func (s slow) window(m graft.Milestone) graft.Window {
	var w graft.Window
	points := []*day.Day{&w.NotBefore, &w.Earliest, &w.Target, &w.Latest}
	for _, wait := range m.Waits {
		if wait.FloorOnly {
			continue
		}
		for i, period := range []day.Period{wait.NotBefore, wait.Earliest, wait.Target, wait.Latest} {
			if d := s.dayOf(wait.From).Add(period); d.After(*points[i]) {
				*points[i] = d
			}
		}
	}
	for i := 1; i < len(points); i++ {
		if points[i].Before(*points[i-1]) {
			*points[i] = *points[i-1]
		}
	}
	for _, wait := range m.Waits {
		if !wait.FloorOnly {
			continue
		}
		floor := s.dayOf(wait.From).Add(wait.NotBefore)
		for w.Earliest.Before(floor) {
			w.Earliest, w.Target, w.Latest = w.Earliest.AddDays(1), w.Target.AddDays(1), w.Latest.AddDays(1)
		}
		if w.NotBefore.Before(floor) {
			w.NotBefore = floor
		}
	}
	return w
}

// whyNot says what keeps a milestone from a day; empty if nothing does.
func (s slow) whyNot(m graft.Milestone, d day.Day) string {
	for _, away := range s.r.Unavailable {
		if m.Visit != "" && !d.Before(away.From) && !d.After(away.To) {
			return "the patient cannot come"
		}
	}
	ok, why := s.clinic.FitsAny(d)
	if ok && m.Visit != "" {
		ok, why = s.clinic.Fits(d, m.Visit)
	} else if ok && m.Role != "" {
		ok, why = s.clinic.FitsRole(d, m.Role)
	}
	if !ok {
		return why
	}
	closed := 0
	for open := false; !open && closed < 90; {
		if open, _ = s.clinic.FitsAny(d.AddDays(closed + 1)); !open {
			closed++
		}
	}
	if m.Surgical && s.r.Closure > 0 && closed >= s.r.Closure {
		return lastOpenDay(closed)
	}
	return ""
}
