package diary_test

import (
	"graftclock/internal/day"
	"graftclock/internal/diary"
	"graftclock/internal/graft"
)

// outcome is what a plan says of one milestone. From and To bound a walk that
// found nothing, Before and After are the nearest days beyond it.
type outcome struct {
	Window                 graft.Window
	Placed                 day.Day
	Firm, Passed, Failed   bool
	From, To               day.Day
	Before, After          day.Day
	TooSoon, Past, PastToo bool // what is wrong with Before; PastToo: with After
}

// slow is the diary written from its description and not from its code: each
// milestone looks up what it waits for, scores every single day of its window and
// takes the best.
type slow struct {
	r      diary.Request
	clinic diary.Clinic
	known  map[graft.MilestoneID]outcome
}

func slowly(r diary.Request, clinic diary.Clinic) map[graft.MilestoneID]outcome {
	s := slow{r, clinic, map[graft.MilestoneID]outcome{}}
	for _, m := range r.Milestones {
		s.of(m.ID)
	}
	return s.known
}

// of returns the outcome of an id. The zero outcome is that of a milestone that
// waits for something without a day, or for nothing that there is.
func (s slow) of(id graft.MilestoneID) outcome {
	if o, ok := s.known[id]; ok {
		return o
	}
	s.known[id] = outcome{} // met again while it is worked out: it waits for itself
	for _, m := range s.r.Milestones {
		if m.ID == id {
			s.known[id] = outcome{Placed: m.Attended}
			s.known[id] = s.work(m)
		}
	}
	return s.known[id]
}

func (s slow) dayOf(id graft.MilestoneID) day.Day {
	if id == graft.SurgeryDay {
		return s.r.Surgery
	}
	return s.of(id).Placed
}

func (s slow) work(m graft.Milestone) outcome {
	for _, w := range m.Waits {
		if s.dayOf(w.From).IsZero() {
			return outcome{Placed: m.Attended}
		}
	}
	o := outcome{Window: s.window(m)}
	if !m.Attended.IsZero() {
		o.Placed = m.Attended
		return o
	}
	o.Passed = o.Window.Latest.Before(s.r.On)
	best := 0
	for d := o.Window.Earliest; !d.After(o.Window.Latest); d = d.AddDays(1) {
		score, may := score(m.Shift, d, o.Window.Target)
		if !may || !o.Passed && d.Before(s.r.On) {
			continue
		}
		if o.From.IsZero() {
			o.From = d
		}
		o.To = d
		if s.whyNot(m, d) == "" && (o.Placed.IsZero() || score < best) {
			o.Placed, best = d, score
		}
	}
	if o.Placed.IsZero() {
		o.Failed, o.Passed = true, false
		o.Before, o.After = s.next(m, o.From, -1), s.next(m, o.To, 1)
		past := func(d day.Day) bool { return !d.IsZero() && d.Before(s.r.On) }
		o.TooSoon = !o.Before.IsZero() && o.Before.Before(o.Window.NotBefore)
		o.Past, o.PastToo = past(o.Before) && !o.TooSoon, past(o.After)
		return o
	}
	o.From, o.To = day.Day{}, day.Day{}
	o.Firm = !s.r.On.Add(s.r.FirmWithin).Before(o.Placed)
	return o
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
		return 2 * late, true // between the days before it: the later one wins a tie
	}
	return -2*late + 1, true
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

// next returns the nearest day beyond one end of a walk that fits; no day if
// there is none within 400 days.
func (s slow) next(m graft.Milestone, end day.Day, step int) day.Day {
	for n := 1; n <= 400; n++ {
		if d := end.AddDays(n * step); s.whyNot(m, d) == "" {
			return d
		}
	}
	return day.Day{}
}
