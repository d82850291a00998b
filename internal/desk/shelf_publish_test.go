package desk_test

import (
	"context"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ics"
	"graftclock/internal/reference/icalread"
	"graftclock/internal/reference/radicale"
)

// TestPublish publishes into calendars of one server and looks at what lies there
// with the eyes of others.
func TestPublish(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for _, c := range []struct {
		name string
		test func(*sharing)
	}{
		{"every booked visit is an entry that all readers understand", publishedIsRead},
		{"a moved visit is changed in its place", publishedIsMoved},
		{"a visit that is off is taken down, and comes back", publishedIsOff},
		{"what has been stays as it is", publishedHasBeen},
		{"a visit that waits to be settled stays as it is", publishedDoesNotFit},
		{"the next morning there is nothing to do", publishedNextMorning},
		{"a dry run writes nothing", publishedDry},
		{"nothing of somebody else is written over", publishedConflict},
		{"entries of others are never touched", publishedBesideOthers},
		{"what only the server has rewritten is nobody's change", publishedRewritten},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(share(t, server)) })
	}
}

// twoVisits admits the demo case and books two of its visits.
func twoVisits(s *sharing) graft.CaseID {
	s.Helper()
	id := admit(s.T, s.keeper, s.ida, "fenwick")
	s.book(id, graft.WoundCheck, "2027-01-26", "10:00")
	s.book(id, graft.Uncovering, "2027-08-24", "09:00")
	return id
}

const (
	woundAdded      = "HR-2041 wound-check: add"
	uncoveringAdded = "HR-2041 uncovering, right bridge: add"
)

// publishedIsRead publishes two patients, one of them with an odd name, and has five
// readers read what the server gives back.
func publishedIsRead(s *sharing) {
	twoVisits(s)
	odd := admit(s.T, s.keeper, s.ida, "okafor", `patient.name=Żółć; "上顎", O'Dé`)
	s.book(odd, graft.WoundCheck, "2027-02-19", "09:30")
	s.wantTold(s.publish(), woundAdded, uncoveringAdded, string(odd)+" wound-check: add")
	if s.wire.count("PUT") != 3 || s.wire.written() != 3 {
		s.Errorf("sent %v", s.wire.sent)
	}
	folder, want := s.TempDir(), map[string][]icalread.Event{}
	for path, o := range s.calendar() {
		file := filepath.Join(folder, filepath.Base(path))
		if err := os.WriteFile(file, o.Data, 0o600); err != nil {
			s.Fatal(err)
		}
		want[file] = []icalread.Event{expected(s, strings.TrimSuffix(filepath.Base(path), ".ics"))}
	}
	if len(want) != 3 {
		s.Errorf("%d entries for three visits", len(want))
	}
	icalread.Check(s.T, want)
	s.wantRest()
}

// expected is what the ledger says of the event of a name.
func expected(s *sharing, uid string) icalread.Event {
	s.Helper()
	lives, err := s.keeper.All(s.ida.On)
	if err != nil {
		s.Fatal(err)
	}
	for _, live := range lives {
		_, out, err := s.keeper.GiveOut(live.Kept.Case, s.ida.On, s.ida.At)
		if err != nil {
			s.Fatal(err)
		}
		for _, f := range out.Files {
			events, _ := ics.Read(f.Data, s.keeper.Clinic.Zone)
			for _, e := range events {
				if e.UID == uid {
					return fromDeskFile(s, live, e)
				}
			}
		}
	}
	s.Fatalf("the calendar has %s, which no file of the desk has", uid)
	return icalread.Event{}
}

// fromDeskFile is the event of a visit: its time, room, title and alarms from the
// ledger, its long text from the file that the desk gets.
func fromDeskFile(s *sharing, live desk.Live, e ics.Seen) icalread.Event {
	s.Helper()
	zone, err := time.LoadLocation(s.keeper.Clinic.Zone)
	if err != nil {
		s.Fatal(err)
	}
	for _, v := range live.Visits {
		year, month, dayOfMonth := v.Day.Date()
		start := time.Date(year, month, dayOfMonth, 0, int(v.Start), 0, 0, zone)
		if !start.Equal(e.Start) {
			continue
		}
		const dayLong, longAhead = 24 * 60 * 60, 28
		alarms := []int{-3 * dayLong, -dayLong}
		if v.Day.Sub(day.Of(v.Booked)) > longAhead {
			alarms = append([]int{-10 * dayLong}, alarms...)
		}
		return icalread.Event{
			UID: e.UID, Start: start.UTC().Format(time.RFC3339), End: start.Add(time.Duration(v.Minutes) * time.Minute).UTC().Format(time.RFC3339),
			Summary:     string(live.Kept.Case) + " " + live.Kept.Patient + ": " + v.Milestone.Title(),
			Description: e.Description, Location: v.Room, Status: "CONFIRMED", Alarms: alarms,
		}
	}
	s.Fatalf("no visit of %s begins at %s", live.Kept.Case, e.Start)
	return icalread.Event{}
}

func publishedIsMoved(s *sharing) {
	id := twoVisits(s)
	s.publish()
	before, other := s.object(id, graft.WoundCheck), s.object(id, graft.Uncovering)
	if _, _, err := s.keeper.Move(s.ida, id, wound(), at("2027-01-27", "11:15"), ""); err != nil {
		s.Fatal(err)
	}
	s.ida.At = s.ida.At.Add(time.Hour)
	s.wantTold(s.publish(), "HR-2041 wound-check: change")
	if s.wire.count("PUT") != 3 || s.wire.count("GET") != 0 {
		s.Errorf("sent %v", s.wire.sent)
	}
	after := s.object(id, graft.WoundCheck)
	was, is := s.shows(before), s.shows(after)
	if after.Path != before.Path || is.UID != was.UID || is.Start.UTC().Format(time.RFC3339) != "2027-01-27T11:15:00Z" || is.Sequence != was.Sequence+1 {
		s.Errorf("it was\n%+v\nat %s, it is\n%+v\nat %s", was, before.Path, is, after.Path)
	}
	if !strings.Contains(is.Description, "Booked: Wed 2027-01-27 11:15-11:35") {
		s.Errorf("it says %q", is.Description)
	}
	if diff := cmp.Diff(other, s.object(id, graft.Uncovering)); diff != "" || len(s.calendar()) != 2 {
		s.Errorf("the other visit, of %d entries (-was +is):\n%s", len(s.calendar()), diff)
	}
	s.wantRest()
}

func publishedIsOff(s *sharing) {
	id := twoVisits(s)
	s.publish()
	first := s.object(id, graft.WoundCheck)
	if _, _, err := s.keeper.Cancel(s.ida, id, wound(), "ill"); err != nil {
		s.Fatal(err)
	}
	s.wantTold(s.publish(), "HR-2041 wound-check: remove")
	if got := slices.Collect(maps.Keys(s.calendar())); !slices.Equal(got, []string{s.object(id, graft.Uncovering).Path}) {
		s.Errorf("left: %v", got)
	}
	s.wantRest()
	s.book(id, graft.WoundCheck, "2027-01-27", "09:00")
	s.wantTold(s.publish(), woundAdded)
	again := s.object(id, graft.WoundCheck)
	if again.Path != first.Path || s.shows(again).Sequence <= s.shows(first).Sequence {
		s.Errorf("at %s with SEQUENCE %d, before at %s with %d", again.Path, s.shows(again).Sequence, first.Path, s.shows(first).Sequence)
	}
	s.wantRest()
}

// publishedHasBeen ticks one visit as attended and one as missed: both stay in the
// calendar until the missed one is booked anew.
func publishedHasBeen(s *sharing) {
	id := twoVisits(s)
	other := admit(s.T, s.keeper, s.ida, "fenwick", "case=HR-3001", "patient.name=Ansel Birch")
	s.book(other, graft.WoundCheck, "2027-01-26", "11:00")
	s.publish()
	before := s.calendar()
	s.ida = acting(s.T, s.keeper, "Ida Marlow", "2027-01-26")
	_, _, err := s.keeper.Attended(s.ida, id, wound(), day.Day{}, "")
	if err != nil {
		s.Fatal(err)
	}
	if _, _, err := s.keeper.Missed(s.ida, other, wound(), "no call"); err != nil {
		s.Fatal(err)
	}
	for _, d := range s.publish() {
		if d.Milestone.Title() == "wound-check" {
			s.Errorf("%s of %s: %s", d.Milestone, d.Case, d.Did)
		}
	}
	for _, of := range []graft.CaseID{id, other} {
		o := s.object(of, graft.WoundCheck)
		if diff := cmp.Diff(before[o.Path], o); diff != "" {
			s.Errorf("%s (-was +is):\n%s", of, diff)
		}
	}
	s.wantRest()
	s.book(other, graft.WoundCheck, "2027-01-28", "11:00")
	s.wantTold(s.publish(), "HR-3001 wound-check: change")
	s.wantRest()
}

// publishedDoesNotFit makes a visit impossible: until somebody settles it, it is
// neither moved nor removed.
func publishedDoesNotFit(s *sharing) {
	id := twoVisits(s)
	s.publish()
	before := s.object(id, graft.WoundCheck)
	if _, err := s.keeper.Set(s.ida, id, []string{"patient.unavailable+=2027-01-26"}, ""); err != nil {
		s.Fatal(err)
	}
	for _, d := range s.publish() {
		if d.Milestone.Title() == "wound-check" {
			s.Errorf("%+v", d)
		}
	}
	if diff := cmp.Diff(before, s.object(id, graft.WoundCheck)); diff != "" {
		s.Errorf("(-was +is):\n%s", diff)
	}
	if _, _, err := s.keeper.Settle(s.ida, id, ""); err != nil {
		s.Fatal(err)
	}
	s.wantTold(s.publish(), "HR-2041 wound-check: change")
	s.wantRest()
}

func publishedNextMorning(s *sharing) {
	twoVisits(s)
	s.publish()
	for range 8 {
		s.ida.On, s.ida.At = s.ida.On.AddDays(1), s.ida.At.AddDate(0, 0, 1)
		s.wantRest()
	}
}

func publishedDry(s *sharing) {
	id := twoVisits(s)
	dry := func(want ...string) {
		s.Helper()
		before, rows, calendar, wrote := s.inLedger(id), s.rows(), s.calendar(), s.wire.written()
		did, err := s.keeper.Publish(s.Context(), s.shelf, s.ida.On, s.ida.At.Add(time.Hour), true)
		if err != nil {
			s.Fatal(err)
		}
		s.wantTold(did, want...)
		if diff := cmp.Diff(before, s.inLedger(id)) + cmp.Diff(rows, s.rows()) + cmp.Diff(calendar, s.calendar()); diff != "" {
			s.Errorf("it wrote (-before +after):\n%s", diff)
		}
		if s.wire.written() != wrote {
			s.Errorf("it sent %v", s.wire.sent)
		}
	}
	dry(woundAdded, uncoveringAdded)
	s.publish()
	dry()
	if _, _, err := s.keeper.Move(s.ida, id, wound(), at("2027-01-27", "11:15"), ""); err != nil {
		s.Fatal(err)
	}
	quill := acting(s.T, s.keeper, "Dr Alba Quill", "2027-01-18")
	if _, _, err := s.keeper.Cancel(quill, id, desk.Choice{Step: graft.Uncovering}, "later"); err != nil {
		s.Fatal(err)
	}
	dry("HR-2041 wound-check: change", "HR-2041 uncovering, right bridge: remove")
}

// publishedConflict has somebody write into three entries between two runs while the
// ledger moves two of the visits and calls the third off: none is written over, and
// pull shows all.
func publishedConflict(s *sharing) {
	id := twoVisits(s)
	s.book(id, graft.LateCheck, "2027-02-11", "09:00")
	s.publish()
	s.edit(id, graft.WoundCheck, timesTo("20270127T110000", "20270127T112000"))
	s.edit(id, graft.LateCheck, text("SUMMARY:HR-2041", "SUMMARY:!! HR-2041"))
	s.remove(id, graft.Uncovering)
	for step, to := range map[graft.Step]graft.Slot{graft.WoundCheck: at("2027-01-28", "09:00"), graft.Uncovering: at("2027-08-26", "09:00")} {
		if _, _, err := s.keeper.Move(s.ida, id, desk.Choice{Step: step}, to, ""); err != nil {
			s.Fatal(err)
		}
	}
	if _, _, err := s.keeper.Cancel(s.ida, id, desk.Choice{Step: graft.LateCheck}, ""); err != nil {
		s.Fatal(err)
	}
	before := s.calendar()
	for range 2 {
		s.wantTold(s.publish(),
			"HR-2041 wound-check: keep: changed in the calendar: graftclock pull",
			"HR-2041 uncovering, right bridge: keep: deleted in the calendar: graftclock pull",
			"HR-2041 late-check: keep: changed in the calendar: graftclock pull")
		if diff := cmp.Diff(before, s.calendar()); diff != "" {
			s.Errorf("written over (-before +after):\n%s", diff)
		}
	}
	pulled := map[string]desk.Pulled{}
	for _, p := range s.pull() {
		pulled[p.Milestone.Title()] = p
	}
	if w := pulled["wound-check"]; w.Slot.Day != on("2027-01-28") || w.There.Day != on("2027-01-27") || w.Move.Day != on("2027-01-27") || w.Why != "" {
		s.Errorf("dragged: %+v", w)
	}
	if u := pulled["uncovering, right bridge"]; u.Why != "deleted in the calendar" || u.Slot.Day != on("2027-08-26") || !u.Move.Day.IsZero() {
		s.Errorf("deleted: %+v", u)
	}
	if l := pulled["late-check"]; l.Why != "the ledger has it cancelled" || !l.Move.Day.IsZero() {
		s.Errorf("off: %+v", l)
	}
	for _, p := range pulled {
		if _, err := s.keeper.PutBack(s.Context(), s.shelf, p, s.ida.On, s.ida.At); err != nil {
			s.Error(err)
		}
	}
	if len(s.calendar()) != 2 || !strings.HasPrefix(s.shows(s.object(id, graft.WoundCheck)).Description, "Booked: Thu 2027-01-28 09:00") {
		s.Errorf("%d entries after all was put back", len(s.calendar()))
	}
	s.wantRest()
}

// publishedBesideOthers lets the calendar hold entries of others, one of them with
// the title of a visit and one at its time, through everything that the desk does.
func publishedBesideOthers(s *sharing) {
	foreign := map[string]string{}
	for name, title := range map[string]string{"meeting.ics": "Staff meeting", "x y.ics": "HR-2041 Nora Fenwick: wound-check"} {
		data, err := ics.Encode(ics.Calendar{Zone: "Europe/Dublin", Stamp: s.ida.At, Events: []ics.Event{{UID: strings.ReplaceAll(name, " ", "-"), Day: on("2027-01-26"), Start: 10 * 60, Minutes: 60, Summary: title}}})
		if err != nil {
			s.Fatal(err)
		}
		path := s.shelf.Path + strings.ReplaceAll(name, " ", "%20")
		if foreign[path], err = s.other.Put(context.Background(), path, "", data); err != nil {
			s.Fatal(err)
		}
	}
	untouched := func() {
		s.Helper()
		calendar := s.calendar()
		for path, tag := range foreign {
			if calendar[path].ETag != tag {
				s.Errorf("%s was %s and is %s", path, tag, calendar[path].ETag)
			}
		}
	}
	id := twoVisits(s)
	s.publish()
	untouched()
	s.edit(id, graft.WoundCheck, timesTo("20270127T110000", "20270127T112000"))
	s.remove(id, graft.Uncovering)
	for _, p := range s.pull() {
		if _, err := s.keeper.PutBack(s.Context(), s.shelf, p, s.ida.On, s.ida.At); err != nil {
			s.Error(err)
		}
	}
	untouched()
	if _, _, err := s.keeper.Cancel(s.ida, id, wound(), ""); err != nil {
		s.Fatal(err)
	}
	s.publish()
	untouched()
	s.wantRest()
	if got := len(s.calendar()); got != len(foreign)+1 {
		s.Errorf("%d entries", got)
	}
}

// publishedRewritten changes entries so that a reader sees no difference, as a
// program does that notes its alarms: the ledger's next move still goes through.
func publishedRewritten(s *sharing) {
	id := twoVisits(s)
	s.publish()
	s.edit(id, graft.WoundCheck, text("BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\nX-NOTED:20270125T080000Z\r\n"))
	s.edit(id, graft.Uncovering, text("BEGIN:VEVENT\r\n", "BEGIN:VEVENT\r\nX-NOTED:20270125T080000Z\r\n"))
	if _, _, err := s.keeper.Move(s.ida, id, wound(), at("2027-01-28", "09:00"), ""); err != nil {
		s.Fatal(err)
	}
	s.wantTold(s.publish(), "HR-2041 wound-check: change")
	if _, _, err := s.keeper.Cancel(s.ida, id, wound(), ""); err != nil {
		s.Fatal(err)
	}
	if _, _, err := s.keeper.Cancel(s.ida, id, desk.Choice{Step: graft.Uncovering}, ""); err != nil {
		s.Fatal(err)
	}
	s.wantTold(s.publish(), "HR-2041 wound-check: remove", "HR-2041 uncovering, right bridge: remove")
	if left := s.calendar(); len(left) != 0 {
		s.Errorf("left: %v", left)
	}
	s.wantRest()
}
