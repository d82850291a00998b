package browser_test

import (
	"os"
	"strings"
	"testing"
)

// TestAClosureIsAddedAndSettled closes the clinic on a day that has a visit: the desk sees
// first what it would hit, keeps it, and settles the visit.
func TestAClosureIsAddedAndSettled(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	h.command(clerk, "book", "HR-2041", "wound-check", "2027-01-25", "09:00")
	p := h.signedIn(clerk)
	p.follow("Clinic")
	p.follow("Add a closure")
	p.fill("First day", "2027-01-25")
	p.fill("Last day (empty: that one day)", "2027-01-26")
	p.fill("What it is called, such as: Summer closure", "Burst pipe")
	p.follow("See what it does")
	p.await("Nothing is kept yet.", "1 booked visit could not be held any more.", "Nora Fenwick", "Wound check", "Burst pipe")
	if text := h.clinicFile(); strings.Contains(text, "Burst pipe") {
		t.Error("the preview has changed the clinic file")
	}
	p.follow("Keep it")
	p.await("Burst pipe")
	if text := h.clinicFile(); !strings.Contains(text, "Burst pipe") || !strings.Contains(text, "# ISO 3166-1 or 3166-2") {
		t.Errorf("the clinic file has no closure, or lost its comments:\n%s", text)
	}
	p.follow("Visits that cannot be held")
	p.await("Nora Fenwick", "Mon 25 January 2027")
	p.follow("Settle as proposed : Nora Fenwick")
	p.await("Settled: Nora Fenwick, 1 visit.", "None.")
	live := h.live("HR-2041")
	if m, _ := live.Timeline.Find("wound-check//"); !live.Settled() || !m.Booked || m.Slot.Day.String() == "2027-01-25" || m.Slot.Day.String() == "2027-01-26" {
		t.Errorf("settled: %t, booked: %t, %s", live.Settled(), m.Booked, m.Slot)
	}
}

func (h *house) clinicFile() string {
	h.t.Helper()
	text, err := os.ReadFile(h.clinic())
	if err != nil {
		h.t.Fatal(err)
	}
	return string(text)
}
