package letter

import "graftclock/internal/graft"

// limit is one thing not to do: either with the last day to keep from it and the
// first day it is allowed again, or with a question for the surgeon.
type limit struct {
	Says            string
	LastDay, FromOn string // both spelled out, or both empty: ask the surgeon
	Until           string // the two days in one sentence, or to ask
}

// fillLimits dates the clinic's presets. A preset of n days keeps the days 0 to
// n - 1, counted from the surgery, and day n is free again. A limit that has
// ended by the day of planning is left out.
func (s *sheet) fillLimits(l Letter, w *wording) {
	s.Counted = fill(w.Limits.Counted, "day", w.day(l.Case.Surgery.Day))
	for _, key := range Presets {
		says := w.Limits.Dated[preset(key)]
		days, set := l.AfterCare[key]
		if !set {
			s.Limits = append(s.Limits, limit{Says: says, Until: w.Limits.Ask})
			continue
		}
		free := l.Case.Surgery.Day.AddDays(days)
		if !l.Timeline.On.Before(free) {
			continue
		}
		last, from := w.day(free.AddDays(-1)), w.day(free)
		until := fill(w.Limits.Until, "last", last, "from", from)
		s.Limits = append(s.Limits, limit{says, last, from, until})
	}
	s.Over = len(s.Limits) == 0
}

// fillSurgery says in one sentence for each sinus what was done there or, while
// the surgery lies ahead, what is planned.
func (s *sheet) fillSurgery(l Letter, w *wording) {
	words := w.Surgery.Done
	s.Title = w.Headings.After
	if l.Case.Ahead(l.Timeline.On) {
		words = w.Surgery.Ahead
		s.Title = w.Headings.Ahead
	}
	for _, sinus := range l.Case.Sinuses {
		s.Sittings = append(s.Sittings, w.sitting(sinus, words))
	}
}

func (w *wording) sitting(sinus graft.Sinus, words sittingWords) string {
	now, later := 0, 0
	for _, implant := range sinus.Implants {
		if implant.Placed == graft.WithTheGraft {
			now++
		} else {
			later++
		}
	}
	sentence := words.Alone
	switch {
	case sinus.Outcome == graft.Aborted:
		sentence = w.Surgery.Stopped
	case now > 0 && later > 0:
		sentence = words.NowAndLater
	case now > 0:
		sentence = words.Now
	case later > 0:
		sentence = words.Later
	}
	return fill(sentence, "on", w.Surgery.On[sinus.Side], "how", w.Surgery.How[sinus.Approach],
		"now", w.count(w.Surgery.Implants, now), "later", w.count(w.Surgery.Implants, later))
}
