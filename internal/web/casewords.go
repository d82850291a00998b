package web

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// shortDay finds a day as the desk writes it, with its weekday or without.
var shortDay = regexp.MustCompile(`(?:\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) )?\b\d{4}-\d{2}-\d{2}\b`)

// shortTimes finds a time of day from when to when, and runOfDays a run of days, as the
// desk writes them.
var (
	shortTimes = regexp.MustCompile(`\b(\d{2}:\d{2})-(\d{2}:\d{2})\b`)
	runOfDays  = regexp.MustCompile(`\b(\d{4}-\d{2}-\d{2})\.\.(\d{4}-\d{2}-\d{2})\b`)
)

// stepWords writes the steps as words, without the hyphens of their names in a record.
var stepWords = func() *strings.Replacer {
	var pairs []string
	for _, step := range graft.Steps {
		if step != graft.ReEntry { // which has one of its own
			pairs = append(pairs, string(step), strings.ReplaceAll(string(step), "-", " "))
		}
	}
	return strings.NewReplacer(pairs...)
}()

// half writes half a line of a reason: spelled, the steps as words, and begun as a sentence.
func half(text string) string { return capital(spelled(stepWords.Replace(text))) }

// spelled writes every day of a text with its weekday and the name of its month, and
// from when to when in words.
func spelled(text string) string {
	if strings.Contains(text, "..") {
		text = runOfDays.ReplaceAllString(text, "$1 to $2")
	}
	if strings.Contains(text, ":") {
		text = shortTimes.ReplaceAllString(text, "$1 to $2")
	}
	return shortDay.ReplaceAllStringFunc(text, func(found string) string {
		d, err := day.Parse(found[len(found)-len("2006-01-02"):])
		if err != nil {
			return found
		}
		return longDay(d)
	})
}

// slotWords writes a time for a person: "Thu 28 January 2027, 09:00 to 09:20,
// Surgery 1, Nurse Wyn Tate".
func slotWords(s graft.Slot) string {
	parts := []string{longDay(s.Day)}
	if s.Minutes > 0 {
		parts = append(parts, s.Start.String()+" to "+s.End().String())
	}
	for _, part := range []string{s.Room, s.Person} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, ", ")
}

// stepName is a step with which of a row it is, as a heading: "Recall 3 months".
func stepName(m graft.Milestone) string {
	name := strings.ReplaceAll(string(m.Step), "-", " ")
	if m.Which != "" {
		name += " " + m.Which
	}
	return capital(name)
}

// stepTitle is a step with whom it is for: "Recall 3 months, right bridge".
func stepTitle(m graft.Milestone) string {
	if m.For == "" {
		return stepName(m)
	}
	return stepName(m) + ", " + m.For
}

// titleOf is stepTitle of an id.
func titleOf(id graft.MilestoneID) string {
	step, whom, which := id.Parts()
	return stepTitle(graft.Milestone{Step: step, For: whom, Which: which})
}

func capital(text string) string {
	if text == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// windowWords tells a window in words; nothing of one that has no days yet.
func windowWords(w graft.Window) string {
	if w.Latest.IsZero() {
		return ""
	}
	text := "Window " + longSpan(w.Earliest, w.Latest) + ", best " + longDay(w.Target)
	if w.NotBefore != w.Earliest {
		text += ", not before " + longDay(w.NotBefore)
	}
	return text
}

// stance says where a step stands: in a word or two, as the axis has it, and in a
// sentence that begins with them or others.
type stance struct{ Short, Word, Rest string }

// The stances of a step that only lies ahead.
const (
	stillPlanned = "planned"
	stillToDo    = "to do"
)

// standing says where a step stands.
func standing(live desk.Live, m graft.Milestone) stance {
	on, state := live.Timeline.On, live.State(m.ID)
	switch misfit, misfits := misfitOf(live, m.ID); {
	case !m.Attended.IsZero() && m.Visit == "":
		return stance{"done", "Done", " on " + longDay(m.Attended)}
	case !m.Attended.IsZero():
		return stance{"attended", "Attended", " on " + longDay(m.Attended)}
	case misfits:
		return stance{"to settle", "Booked, to settle:", " " + slotWords(misfit.Was) + ". It no longer fits: " + spelled(misfit.Why)}
	case m.Booked && m.Placed.Before(on):
		return stance{"not recorded", "Booked, not recorded", " whether the patient came: " + slotWords(m.Slot)}
	case m.Booked:
		return stance{"booked", "Booked", " for " + slotWords(m.Slot) + confirmedWords(live, m.ID)}
	case m.Window.Latest.IsZero():
		return stance{"waits", "No date yet:", " it waits for a step without one"}
	case m.Placed.IsZero():
		return stance{"no day", "No day", " is left in its window"}
	}
	s := waiting(m, state)
	if m.Overdue {
		s.Short, s.Word, s.Rest = "overdue", "Overdue since "+longDay(m.Window.Latest)+".", " "+s.Word+s.Rest
	}
	return s
}

// waiting says where a step stands that has a day and is not booked.
func waiting(m graft.Milestone, state ledger.State) stance {
	proposed := ", proposed " + longDay(m.Placed)
	switch {
	case m.Visit == "":
		return stance{stillToDo, "To be done", " on " + longDay(m.Placed)}
	case state == ledger.WindowHeld:
		return stance{"window held", "Window held", ", no time booked" + proposed}
	case state == ledger.Missed:
		return stance{"missed", "Missed,", " to be booked again" + proposed}
	case state == ledger.Cancelled:
		return stance{"given back", "Given back,", " to be booked again" + proposed}
	case state == ledger.Moved, state == ledger.Superseded:
		return stance{"to book", "To be booked again", proposed}
	case m.Firm:
		return stance{"to book", "To be booked", proposed}
	}
	return stance{stillPlanned, "Planned", proposed}
}

func confirmedWords(live desk.Live, id graft.MilestoneID) string {
	if v, ok := live.Latest(id); ok && live.ConfirmedVisit(v) {
		return ", confirmed by the patient"
	}
	return ", not confirmed yet"
}

// misfitOf returns what is proposed for a booked visit that does not fit the plan.
// Unlike Unsettled it asks for no other offers.
func misfitOf(live desk.Live, id graft.MilestoneID) (desk.Settlement, bool) {
	for _, misfit := range live.Misfits {
		if misfit.ID != id {
			continue
		}
		m, _ := live.Timeline.Find(id)
		s := desk.Settlement{Case: live.Kept.Case, ID: id, Was: misfit.Booked, Why: misfit.Says, Hold: !m.Firm}
		if !m.Placed.IsZero() {
			s.Proposal = m.Slot
		}
		return s, true
	}
	return desk.Settlement{}, false
}

// doesWords is what settling does with a visit, as a sentence's end.
func doesWords(s desk.Settlement) string {
	switch {
	case s.Proposal.Day.IsZero():
		return "give it back; the plan has no day for it"
	case s.Hold:
		return "give the time back and hold the window round " + longDay(s.Proposal.Day)
	}
	return "move it to " + slotWords(s.Proposal)
}

// overrideWords sets a surgeon's own day beside the computed one.
func overrideWords(o graft.Override) string {
	return fmt.Sprintf("Set to %s by %s on %s: %s. Computed: not before %s, best %s", longDay(o.Day), o.By, longDay(o.On), o.Why, longDay(o.Computed.NotBefore), longDay(o.Computed.Target))
}

// daysWords says how far a day moves: "98 days later".
func daysWords(n int) string {
	switch {
	case n < 0:
		return plural(-n, "day", "days") + " earlier"
	case n > 0:
		return plural(n, "day", "days") + " later"
	}
	return "the same day"
}
