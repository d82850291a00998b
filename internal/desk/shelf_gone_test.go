package desk_test

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/reference/radicale"
)

// TestPull plays what becomes of a visit that ledger and calendar disagree about.
func TestPull(t *testing.T) {
	t.Parallel()
	server := radicale.Start(t)
	for _, c := range []struct {
		name string
		test func(*sharing)
	}{
		{"what was deleted is told, not written again, and put back when somebody says so", pulledDeleted},
		{"what was deleted and brought back is not told any more", pulledBroughtBack},
		{"what both have dropped needs nobody", pulledDroppedByBoth},
		{"what has been needs nobody", pulledHasBeen},
		{"changed words do not move a visit back that the ledger has moved", pulledWordsAndMove},
		{"what was dragged back needs nobody", pulledDraggedBack},
		{"what was dragged after the look is not written over", pulledDraggedAgain},
		{"a decision on what is no longer so moves nothing", pulledTooLate},
		{"an unknown token is a full look", func(s *sharing) { pulledWithoutToken(s, server) }},
		{"a calendar that was dropped and made anew is told as deleted", func(s *sharing) { pulledDropped(s, server) }},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(share(t, server)) })
	}
}

// published books two visits, publishes them and pulls once.
func published(s *sharing) graft.CaseID {
	s.Helper()
	id := twoVisits(s)
	s.publish()
	if pulled := s.pull(); len(pulled) > 0 {
		s.Fatalf("pulled %+v", pulled)
	}
	return id
}

func (s *sharing) putBack(p desk.Pulled) string {
	s.Helper()
	did, err := s.keeper.PutBack(s.Context(), s.shelf, p, s.ida.On, s.ida.At)
	if err != nil {
		s.Fatal(err)
	}
	return did.Did
}

func pulledDeleted(s *sharing) {
	id := published(s)
	was := s.shows(s.object(id, graft.WoundCheck))
	s.remove(id, graft.WoundCheck)
	p := s.wantPulled(id, graft.WoundCheck, "", "deleted in the calendar")
	wrote := s.wire.written()
	for range 2 {
		s.wantTold(s.publish(), "HR-2041 wound-check: keep: deleted in the calendar: graftclock pull")
	}
	_, err := s.keeper.TakeOver(s.ida, p)
	refusalOf(s.T, err, graft.Conflict, "deleted in the calendar")
	if len(s.calendar()) != 1 || s.wire.written() != wrote {
		s.Errorf("%d entries; sent %v", len(s.calendar()), s.wire.sent)
	}
	if did := s.putBack(p); did != desk.Adds {
		s.Errorf("putting it back was %s", did)
	}
	if is := s.shows(s.object(id, graft.WoundCheck)); is.UID != was.UID || !is.Start.Equal(was.Start) || is.Summary != was.Summary {
		s.Errorf("was %+v, is %+v", was, is)
	}
	s.wantRest()
}

// pulledBroughtBack has somebody delete an entry and, when that was told, undo it.
func pulledBroughtBack(s *sharing) {
	id := published(s)
	for _, edit := range []func(string) string{text("", ""), timesTo("20270127T110000", "20270127T112000")} {
		o := s.object(id, graft.WoundCheck)
		s.remove(id, graft.WoundCheck)
		s.wantPulled(id, graft.WoundCheck, "", "deleted in the calendar")
		if _, err := s.other.Put(context.Background(), o.Path, "", []byte(edit(string(o.Data)))); err != nil {
			s.Fatal(err)
		}
		if edit("DTSTART;TZID=X:1") == "DTSTART;TZID=X:1" {
			s.wantRest()
		}
	}
	s.wantPulled(id, graft.WoundCheck, "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate", "")
}

// pulledDroppedByBoth calls visits off that somebody has deleted in the calendar,
// before and after that was told.
func pulledDroppedByBoth(s *sharing) {
	id := published(s)
	cancel := func(step graft.Step) {
		s.Helper()
		if _, _, err := s.keeper.Cancel(s.ida, id, desk.Choice{Step: step}, ""); err != nil {
			s.Fatal(err)
		}
	}
	s.remove(id, graft.WoundCheck)
	s.wantPulled(id, graft.WoundCheck, "", "deleted in the calendar")
	cancel(graft.WoundCheck)
	s.remove(id, graft.Uncovering)
	cancel(graft.Uncovering)
	s.publish()
	s.wantRest()
	s.book(id, graft.WoundCheck, "2027-01-28", "10:00")
	s.wantTold(s.publish(), "HR-2041 wound-check: keep: deleted in the calendar: graftclock pull")
}

// pulledHasBeen has somebody drag an entry to when the patient really came, and
// delete another, before both are ticked: nothing is left to decide.
func pulledHasBeen(s *sharing) {
	id := published(s)
	other := admit(s.T, s.keeper, s.ida, "fenwick", "case=HR-3001", "patient.name=Ansel Birch")
	s.book(other, graft.WoundCheck, "2027-01-26", "11:00")
	s.publish()
	s.edit(id, graft.WoundCheck, timesTo("20270126T103000", "20270126T105000"))
	s.remove(other, graft.WoundCheck)
	s.ida = acting(s.T, s.keeper, "Ida Marlow", "2027-01-26")
	if pulled := s.pull(); len(pulled) != 2 {
		s.Errorf("pulled %+v", pulled)
	}
	if _, _, err := s.keeper.Attended(s.ida, id, wound(), day.Day{}, ""); err != nil {
		s.Fatal(err)
	}
	if _, _, err := s.keeper.Missed(s.ida, other, wound(), ""); err != nil {
		s.Fatal(err)
	}
	s.publish()
	s.wantRest()
}

// pulledWordsAndMove has somebody write a note into an entry while the ledger moves
// the visit: that its time there is now the old one is nobody's wish.
func pulledWordsAndMove(s *sharing) {
	id := published(s)
	s.edit(id, graft.WoundCheck, text("SUMMARY:HR-2041", "SUMMARY:rang: HR-2041"))
	if _, _, err := s.keeper.Move(s.ida, id, wound(), at("2027-01-28", "09:00"), ""); err != nil {
		s.Fatal(err)
	}
	s.wantTold(s.publish(), "HR-2041 wound-check: keep: changed in the calendar: graftclock pull")
	p := s.wantPulled(id, graft.WoundCheck, "", "its words were changed, not its time")
	_, err := s.keeper.TakeOver(s.ida, p)
	refusalOf(s.T, err, graft.Conflict, "its words were changed")
	s.putBack(p)
	if day.Of(s.shows(s.object(id, graft.WoundCheck)).Start) != on("2027-01-28") {
		s.Error("the entry is not where the ledger has the visit")
	}
	s.wantRest()
}

func pulledDraggedBack(s *sharing) {
	id := published(s)
	s.edit(id, graft.WoundCheck, timesTo("20270127T110000", "20270127T112000"))
	s.wantPulled(id, graft.WoundCheck, "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate", "")
	s.edit(id, graft.WoundCheck, timesTo("20270126T100000", "20270126T102000"))
	s.wantRest()
}

// pulledDraggedAgain has somebody drag a visit once more between the look and what
// the desk decides upon it.
func pulledDraggedAgain(s *sharing) {
	id := published(s)
	s.edit(id, graft.WoundCheck, timesTo("20270127T110000", "20270127T112000"))
	p := s.wantPulled(id, graft.WoundCheck, "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate", "")
	s.edit(id, graft.WoundCheck, timesTo("20270128T090000", "20270128T092000"))
	before := s.object(id, graft.WoundCheck)
	if did := s.putBack(p); did != desk.Keeps {
		s.Errorf("putting it back was %s", did)
	}
	if o := s.object(id, graft.WoundCheck); o.ETag != before.ETag {
		s.Errorf("written over:\n%s", o.Data)
	}
	s.wantPulled(id, graft.WoundCheck, "Thu 2027-01-28 09:00-09:20, Surgery 1, Nurse Wyn Tate", "")
	if _, err := s.keeper.TakeOver(s.ida, p); err != nil {
		s.Fatal(err)
	}
	s.wantTold(s.publish(), "HR-2041 wound-check: keep: changed in the calendar: graftclock pull")
	if o := s.object(id, graft.WoundCheck); o.ETag != before.ETag {
		s.Errorf("written over:\n%s", o.Data)
	}
	s.wantPulled(id, graft.WoundCheck, "Thu 2027-01-28 09:00-09:20, Surgery 1, Nurse Wyn Tate", "")
}

// pulledTooLate takes a move over that was possible when it was looked at and is not
// any more: the time was given away, then the visit was called off.
func pulledTooLate(s *sharing) {
	id := published(s)
	s.edit(id, graft.WoundCheck, timesTo("20270127T110000", "20270127T112000"))
	p := s.wantPulled(id, graft.WoundCheck, "Wed 2027-01-27 11:00-11:20, Surgery 1, Nurse Wyn Tate", "")
	neighbour("", "")(s)
	before := s.inLedger(id)
	_, err := s.keeper.TakeOver(s.ida, p)
	refusalOf(s.T, err, graft.Conflict, "Surgery 1 is taken 11:00-11:20: HR-3001 Ansel Birch")
	if s.inLedger(id) != before {
		s.Error("it changed the ledger")
	}
	if _, _, err := s.keeper.Cancel(s.ida, "HR-3001", wound(), ""); err != nil {
		s.Fatal(err)
	}
	if _, _, err := s.keeper.Cancel(s.ida, id, wound(), ""); err != nil {
		s.Fatal(err)
	}
	before = s.inLedger(id)
	_, err = s.keeper.TakeOver(s.ida, p)
	refusalOf(s.T, err, graft.Conflict, "the ledger has it cancelled")
	if s.inLedger(id) != before {
		s.Error("it changed the ledger")
	}
}

// pulledWithoutToken has the server forget what it has told: the next look sees
// everything that has happened, and asks for as little as ever after it.
func pulledWithoutToken(s *sharing, server *radicale.Server) {
	id := published(s)
	s.book(id, graft.LateCheck, "2027-02-11", "09:00")
	s.publish()
	s.edit(id, graft.WoundCheck, timesTo("20270127T110000", "20270127T112000"))
	s.remove(id, graft.Uncovering)
	for _, forget := range []func(){
		server.ForgetTokens,
		func() {
			if err := s.store.Act(func(w desk.Writing) error { return w.SetSyncToken(s.shelf.Name, "http://example.org/unknown") }); err != nil {
				s.Fatal(err)
			}
		},
		func() {},
	} {
		forget()
		var got []string
		for _, p := range s.pull() {
			got = append(got, p.Milestone.Title()+": "+p.Move.Day.String()+" "+p.Why)
		}
		slices.Sort(got)
		if want := []string{"uncovering, right bridge: - deleted in the calendar", "wound-check: 2027-01-27 "}; !slices.Equal(got, want) {
			s.Errorf("pulled %q, want %q", got, want)
		}
	}
	if err := s.store.View(func(l desk.Ledger) error {
		token, err := l.SyncToken(s.shelf.Name)
		if !strings.HasPrefix(token, "http://radicale.org/") {
			s.Errorf("the token is %q", token)
		}
		return err
	}); err != nil {
		s.Fatal(err)
	}
}

// pulledDropped has somebody drop the whole calendar and make it anew, so that the
// server knows of no deletion in it: everything is told as deleted, and comes back
// when it is put back.
func pulledDropped(s *sharing, server *radicale.Server) {
	published(s)
	request, err := http.NewRequestWithContext(s.Context(), http.MethodDelete, strings.TrimSuffix(server.URL, "/")+s.shelf.Path, nil)
	if err != nil {
		s.Fatal(err)
	}
	request.SetBasicAuth(server.User, server.Password)
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		s.Fatal(err)
	}
	response.Body.Close()
	if err := s.other.Make(s.Context(), s.shelf.Path, "Desk"); err != nil {
		s.Fatal(err)
	}
	pulled := s.pull()
	if len(pulled) != 2 || pulled[0].Why != "deleted in the calendar" || pulled[1].Why != "deleted in the calendar" {
		s.Fatalf("pulled %+v", pulled)
	}
	for _, p := range pulled {
		s.putBack(p)
	}
	if len(s.calendar()) != 2 {
		s.Errorf("%d entries", len(s.calendar()))
	}
	s.wantRest()
}
