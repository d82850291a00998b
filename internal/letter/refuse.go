package letter

import (
	"fmt"
	"maps"
	"slices"
	"unicode/utf8"

	"graftclock/internal/graft"
)

// check refuses a letter that would leave the patient without help, name the
// wrong patient's dates, or drop a rule of the clinic in silence.
func check(l Letter) error {
	for _, refuse := range []func(Letter) error{checkNumbers, checkFacts, checkAfterCare, checkBookings, checkVisits, checkNextVisit} {
		if err := refuse(l); err != nil {
			return err
		}
	}
	return nil
}

func checkNumbers(l Letter) error {
	switch {
	case graft.OneLine(l.Head.OutOfHours) == "":
		return invalid("no letter without an out-of-hours number", "fill in out_of_hours in the clinic file")
	case graft.OneLine(l.Head.Phone) == "":
		return invalid("no letter without the clinic's phone number", "fill in phone in the clinic file")
	}
	return nil
}

func checkFacts(l Letter) error {
	switch {
	case l.Timeline.Case != l.Case.ID:
		return invalid(fmt.Sprintf("the timeline belongs to case %q, the letter to case %q", l.Timeline.Case, l.Case.ID), "")
	case l.Case.Surgery.Day.IsZero():
		return invalid("no letter without the day of surgery", "")
	case l.Timeline.On.IsZero():
		return invalid("no letter without the day of planning", "")
	}
	return nil
}

func checkAfterCare(l Letter) error {
	for _, preset := range slices.Sorted(maps.Keys(l.AfterCare)) {
		if !slices.Contains(Presets, preset) {
			return invalid(fmt.Sprintf("the letter has no sentence for the after-care preset %q", preset), "")
		}
		if days := l.AfterCare[preset]; days < 1 {
			return invalid(fmt.Sprintf("after-care preset %s: %d is no number of days", preset, days),
				"leave it out to have the letter say \"ask your surgeon\"")
		}
	}
	return nil
}

// checkBookings refuses a booking that would vanish from the letter or
// contradict it.
func checkBookings(l Letter) error {
	for _, id := range slices.Sorted(maps.Keys(l.Booked)) {
		booked := l.Booked[id].Day
		_, known := l.Timeline.Find(id)
		switch {
		case booked.IsZero():
			return invalid(fmt.Sprintf("the booking of %q has no day", id), "")
		case id == graft.SurgeryDay && booked != l.Case.Surgery.Day:
			return invalid(fmt.Sprintf("the surgery is booked for %s, the record says %s", booked, l.Case.Surgery.Day), "plan the case again for the day that is right")
		case id != graft.SurgeryDay && !known:
			return invalid(fmt.Sprintf("the booking of %q belongs to no step of the timeline", id), "")
		}
	}
	return nil
}

// checkVisits refuses a day before the hard bound of a window: the letter must
// never invite anybody too early.
func checkVisits(l Letter) error {
	for _, m := range upcoming(l) {
		if shown := shownDay(l, m); !shown.IsZero() && shown.Before(m.Window.NotBefore) {
			return invalid(fmt.Sprintf("%s on %s is before %s, the first day its window allows", m.Title(), shown, m.Window.NotBefore), "")
		}
		if !slices.Contains(graft.Steps, m.Step) {
			return invalid(fmt.Sprintf("the letter has no words for the step %q", m.Step), "")
		}
	}
	return nil
}

// entryBytes is the longest calendar entry that is drawn: a longer one makes the
// modules of its code too small for a phone.
const entryBytes = 300

// checkNextVisit refuses a calendar entry that no phone would read, or that tells
// of a visit the letter does not.
func checkNextVisit(l Letter) error {
	switch size := len(l.NextVisit.Entry); {
	case size == 0:
		return nil
	case size > entryBytes:
		return invalid(fmt.Sprintf("the calendar entry of the next visit has %d bytes, a square code holds %d here", size, entryBytes), "shorten the clinic's name or address")
	case !utf8.Valid(l.NextVisit.Entry):
		return invalid("the calendar entry of the next visit is not UTF-8", "")
	case !bookedAhead(l):
		return invalid("a calendar entry of the next visit, but no visit that lies ahead is booked for its day and time", "")
	}
	return nil
}

// bookedAhead reports whether a visit that lies ahead is booked for the day and time of
// the calendar entry.
func bookedAhead(l Letter) bool {
	if b, ok := l.Booked[graft.SurgeryDay]; ok && l.Case.Ahead(l.Timeline.On) && b == l.NextVisit.When {
		return true
	}
	return slices.ContainsFunc(upcoming(l), func(m graft.Milestone) bool {
		b, ok := l.Booked[m.ID]
		return ok && b == l.NextVisit.When
	})
}

func invalid(message, hint string) error {
	return &graft.Refusal{Kind: graft.Invalid, Message: message, Hint: hint}
}
