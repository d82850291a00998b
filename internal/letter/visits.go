package letter

import (
	"cmp"
	"slices"

	"graftclock/internal/day"
	"graftclock/internal/graft"
)

// visit is one row of the dates: what, whether it is planned or booked, when,
// and what for.
type visit struct {
	N           int // from 1, as the drawing numbers it
	Title       string
	Status      string
	StatusMeans string
	Day         string // the day that is booked or aimed for, as a sentence or a day; empty: none yet
	Bounds      string // where a planned visit may fall; empty: booked
	What        string // empty: said at an earlier visit

	at     day.Day // for the drawing; no day: none yet
	booked bool
}

// upcoming returns the milestones that the patient still has to come for, by
// day. A visit that was attended, or whose day is before the day of planning, is
// not coming.
func upcoming(l Letter) []graft.Milestone {
	var coming []graft.Milestone
	for _, m := range l.Timeline.Milestones {
		past := !shownDay(l, m).IsZero() && shownDay(l, m).Before(l.Timeline.On)
		if m.SeenByAny(graft.ForPatient) && m.Attended.IsZero() && !past {
			coming = append(coming, m)
		}
	}
	slices.SortStableFunc(coming, func(a, b graft.Milestone) int {
		return sortDay(l, a).Sub(sortDay(l, b))
	})
	return coming
}

// shownDay is the day the letter names for the milestone: its booking's, else
// the one the diary placed it on; no day when there is neither.
func shownDay(l Letter, m graft.Milestone) day.Day {
	if booked, ok := l.Booked[m.ID]; ok {
		return booked.Day
	}
	return m.Placed
}

func sortDay(l Letter, m graft.Milestone) day.Day {
	if shown := shownDay(l, m); !shown.IsZero() {
		return shown
	}
	return m.Window.Target
}

func visitsOf(l Letter, w *wording) []visit {
	var visits []visit
	if l.Case.Ahead(l.Timeline.On) {
		visits = append(visits, surgeryVisit(l, w))
	}
	coming := upcoming(l)
	tell := severalFor(coming)
	recalled := false
	for _, m := range coming {
		v := visit{Title: titleOf(m, tell, w), What: w.what(m.Step, l.Case.Surgery.Resorbable)}
		if m.Step == graft.Recall && recalled {
			v.What = "" // said at the first of the row
		}
		recalled = recalled || m.Step == graft.Recall
		if booked, ok := l.Booked[m.ID]; ok {
			v.book(booked, w)
		} else {
			v.plan(m, w)
		}
		visits = append(visits, v)
	}
	for i := range visits {
		visits[i].N = i + 1
	}
	return visits
}

// surgeryVisit is the surgery as the first of the dates, while it lies ahead.
func surgeryVisit(l Letter, w *wording) visit {
	v := visit{Title: w.Surgery.Title, What: w.Surgery.What}
	if booked, ok := l.Booked[graft.SurgeryDay]; ok {
		v.book(booked, w)
		return v
	}
	v.Status, v.StatusMeans = w.Status.Planned, w.Status.PlannedMeans
	v.Day, v.at = fill(w.Dates.Aim, "day", w.day(l.Case.Surgery.Day)), l.Case.Surgery.Day
	return v
}

func (v *visit) book(b Booking, w *wording) {
	v.Status, v.StatusMeans = w.Status.Booked, w.Status.BookedMeans
	v.Day, v.at, v.booked = w.at(b), b.Day, true
}

func (v *visit) plan(m graft.Milestone, w *wording) {
	v.Status, v.StatusMeans = w.Status.Planned, w.Status.PlannedMeans
	v.Day = w.Dates.NoDayYet
	if m.Overdue {
		return // its window is past, and the desk has to find a day soon
	}
	v.Bounds = w.bounds(m)
	if !m.Placed.IsZero() {
		v.Day, v.at = fill(w.Dates.Aim, "day", w.day(m.Placed)), m.Placed
	}
}

// bounds says where a planned visit may fall. A gate has only a lower bound: to
// the patient, later is never too late. A recall has weeks of slack, so the day
// aimed for is enough.
func (w *wording) bounds(m graft.Milestone) string {
	switch from, to := m.Window.Earliest, m.Window.Latest; {
	case m.Step == graft.Recall && !m.Placed.IsZero():
		return ""
	case m.Shift == graft.OnlyLater:
		return fill(w.Dates.NotBefore, "day", w.day(m.Window.NotBefore))
	case from == to:
		return fill(w.Dates.OneDay, "day", w.day(from))
	case from.Year() == to.Year():
		return fill(w.Dates.Between, "from", w.spell(w.Dates.NoYear, from), "to", w.day(to))
	default:
		return fill(w.Dates.Between, "from", w.day(from), "to", w.day(to))
	}
}

// severalFor reports whether the milestones name more than one side or
// restoration, so that each must say which it is for.
func severalFor(milestones []graft.Milestone) bool {
	var one string
	for _, m := range milestones {
		if m.For != "" && one != "" && m.For != one {
			return true
		}
		one = cmp.Or(one, m.For)
	}
	return false
}

// titleOf is the step in plain words, with which of a row it is and, where that
// tells visits apart, whom or what it is for.
func titleOf(m graft.Milestone, tellFor bool, w *wording) string {
	title := w.Steps[m.Step].Title
	if which := w.which(m.Which); which != "" {
		title += ", " + which
	}
	whom := graft.OneLine(m.For)
	if side, ok := w.Sides[graft.Side(whom)]; ok {
		whom = side
	}
	if tellFor && whom != "" {
		title += ", " + whom
	}
	return title
}

func (w *wording) what(step graft.Step, stitchesDissolve bool) string {
	words := w.Steps[step]
	if stitchesDissolve && words.WhatIfStitchesDissolve != "" {
		return words.WhatIfStitchesDissolve
	}
	return words.What
}
