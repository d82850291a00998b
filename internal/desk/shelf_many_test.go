package desk_test

import (
	"fmt"
	"testing"
	"time"

	"graftclock/internal/casefile"
	"graftclock/internal/clinic"
	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/reference/radicale"
)

// bays is how many rooms, nurses and surgeons a crowded clinic has, and perMorning how
// many patients each of them sees on one day.
const bays, perMorning = 25, 4

// crowded gives a clinic rooms and people for a hundred patients a day.
func crowded(c *casefile.Clinic) {
	for n := range bays {
		c.Rooms = append(c.Rooms, clinic.Room{Name: fmt.Sprintf("Bay %02d", n), For: []string{"surgery", "check"}})
		for _, role := range []string{"nurse", "surgeon"} {
			c.People = append(c.People, clinic.Person{Name: fmt.Sprintf("%s %02d", role, n), Role: role})
		}
	}
}

// fill writes booked visits of the demo case straight into the ledger, under as many
// case numbers as it takes, each on the day that its plan gives it.
func (s *sharing) fill(visits int) []graft.CaseID {
	s.Helper()
	_, record := demo(s, "fenwick.yaml")
	canonical, _, faults := casefile.Canonical("fenwick", record)
	if len(faults) > 0 {
		s.Fatal(faults)
	}
	var ids []graft.CaseID
	for n := 0; visits > 0; n++ {
		changed, c, faults, err := casefile.Change("fenwick", canonical, []string{fmt.Sprintf("case=HR-%d", 5000+n), fmt.Sprintf("patient.name=Patient %03d", n)})
		if err != nil || len(faults) > 0 {
			s.Fatal(err, faults)
		}
		if did := s.keeper.Admit(s.ida, changed, c, ""); did.Err != nil {
			s.Fatal(did.Err)
		}
		ids = append(ids, c.ID)
		visits -= s.fillCase(c.ID, n, visits)
	}
	return ids
}

// fillCase books the visits of one case, at most so many, and returns how many.
func (s *sharing) fillCase(id graft.CaseID, n, most int) (booked int) {
	s.Helper()
	live, err := s.keeper.Live(id, s.ida.On)
	if err != nil {
		s.Fatal(err)
	}
	err = s.store.Act(func(w desk.Writing) error {
		for _, m := range live.Timeline.Milestones {
			if m.Visit == "" || booked == most {
				continue
			}
			booked++
			v := ledger.Visit{Case: id, Milestone: m.ID, State: ledger.Booked, Slot: s.bay(n, m), Window: m.Window, Revision: 1, Booked: s.ida.At, At: s.ida.At, By: s.ida.Name}
			if _, err := w.AddVisit(v, ledger.Entry{At: s.ida.At, By: s.ida.Person, Case: id, Milestone: m.ID, What: "book"}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		s.Fatal(err)
	}
	return booked
}

// bay is where and when the n-th patient has a visit.
func (s *sharing) bay(n int, m graft.Milestone) graft.Slot {
	const opens, apart = day.Clock(8*60 + 30), 60
	visit := s.keeper.Clinic.Visits[m.Visit]
	return graft.Slot{
		Day: m.Placed, Start: opens + day.Clock(apart*(n%perMorning)), Minutes: visit.Minutes,
		Room: fmt.Sprintf("Bay %02d", n/perMorning), Person: fmt.Sprintf("%s %02d", visit.Role, n/perMorning),
	}
}

// quicker makes Radicale leave out what it does for every object that there is each
// time a new one comes, reading them all for its UID and tidying its cache: the time
// that takes grows with the square of their number, and is not what is looked at.
const quicker = `
from radicale.storage import BaseCollection
from radicale.storage.multifilesystem.cache import CollectionPartCache
BaseCollection.has_uid = lambda self, uid: False
CollectionPartCache._clean_cache = lambda *rest, **named: None
`

// TestAThousandVisits publishes a thousand visits at one go. After that there is
// nothing to do, one visit that was moved is one request, and one that was dragged is
// found among all.
func TestAThousandVisits(t *testing.T) {
	t.Parallel()
	visits := 1000
	switch {
	case underRace:
		t.Skip("the race detector has nothing to find here that it has not in the tests of few visits")
	case testing.Short():
		visits = 120
	}
	s := share(t, radicale.Start(t, quicker), crowded)
	ids := s.fill(visits)
	took := func(what string, do func()) {
		start := time.Now()
		do()
		t.Logf("%s: %v", what, time.Since(start).Round(time.Millisecond))
	}
	start := time.Now()
	did := s.publish()
	t.Logf("%d visits of %d cases published: %.0f a second", len(did), len(ids), float64(len(did))/time.Since(start).Seconds())
	for _, d := range did {
		if d.Did != desk.Adds {
			t.Fatalf("%+v", d)
		}
	}
	if len(did) != visits || s.wire.count("PUT") != visits || len(s.calendar()) != visits {
		t.Errorf("%d told, %v sent, %d entries for %d visits", len(did), s.wire.sent, len(s.calendar()), visits)
	}
	took("with nothing to do", s.wantRest)
	if s.wire.written() != visits {
		t.Errorf("sent %v", s.wire.sent)
	}
	last := ids[len(ids)-1]
	s.edit(ids[0], graft.LateCheck, timesTo("20270211T140000", "20270211T142000"))
	took("finding one that was dragged", func() {
		pulled := s.pull()
		if len(pulled) != 1 || pulled[0].Case != ids[0] || pulled[0].Move.String() != "Thu 2027-02-11 14:00-14:20, Bay 00, surgeon 00" {
			t.Errorf("pulled %+v", pulled)
		}
	})
	if _, _, err := s.keeper.Move(s.ida, last, wound(), at("2027-01-26", "14:00"), ""); err != nil {
		t.Fatal(err)
	}
	took("publishing one that was moved", func() {
		s.wantTold(s.publish(), fmt.Sprintf("%s late-check: keep: changed in the calendar: graftclock pull", ids[0]), fmt.Sprintf("%s wound-check: change", last))
	})
	if s.wire.count("PUT") != visits+1 {
		t.Errorf("sent %v", s.wire.sent)
	}
}
