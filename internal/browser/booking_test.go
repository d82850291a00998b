package browser_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"graftclock/internal/graft"
)

const (
	caseLink   = "/case/HR-2041"
	ownTime    = `details.own form[method=post]` // a day and time that nobody offered
	woundCheck = caseLink + "/step?id=wound-check%2F%2F"
)

// TestDeskBooksTheWholePlanByKeyboardAlone touches no mouse from the sign-in to the last
// recall.
func TestDeskBooksTheWholePlanByKeyboardAlone(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	p := newPage(t, h.home)
	p.goTo("/sign-in?to=" + caseLink)
	p.typedInto("Name, as in the clinic file", clerk)
	p.typedInto("Password", secret)
	p.tabTo("Sign in", "button")
	p.enter()
	p.await("Nora Fenwick")

	p.tabUntil("the recalls after the first year", func(f thing) bool { return strings.Contains(f.Name, "after the first year") })
	p.do(chromedp.KeyEvent(kb.Enter))
	booked := 0
	for visits := h.visits("HR-2041"); booked < visits; booked++ {
		p.nextBooking(booked > 0)
		p.enter()
		p.tabUntil("the first time that is offered", func(f thing) bool { return f.Role == "button" && strings.HasPrefix(f.Name, "Book ") })
		p.enter()
		p.await("Booked: ")
	}
	if live := h.live("HR-2041"); len(live.Misfits) > 0 {
		t.Errorf("%d of what was booked does not fit: %v", len(live.Misfits), live.Misfits)
	} else {
		for _, m := range live.Timeline.Milestones {
			if m.Visit != "" && !m.Booked {
				t.Errorf("%s is not booked", m.ID)
			}
		}
	}
}

// nextBooking leads the keyboard to the next step that has no time. A step may lie behind
// what folds.
func (p *page) nextBooking(folded bool) {
	p.t.Helper()
	p.tabUntil("a step to book", func(f thing) bool {
		if folded && strings.Contains(f.Name, "after the first year") {
			p.do(chromedp.KeyEvent(kb.Enter))
		}
		return f.Role == "link" && strings.HasPrefix(f.Name, "Book a time for ")
	})
}

// TestTwoBrowsersOnOneSlot has two people press at the same moment: one wins, the other
// reads who has it, keeps what was typed and is offered other times.
func TestTwoBrowsersOnOneSlot(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	h.admitSister()
	names := map[string]string{"HR-2041": "Nora Fenwick", "HR-2095": "Teni Okafor"}
	tabs := map[string]*page{"HR-2041": h.signedIn(clerk), "HR-2095": h.signedIn(surgeon)}
	for id, p := range tabs {
		p.seen.mayAnswer(409)
		p.goTo("/case/" + id + "/step?id=wound-check%2F%2F")
		p.press("Another day and time")
		own := p.at(ownTime)
		p.fillIn(own, "Day of the visit", "2027-01-25")
		p.fillIn(own, "Time, such as 09:00", "10:30")
		p.fillIn(own, "Reason (asked for outside the window)", "before school")
	}
	for _, p := range tabs {
		p.press("Book it")
	}
	winner := ""
	for id, p := range tabs {
		p.until(func() bool {
			return strings.Contains(p.text(), "Booked: Wound check") || strings.Contains(p.text(), "cannot be booked")
		}, func() string { return "nobody says what became of it" })
		if strings.Contains(p.text(), "Booked: Wound check") {
			if winner != "" {
				t.Fatal("both have booked it")
			}
			winner = id
		}
	}
	for id, p := range tabs {
		if id == winner {
			continue
		}
		p.await(winner+" "+names[winner], "wound-check")
		for field, want := range map[string]string{"Day of the visit": "2027-01-25", "Time, such as 09:00": "10:30", "Reason (asked for outside the window)": "before school"} {
			if got := p.valueIn(p.at(ownTime), field); got != want {
				t.Errorf("%s: %q was typed and %q is kept", field, want, got)
			}
		}
		p.followIn(p.at("ol.offers li"), p.firstOffer())
		p.await("Booked: Wound check")
	}
}

// firstOffer is the name of the button of the best time that is offered.
func (p *page) firstOffer() string {
	p.t.Helper()
	return strings.Join(strings.Fields(on[string](p, *p.at("ol.offers li button"), `function() { return this.textContent }`)), " ")
}

// admitSister takes in a second case that was operated on the same day.
func (h *house) admitSister() {
	h.t.Helper()
	text, err := os.ReadFile(demoFile("okafor.yaml"))
	if err != nil {
		h.t.Fatal(err)
	}
	changed := strings.NewReplacer("HR-2044", "HR-2095", "day: 2027-02-09", "day: 2027-01-14").Replace(string(text))
	path := filepath.Join(h.t.TempDir(), "sister.yaml")
	if err := os.WriteFile(path, []byte(changed), 0o600); err != nil {
		h.t.Fatal(err)
	}
	h.command(surgeon, "admit", path)
}

// TestAPageThatIsOutOfDateSaysSo has one case open in two browsers.
func TestAPageThatIsOutOfDateSaysSo(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	first, second := h.signedIn(clerk), h.signedIn(surgeon)
	second.seen.mayAnswer(409)
	for _, p := range []*page{first, second} {
		p.goTo(woundCheck)
	}
	first.followIn(first.at("ol.offers li"), first.firstOffer())
	first.await("Booked: Wound check")
	second.fill("Why it is held (may be left empty)", "the patient asked")
	second.follow("Hold the window")
	second.await("was changed meanwhile", "Ida Marlow: book")
	if live := h.live("HR-2041"); live.State("wound-check//") != "booked" {
		t.Errorf("the first booking is gone: %s", live.State("wound-check//"))
	}
}

// TestABookingOutlivesTheSignIn fills in a booking; the sign-in runs out before it is
// sent, and the program is started anew too.
func TestABookingOutlivesTheSignIn(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	p := h.signedIn(clerk)
	p.goTo(woundCheck)
	p.press("Another day and time")
	p.fillIn(p.at(ownTime), "Day of the visit", "2027-01-26")
	p.fill("Time, such as 09:00", "10:30")
	p.await("Tuesday 26 January 2027")
	h.later(13 * time.Hour)
	h.open()
	p.seen.mayAnswer(401)
	p.follow("Book it")
	p.await("The sign-in has run out.", "10:30")
	p.signIn(clerk)
	p.follow("Send it now")
	p.await("Booked: Wound check, Tue 26 January 2027, 10:30")
}

// visits is how many steps of a case the patient comes for.
func (h *house) visits(id graft.CaseID) int {
	n := 0
	for _, m := range h.live(id).Timeline.Milestones {
		if m.Visit != "" {
			n++
		}
	}
	return n
}
