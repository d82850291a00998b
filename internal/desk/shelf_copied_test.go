package desk_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/reference/radicale"
)

const woundCopied = "HR-2041 wound-check: keep: the calendar has it already, in an entry that graftclock did not write: delete that one there, then graftclock publish again"

// copied has somebody bring an entry to another address of the calendar, as a program
// does that cuts and pastes: its UID stays (RFC 4791 5.3.2.1, no-uid-conflict).
func (s *sharing) copied(id graft.CaseID) (path string) {
	s.Helper()
	o := s.object(id, graft.WoundCheck)
	s.remove(id, graft.WoundCheck)
	path = s.shelf.Path + "pasted.ics"
	if _, err := s.other.Put(context.Background(), path, "", o.Data); err != nil {
		s.Fatal(err)
	}
	return path
}

// TestAVisitLiesAtAnotherAddress has the server refuse an entry because it has its name
// already. Every run says so and writes nothing over; the other visits are written. When
// that entry is deleted the next run goes through.
func TestAVisitLiesAtAnotherAddress(t *testing.T) {
	t.Parallel()
	s := share(t, radicale.Start(t))
	id := published(s)
	path := s.copied(id)
	p := s.wantPulled(id, graft.WoundCheck, "", "deleted in the calendar")
	if did := s.putBack(p); did != desk.Keeps {
		t.Errorf("putting it back was %s", did)
	}
	s.book(id, graft.LateCheck, "2027-02-11", "09:00")
	s.wantTold(s.publish(), woundCopied, "HR-2041 late-check: add")
	before, rows := s.calendar(), s.rows()
	for range 2 {
		wrote := s.wire.written()
		s.wantTold(s.publish(), woundCopied)
		if sent := s.wire.written() - wrote; sent != 1 {
			t.Errorf("%d requests to write one visit", sent)
		}
		s.wantNothingPulled()
	}
	if diff := cmp.Diff(before, s.calendar()) + cmp.Diff(rows, s.rows()); diff != "" {
		t.Errorf("written (-before +after):\n%s", diff)
	}
	if err := s.other.Delete(t.Context(), path, before[path].ETag); err != nil {
		t.Fatal(err)
	}
	s.wantTold(s.publish(), woundAdded)
	s.wantWhole(3)
}

// TestAVisitAtAnotherAddressIsCalledOff leaves what somebody has pasted alone, also
// when the visit is no more.
func TestAVisitAtAnotherAddressIsCalledOff(t *testing.T) {
	t.Parallel()
	s := share(t, radicale.Start(t))
	id := published(s)
	s.copied(id)
	s.putBack(s.wantPulled(id, graft.WoundCheck, "", "deleted in the calendar"))
	before := s.calendar()
	callOff(s, id)
	s.wantTold(s.publish(), woundRemoved)
	if diff := cmp.Diff(before, s.calendar()); diff != "" || s.wire.count("DELETE") > 0 {
		t.Errorf("sent %v (-before +after):\n%s", s.wire.sent, diff)
	}
	s.wantRest()
}
