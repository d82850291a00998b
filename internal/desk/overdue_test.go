package desk_test

import (
	"strings"
	"testing"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
)

// TestAnOverdueVisitDoesNotWaitWeeksToSpareATrip has a check of the wound overdue while
// the next visit is booked: one that is near is shared, one that is far is not waited for.
func TestAnOverdueVisitDoesNotWaitWeeksToSpareATrip(t *testing.T) {
	t.Parallel()
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick", "surgery.day=2027-01-11", "patient.unavailable=none")
	if _, _, err := k.Book(ida, id, desk.Choice{Step: graft.LateCheck}, at("2027-02-08", "10:00"), ""); err != nil {
		t.Fatal(err)
	}
	for today, want := range map[string]string{"2027-01-27": "2027-01-27", "2027-02-01": "2027-02-02", "2027-02-02": "2027-02-08", "2027-02-03": "2027-02-08"} {
		live, err := k.Live(id, on(today))
		if err != nil {
			t.Fatal(err)
		}
		m, err := live.Pick(wound())
		if err != nil || m.Placed != on(want) || !m.Overdue {
			t.Errorf("on %s: %s, overdue %v, %v; want %s", today, m.Placed, m.Overdue, err, want)
		}
	}
}

// TestOffersKeepTheStepsInTheirOrder: no day of first loading is offered as a trip shared
// with the operation that it waits weeks for, and its target comes first.
func TestOffersKeepTheStepsInTheirOrder(t *testing.T) {
	t.Parallel()
	k, _ := keeping(t)
	ida := acting(t, k, "Ida Marlow", "2027-01-18")
	id := admit(t, k, ida, "fenwick", "patient.unavailable=none")
	live, err := k.Live(id, ida.On)
	if err != nil {
		t.Fatal(err)
	}
	m, err := live.Pick(desk.Choice{Step: graft.FirstLoading})
	if err != nil {
		t.Fatal(err)
	}
	offers, err := live.Offers(m, day.Span{}, 0)
	if err != nil || len(offers) < 3 {
		t.Fatal(offers, err)
	}
	if offers[0].Day != m.Placed {
		t.Errorf("%s is offered first, the plan has %s", offers[0].Day, m.Placed)
	}
	for _, o := range offers {
		if strings.Contains(o.Says, "one trip with") {
			t.Errorf("%s: %s", o.Day, o.Says)
		}
	}
}

// TestADayOfTheSurgeonsOwnOutOfOrderIsTold sets first loading before the impression, and
// then to a day on which nothing is out of order.
func TestADayOfTheSurgeonsOwnOutOfOrderIsTold(t *testing.T) {
	t.Parallel()
	k, _ := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, quill, "fenwick", "patient.unavailable=none")
	for _, c := range []struct {
		day  string
		told int
		says string
	}{
		{"2027-06-01", 1, "first-loading, right bridge on 2027-06-01, before impression, right bridge on 2027-09-13"},
		{"2027-10-04", 0, ""},
	} {
		live, err := k.Override(quill, id, desk.Choice{Step: graft.FirstLoading}, on(c.day), "dense bone")
		if err != nil {
			t.Fatal(err)
		}
		told := only(live.Timeline.Findings, func(f graft.Finding) bool { return f.Rule == "override-out-of-order" })
		if len(told) != c.told || c.told > 0 && (told[0].Severity != graft.Warn || !strings.Contains(told[0].Says, c.says)) {
			t.Errorf("set to %s: %+v, want %d that says %q", c.day, told, c.told, c.says)
		}
	}
}
