package desk

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
)

// given is what an event told its reader, as the ledger keeps it: everything but
// the numbers that follow from keeping it.
type given struct {
	Day         day.Day    `json:"day"`
	LastDay     day.Day    `json:"last_day,omitzero"`
	Start       day.Clock  `json:"start,omitempty"`
	Minutes     int        `json:"minutes,omitempty"`
	Zone        string     `json:"zone,omitempty"` // of a timed event
	Summary     string     `json:"summary"`
	Description string     `json:"description,omitempty"`
	Location    string     `json:"location,omitempty"`
	Status      ics.Status `json:"status"`
	Transparent bool       `json:"transparent,omitempty"`
	AlarmDays   []int      `json:"alarm_days,omitempty"` // days before the start
}

func givenOf(e ics.Event, zone string) given {
	g := given{e.Day, e.LastDay, e.Start, e.Minutes, "", e.Summary, e.Description, e.Location, e.Status, e.Transparent, nil}
	if e.Minutes > 0 {
		g.Zone = zone
	}
	for _, a := range e.Alarms {
		g.AlarmDays = append(g.AlarmDays, -a.Days)
	}
	return g
}

// event is what was given, as an event again.
func (g given) event(uid string) ics.Event {
	e := ics.Event{
		UID: uid, Day: g.Day, LastDay: g.LastDay, Start: g.Start, Minutes: g.Minutes,
		Summary: g.Summary, Description: g.Description, Location: g.Location, Status: g.Status, Transparent: g.Transparent,
	}
	for _, days := range g.AlarmDays {
		e.Alarms = append(e.Alarms, day.Period{Days: -days})
	}
	return e
}

// sameTime reports whether a reader of both would be there at the same time.
func (g given) sameTime(other given) bool {
	return g.Day == other.Day && g.LastDay == other.LastDay && g.Start == other.Start && g.Minutes == other.Minutes && g.Zone == other.Zone
}

// last is the last day of what was given.
func (g given) last() day.Day { return day.Max(g.Day, g.LastDay) }

func encoded(g given) ([]byte, error) {
	data, err := json.Marshal(g)
	if err != nil {
		return nil, fmt.Errorf("keep what was given out: %w", err)
	}
	return data, nil
}

func decoded(data []byte) (given, error) {
	var g given
	if err := json.Unmarshal(data, &g); err != nil {
		return g, fmt.Errorf("read what was given out: %w", err)
	}
	return g, nil
}

// issues are the latest issues of a case by what they are about.
type issues map[issueKey]ledger.Issue

type issueKey struct {
	milestone graft.MilestoneID
	audience  graft.Audience
}

func issuesOf(list []ledger.Issue) issues {
	all := issues{}
	for _, i := range list {
		all[issueKey{i.Milestone, i.Audience}] = i
	}
	return all
}

// issuer takes what is given out anew: the ledger, or one who only counts.
type issuer interface {
	AddIssue(i ledger.Issue) error
}

// issue holds the events that an audience is about to get against what it got
// before, and records what is new: SEQUENCE rises where the time differs or an
// event is cancelled or comes back, the stamp where anything does. What it got and
// the plan has no more, it records as cancelled.
func (k *Keeper) issue(w issuer, live Live, who graft.Audience, at time.Time) error {
	standing := map[graft.MilestoneID]bool{}
	for _, m := range live.shown(who) {
		standing[m.ID] = true
		data, err := encoded(givenOf(k.event(live.Plan, m, who), k.Clinic.Zone))
		if err != nil {
			return err
		}
		if err := k.issueOne(w, live, issueKey{m.ID, who}, data, false, at); err != nil {
			return err
		}
	}
	for key, before := range live.issues {
		if key.audience != who || standing[key.milestone] {
			continue
		}
		if err := k.issueGone(w, live, key, before, at); err != nil {
			return err
		}
	}
	return nil
}

// issueGone records what the plan has no more as cancelled, and what a feed still shows
// of it in the words that the patient chooses now. There is nothing to call off of what
// is over.
func (k *Keeper) issueGone(w issuer, live Live, key issueKey, before ledger.Issue, at time.Time) error {
	g, err := decoded(before.Event)
	if err != nil {
		return err
	}
	off := before.Cancelled || !live.was(key.milestone)
	switch {
	case before.Cancelled && at.Sub(before.At) >= cancelledShown:
		return nil // no feed shows it any more
	case off && !before.Cancelled && g.last().Before(live.Timeline.On):
		return nil
	}
	data := before.Event
	if now, differs := k.reworded(live.Plan, g); differs && key.audience == graft.ForPatient {
		if data, err = encoded(now); err != nil {
			return err
		}
	}
	return k.issueOne(w, live, key, data, off, at)
}

// was reports whether a milestone has been attended.
func (l Live) was(id graft.MilestoneID) bool {
	m, ok := l.Timeline.Find(id)
	return ok && !m.Attended.IsZero()
}

func (k *Keeper) issueOne(w issuer, live Live, key issueKey, event []byte, cancelled bool, at time.Time) error {
	before, had := live.issues[key]
	if had && before.Cancelled == cancelled && bytes.Equal(before.Event, event) {
		return nil
	}
	now := ledger.Issue{Case: live.Kept.Case, Milestone: key.milestone, Audience: key.audience, Revision: live.Kept.Revision, At: at.UTC().Truncate(time.Second), Cancelled: cancelled, Event: event}
	if had {
		rises, err := timeDiffers(before, now)
		if err != nil {
			return err
		}
		now.Sequence = before.Sequence
		if rises {
			now.Sequence++
		}
		if !now.At.After(before.At) {
			now.At = before.At.Add(time.Second) // of two with one SEQUENCE the later stamp counts
		}
	}
	live.issues[key] = now
	return w.AddIssue(now)
}

// timeDiffers reports whether SEQUENCE has to rise from one issue to the next.
func timeDiffers(before, now ledger.Issue) (bool, error) {
	if before.Cancelled != now.Cancelled {
		return true, nil
	}
	was, err := decoded(before.Event)
	if err != nil {
		return false, err
	}
	is, err := decoded(now.Event)
	return !was.sameTime(is), err
}

// GiveLetters returns the letters of a case as they go out at a moment, and keeps what the
// patient got: the square code of a letter is an entry of the patient's calendar.
func (k *Keeper) GiveLetters(id graft.CaseID, on day.Day, at time.Time, as LetterAs) (Live, Outputs, error) {
	var live Live
	err := k.store.Act(func(w Writing) (err error) {
		if live, err = k.live(w, id, on); err != nil || live.heldBack() != "" {
			return err
		}
		return k.issue(w, live, graft.ForPatient, at)
	})
	if err != nil {
		return live, Outputs{}, err
	}
	if live, err = k.Live(id, on); err != nil {
		return live, Outputs{}, err
	}
	out, err := k.Letters(live.Plan, as)
	return live, out, err
}

// GiveOut returns the files of a case as they go out at a moment, and keeps what
// each reader got, so that the next file can say what has changed.
func (k *Keeper) GiveOut(id graft.CaseID, on day.Day, at time.Time) (Live, Outputs, error) {
	var live Live
	var out Outputs
	err := k.store.Act(func(w Writing) (err error) {
		if live, err = k.live(w, id, on); err != nil {
			return err
		}
		for _, who := range []graft.Audience{graft.ForPatient, graft.ForDesk, graft.ForSurgeon} {
			if who == graft.ForPatient && live.heldBack() != "" {
				continue
			}
			if err := k.issue(w, live, who, at); err != nil {
				return err
			}
		}
		out, err = k.Outputs(live.Plan)
		return err
	})
	return live, out, err
}
