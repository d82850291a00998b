package desk_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/ledger"
	"graftclock/internal/reference/radicale"
)

// text changes one text of an entry into another.
func text(from, to string) func(string) string {
	return func(data string) string { return strings.Replace(data, from, to, 1) }
}

var (
	startOfVisit = regexp.MustCompile(`DTSTART;TZID=[^:\r\n]*:\S+`)
	endOfVisit   = regexp.MustCompile(`DTEND;TZID=[^:\r\n]*:\S+`)
)

// times gives an entry other lines for its start and its end.
func times(start, end string) func(string) string {
	return func(data string) string {
		return endOfVisit.ReplaceAllLiteralString(startOfVisit.ReplaceAllLiteralString(data, start), end)
	}
}

// timesTo gives an entry another start and end, on the clocks of the clinic.
func timesTo(start, end string) func(string) string {
	return times("DTSTART;TZID=Europe/Dublin:"+start, "DTEND;TZID=Europe/Dublin:"+end)
}

// all makes one edit of several.
func all(edits ...func(string) string) func(string) string {
	return func(data string) string {
		for _, edit := range edits {
			data = edit(data)
		}
		return data
	}
}

// elsewhere writes an entry anew, for the same time, as a program does that works on
// the clocks of another zone.
func elsewhere(zone string) func(string) string {
	return func(data string) string {
		events, err := ics.Read([]byte(data), zone)
		if err != nil || len(events) != 1 {
			return data
		}
		e := events[0]
		written, err := ics.Encode(ics.Calendar{Zone: zone, Stamp: e.Start, Events: []ics.Event{{
			UID: e.UID, Day: day.Of(e.Start), Start: day.Clock(e.Start.Hour()*60 + e.Start.Minute()), Minutes: int(e.End.Sub(e.Start).Minutes()),
			Summary: e.Summary, Description: e.Description, Location: e.Location, Status: e.Status, Sequence: e.Sequence + 1,
			Alarms: alarmsOf(e),
		}}})
		if err != nil {
			return data
		}
		return string(written)
	}
}

// alarmsOf are the alarms of an entry, which all come whole days before it.
func alarmsOf(e ics.Seen) []day.Period {
	var list []day.Period
	for _, what := range e.Extra {
		if seconds, ok := strings.CutPrefix(what, "alarm "); ok {
			n, _ := strconv.Atoi(seconds)
			list = append(list, day.Period{Days: n / (24 * 60 * 60)})
		}
	}
	return list
}

// edits are what somebody may do to an entry, and what pull says to that. The wound
// check is booked for Tuesday 26 January at 10:00, its window runs from the 21st to
// the 28th; the uncovering for 24 August at 9:00, its window begins on the 7th.
var edits = []struct {
	name   string
	step   graft.Step
	change func(*casefile.Clinic)
	before func(*sharing)
	edit   func(string) string
	same   bool   // nobody would say that it is another
	move   string // where it can be moved
	why    string // why it cannot
	own    string // what pull says of the rest once it is moved; empty: nothing of theirs is in it
}{
	{
		name: "dragged to a free time of another day", step: graft.WoundCheck,
		edit: timesTo("20270127T110000", "20270127T112000"), move: "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate",
	},
	{
		name: "dragged to a free time of the same day", step: graft.WoundCheck,
		edit: timesTo("20270126T133000", "20270126T135000"), move: "Tue 2027-01-26 13:30-13:50, Surgery 1, Nurse Wyn Tate",
	},
	{
		name: "written with a length instead of an end", step: graft.WoundCheck,
		edit: times("DTSTART;TZID=Europe/Dublin:20270127T110000", "DURATION:PT20M"), move: "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate",
	},
	{name: "the same time on the clocks of another zone", step: graft.Uncovering, edit: elsewhere("America/New_York"), same: true},
	{name: "the same time in UTC", step: graft.Uncovering, edit: times("DTSTART:20270824T080000Z", "DTEND:20270824T084500Z"), same: true},
	{
		name: "the same wall time on the clocks of another zone", step: graft.WoundCheck,
		edit: times("DTSTART;TZID=Europe/Berlin:20270126T100000", "DTEND;TZID=Europe/Berlin:20270126T102000"), move: "Tue 2027-01-26 09:00-09:20, Surgery 1, Nurse Wyn Tate",
	},
	{
		name: "dragged before its gate", step: graft.Uncovering,
		edit: timesTo("20270729T090000", "20270729T094500"), why: "Thursday 29 July 2027 is before its gate, Saturday 7 August 2027",
	},
	{
		name: "dragged behind its window", step: graft.WoundCheck,
		edit: timesTo("20270201T100000", "20270201T102000"), why: "Monday 1 February 2027 is outside its window, 2027-01-21 to 2027-01-28",
	},
	{
		name: "dragged into the past", step: graft.WoundCheck,
		before: func(s *sharing) { s.ida = acting(s.T, s.keeper, "Ida Marlow", "2027-01-25") },
		edit:   timesTo("20270122T100000", "20270122T102000"), why: "Friday 22 January 2027 is past",
	},
	{
		name: "dragged to a Sunday", step: graft.WoundCheck,
		edit: timesTo("20270124T100000", "20270124T102000"), why: "closed on Sundays",
	},
	{
		name: "dragged into the summer closure", step: graft.Uncovering,
		edit: timesTo("20270812T090000", "20270812T094500"), why: "closed: Summer closure",
	},
	{
		name: "dragged to a day without the surgeon", step: graft.Uncovering,
		edit: timesTo("20270825T090000", "20270825T094500"), why: "no surgeon in on Wednesdays",
	},
	{
		name: "dragged into the lunch hour", step: graft.WoundCheck,
		edit: timesTo("20270127T121500", "20270127T123500"), why: "open 08:30-12:30, 13:30-17:00 only",
	},
	{
		name: "dragged off the grid", step: graft.WoundCheck,
		edit: timesTo("20270127T110500", "20270127T112500"), why: "visits start every 15 minutes",
	},
	{
		name: "dragged to where the patient cannot come", step: graft.WoundCheck,
		before: func(s *sharing) {
			if _, err := s.keeper.Set(s.ida, "HR-2041", []string{"patient.unavailable+=2027-01-27"}, ""); err != nil {
				s.Fatal(err)
			}
		},
		edit: timesTo("20270127T110000", "20270127T112000"), why: "the patient cannot come",
	},
	{
		name: "dragged onto a room that is taken", step: graft.WoundCheck,
		change: func(c *casefile.Clinic) {
			c.People = append(c.People, clinic.Person{Name: "Nurse Tam Reed", Role: "nurse"})
		},
		before: neighbour("", "Nurse Tam Reed"),
		edit:   timesTo("20270127T110000", "20270127T112000"), why: "Surgery 1 is taken 11:00-11:20: HR-3001 Ansel Birch, wound-check",
	},
	{
		name: "dragged onto a person who is taken", step: graft.WoundCheck,
		change: secondRoom, before: neighbour("Surgery 2", ""),
		edit: timesTo("20270127T110000", "20270127T112000"), why: "Nurse Wyn Tate is taken 11:00-11:20: HR-3001 Ansel Birch, wound-check",
	},
	{
		name: "dragged onto a person who is taken, with another free", step: graft.WoundCheck,
		change: func(c *casefile.Clinic) {
			secondRoom(c)
			c.People = append(c.People, clinic.Person{Name: "Nurse Tam Reed", Role: "nurse"})
		},
		before: neighbour("Surgery 2", "Nurse Wyn Tate"),
		edit:   timesTo("20270127T110000", "20270127T112000"), move: "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Tam Reed",
	},
	{
		name: "put into another room", step: graft.WoundCheck, change: secondRoom,
		edit: text("LOCATION:Surgery 1", "LOCATION:Surgery 2"), move: "Tue 2027-01-26 10:00-10:20, Surgery 2, Nurse Wyn Tate",
	},
	{
		name: "put into a room that is none", step: graft.WoundCheck,
		edit: text("LOCATION:Surgery 1", "LOCATION:The garden"), why: "The garden cannot be had for it that day",
	},
	{
		name: "made longer", step: graft.WoundCheck,
		edit: timesTo("20270126T100000", "20270126T110000"), why: "it lasts 60 minutes there; the visit takes 20",
	},
	{
		name: "made all-day", step: graft.WoundCheck,
		edit: times("DTSTART;VALUE=DATE:20270126", "DTEND;VALUE=DATE:20270127"), why: "it takes whole days there",
	},
	{
		name: "made to repeat", step: graft.WoundCheck,
		edit: text("BEGIN:VEVENT", "BEGIN:VEVENT\r\nRRULE:FREQ=WEEKLY;COUNT=3"), why: "it repeats there",
	},
	{
		name: "made one of a series, with one moved", step: graft.WoundCheck,
		edit: series, why: "it repeats there",
	},
	{
		name: "cancelled there", step: graft.WoundCheck,
		edit: text("STATUS:CONFIRMED", "STATUS:CANCELLED"), why: "it is cancelled there",
	},
	{
		name: "given a title of its own", step: graft.WoundCheck,
		edit: text("SUMMARY:HR-2041", "SUMMARY:rang\\, comes at ten: HR-2041"), why: "its words were changed, not its time",
	},
	{
		name: "given a note of its own", step: graft.WoundCheck,
		edit: text("DESCRIPTION:Booked", "DESCRIPTION:bring the plate\\nBooked"), why: "its words were changed, not its time",
	},
	{
		name: "given a title and dragged", step: graft.WoundCheck,
		edit: all(text("SUMMARY:HR-2041", "SUMMARY:rang: HR-2041"), timesTo("20270127T110000", "20270127T112000")),
		move: "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate", own: "its words were changed, not its time",
	},
	{name: "given an alarm", step: graft.WoundCheck, edit: text("END:VEVENT", anAlarm+"END:VEVENT"), why: otherThings},
	{name: "given a guest", step: graft.WoundCheck, edit: text("BEGIN:VEVENT", "BEGIN:VEVENT\r\nORGANIZER:mailto:desk@harbour-row.example\r\nATTENDEE:mailto:wyn@harbour-row.example"), why: otherThings},
	{name: "given a category", step: graft.WoundCheck, edit: text("BEGIN:VEVENT", "BEGIN:VEVENT\r\nCATEGORIES:Interpreter"), why: otherThings},
	{name: "marked as not sure", step: graft.WoundCheck, edit: text("STATUS:CONFIRMED", "STATUS:TENTATIVE"), why: otherThings},
	{
		name: "given an alarm and dragged", step: graft.WoundCheck,
		edit: all(text("END:VEVENT", anAlarm+"END:VEVENT"), timesTo("20270127T110000", "20270127T112000")),
		move: "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate", own: otherThings,
	},
	{
		name: "put into a zone that nobody knows", step: graft.WoundCheck,
		edit: times("DTSTART;TZID=Harbour Time:20270126T100000", "DTEND;TZID=Harbour Time:20270126T102000"), why: "it cannot be read: ",
	},
}

const (
	anAlarm     = "BEGIN:VALARM\r\nACTION:DISPLAY\r\nTRIGGER:-PT2H\r\nDESCRIPTION:ring\r\nEND:VALARM\r\n"
	otherThings = "guests, links, alarms or the like were changed, not its time"
)

// series makes an entry repeat, with one of its days moved, which it tells first.
func series(data string) string {
	uid := regexp.MustCompile(`\r\nUID:\S+\r\n`).FindString(data)
	moved := "BEGIN:VEVENT" + uid + "RECURRENCE-ID:20270202T100000Z\r\nDTSTAMP:20270118T080000Z\r\nDTSTART:20270203T100000Z\r\nDTEND:20270203T102000Z\r\nEND:VEVENT\r\n"
	return strings.Replace(data, "BEGIN:VEVENT", moved+"BEGIN:VEVENT\r\nRRULE:FREQ=WEEKLY;COUNT=3", 1)
}

func secondRoom(c *casefile.Clinic) {
	c.Rooms = append(c.Rooms, clinic.Room{Name: "Surgery 2", For: []string{"check"}})
}

// neighbour books another patient for 27 January at 11:00.
func neighbour(room, person string) func(*sharing) {
	return func(s *sharing) {
		other := admit(s.T, s.keeper, s.ida, "fenwick", "case=HR-3001", "patient.name=Ansel Birch")
		slot := at("2027-01-27", "11:00")
		slot.Room, slot.Person = room, person
		if _, _, err := s.keeper.Book(s.ida, other, wound(), slot, ""); err != nil {
			s.Fatal(err)
		}
	}
}

// TestWhatSomebodyDoesInTheCalendar makes one edit each time. Pull says what it is
// and changes nothing on either side; what cannot be moved cannot be taken over
// either; what is put back is as it was.
func TestWhatSomebodyDoesInTheCalendar(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for n, c := range edits {
		t.Run(c.name, func(t *testing.T) {
			if (underRace || testing.Short()) && n%4 > 0 {
				t.Skip("one of four will do")
			}
			var changes []func(*casefile.Clinic)
			if c.change != nil {
				changes = append(changes, c.change)
			}
			s := share(t, server, changes...)
			id := twoVisits(s)
			if c.before != nil {
				c.before(s)
			}
			s.publish()
			was := s.shows(s.object(id, c.step))
			s.edit(id, c.step, c.edit)
			edited := s.object(id, c.step)
			if c.same {
				s.wantRest()
				return
			}
			before := s.inLedger(id)
			p := s.wantPulled(id, c.step, c.move, c.why)
			if c.why == "it repeats there" && p.There.Day != on("2027-01-26") {
				t.Errorf("the first of its days is %s", p.There.Day)
			}
			s.wantTold(s.publish(), fmt.Sprintf("%s %s: keep: changed in the calendar: graftclock pull", id, p.Milestone.Title()))
			if _, err := s.keeper.TakeOver(s.ida, p); c.move == "" {
				refusalOf(t, err, graft.Conflict, c.why)
			}
			if c.move == "" {
				if diff := cmp.Diff(before, s.inLedger(id)) + cmp.Diff(edited, s.object(id, c.step)); diff != "" {
					t.Errorf("(-before +after):\n%s", diff)
				}
				s.wantPutBack(p, was)
				return
			}
			if c.own != "" {
				// The move is taken over; what somebody wrote in it is theirs.
				kept := s.object(id, c.step)
				s.wantTold(s.publish(), fmt.Sprintf("%s %s: keep: changed in the calendar: graftclock pull", id, p.Milestone.Title()))
				if diff := cmp.Diff(kept, s.object(id, c.step)); diff != "" {
					t.Errorf("(-before +after):\n%s", diff)
				}
				rest := s.wantPulled(id, c.step, "", c.own)
				if _, err := s.keeper.PutBack(s.Context(), s.shelf, rest, s.ida.On, s.ida.At); err != nil {
					t.Fatal(err)
				}
				if seen := s.shows(s.object(id, c.step)); seen.Summary != was.Summary || !slices.Equal(seen.Extra, was.Extra) {
					t.Errorf("put back: %+v, was %+v", seen, was)
				}
				s.wantRest()
				return
			}
			s.wantTakenOver(p, c.move, was)
		})
	}
}

// wantPulled wants one visit to differ, and pull to change neither ledger nor
// calendar, however often it is asked.
func (s *sharing) wantPulled(id graft.CaseID, step graft.Step, move, why string) desk.Pulled {
	s.Helper()
	before, calendar, wrote := s.inLedger(id), s.calendar(), s.wire.written()
	var p desk.Pulled
	for range 2 {
		pulled := s.pull()
		if len(pulled) != 1 {
			s.Fatalf("pulled %+v", pulled)
		}
		p = pulled[0]
	}
	got := p.Move.String()
	if move == "" {
		move = graft.Slot{}.String()
	}
	if p.Case != id || !strings.HasPrefix(string(p.Milestone), string(step)+"/") || p.Did != desk.Keeps || got != move || !strings.HasPrefix(p.Why, why) || (why == "") != (p.Why == "") {
		s.Errorf("move %q, want %q; why %q, want %q\n%+v", got, move, p.Why, why, p.Shelving)
	}
	if diff := cmp.Diff(before, s.inLedger(id)) + cmp.Diff(calendar, s.calendar()); diff != "" || s.wire.written() != wrote {
		s.Errorf("sent %v; (-before +after):\n%s", s.wire.sent, diff)
	}
	return p
}

// wantPutBack puts a visit back and wants it as it was.
func (s *sharing) wantPutBack(p desk.Pulled, was ics.Seen) {
	s.Helper()
	did, err := s.keeper.PutBack(s.Context(), s.shelf, p, s.ida.On, s.ida.At)
	if err != nil {
		s.Fatal(err)
	}
	if did.Did != desk.Changes {
		s.Errorf("did %+v", did)
	}
	if diff := cmp.Diff(was, s.shows(s.object(p.Case, stepOf(p)))); diff != "" {
		s.Errorf("put back (-want +got):\n%s", diff)
	}
	s.wantRest()
}

// wantTakenOver moves a visit as it was dragged; the next run brings the words of
// the entry up to date, and then all is at rest.
func (s *sharing) wantTakenOver(p desk.Pulled, slot string, was ics.Seen) {
	s.Helper()
	live, err := s.keeper.Live(p.Case, s.ida.On)
	if err != nil {
		s.Fatal(err)
	}
	v, _ := live.Latest(p.Milestone)
	if v.State != ledger.Booked || v.Slot.String() != slot || v.Why != "moved in the calendar" || v.By != "Ida Marlow" {
		s.Errorf("the ledger has %+v", v)
	}
	moved := 0
	for _, old := range live.Visits {
		if old.Milestone == p.Milestone && old.State == ledger.Moved {
			moved++
		}
	}
	if moved != 1 {
		s.Errorf("%d visits ended as moved", moved)
	}
	s.wantTold(s.publish(), fmt.Sprintf("%s %s: change", p.Case, p.Milestone.Title()))
	seen, sequence := s.shows(s.object(p.Case, stepOf(p))), was.Sequence
	if !seen.Start.Equal(was.Start) {
		sequence++
	}
	if day.Of(seen.Start) != v.Day || seen.Location != v.Room || !strings.HasPrefix(seen.Description, "Booked: "+slot) || seen.Summary != was.Summary || seen.Sequence != sequence {
		s.Errorf("the entry says %+v", seen)
	}
	s.wantRest()
}

func stepOf(p desk.Pulled) graft.Step {
	step, _, _ := p.Milestone.Parts()
	return step
}
