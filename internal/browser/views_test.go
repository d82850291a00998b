package browser_test

import (
	"os"
	"strings"
	"time"

	"graftclock/internal/ledger"
)

// views are what no link leads to: what comes of a form.
var views = []struct {
	name string
	role string // who sees it; empty: both
	show func(p *page, h *house)
}{
	{"found", "", func(p *page, h *house) {
		p.goTo("/find")
		p.fill("overdue", "yes")
		p.followIn(p.at("form.find"), "Find")
	}},
	{"nothing-found", "", func(p *page, h *house) {
		p.goTo("/find")
		p.fill("Name or case number", "zzzz")
		p.followIn(p.at("form.find"), "Find")
	}},
	{"nowhere", "", func(p *page, h *house) { p.goTo("/nowhere") }},
	{"record-faults", "", func(p *page, h *house) {
		p.goTo("/record")
		p.follow("Keep this record")
	}},
	{"record-what-ifs", "", func(p *page, h *house) {
		p.goTo("/case/" + h.someCase() + "/record")
		p.fill("And what other facts would change", "yes")
		p.followIn(p.at(".typing .acts"), "Show what follows")
	}},
	{"import-report", "", func(p *page, h *house) {
		p.goTo("/record/import")
		text, err := os.ReadFile(demoFile("arrivals.csv"))
		if err != nil {
			p.t.Fatal(err)
		}
		p.fill("Or the text itself", string(text))
		p.follow("Check")
	}},
	{"booking-refused", "", func(p *page, h *house) {
		p.goTo(h.bookable())
		p.press("Another day and time")
		p.fillIn(p.at(ownTime), "Day of the visit", "2027-01-24")
		p.fillIn(p.at(ownTime), "Time, such as 09:00", "25:00")
		p.followIn(p.at(ownTime), "Book it")
	}},
	{"finding-form", "surgeon", func(p *page, h *house) { p.goTo("/case/" + h.someCase() + "/finding?what=stability") }},
	{"finding-tried", "surgeon", func(p *page, h *house) {
		p.goTo("/case/" + h.someCase() + "/finding?what=infection")
		p.follow("See what it does to the plan")
	}},
	{"override-tried", "surgeon", func(p *page, h *house) {
		p.goTo(h.bookable())
		form := p.at(`form[action$="/override"]`)
		p.fillIn(form, "Day that the surgeon sets", "2027-06-14")
		p.fillIn(form, "Reason for that day", "the patient is abroad until then")
		p.followIn(form, "See what it does to the plan")
	}},
	{"closure-tried", "", func(p *page, h *house) {
		p.goTo("/clinic/change/close")
		p.fill("First day", "2027-01-19")
		p.fill("Last day (empty: that one day)", "2027-01-29")
		p.fill("What it is called, such as: Summer closure", "Burst pipe")
		p.follow("See what it does")
	}},
	{"clinic-file-with-faults", "", func(p *page, h *house) {
		text := h.clinicFile()
		h.writeClinic(text + "\nhourz: {}\n")
		p.goTo("/")
		h.writeClinic(text)
	}},
	{"sign-in-run-out", "", func(p *page, h *house) {
		name := p.whoIs()
		p.goTo("/find")
		p.fill("Name or case number", "fenwick")
		h.later(2 * time.Hour)
		p.followIn(p.at("form.find"), "Find")
		p.t.Cleanup(func() {
			p.goTo("/sign-in")
			p.signIn(name)
		})
	}},
	{"carried", "", func(p *page, h *house) {
		name := p.whoIs()
		p.goTo("/find")
		p.fill("Name or case number", "fenwick")
		h.later(2 * time.Hour)
		p.followIn(p.at("form.find"), "Find")
		p.signIn(name)
	}},
}

// someCase is a case with an implant and no stop.
func (h *house) someCase() string {
	h.t.Helper()
	for _, kept := range h.cases() {
		if live := h.live(kept.Case); live.Settled() && !live.Stopped() && len(live.Timeline.Implants) > 0 {
			return string(kept.Case)
		}
	}
	h.t.Fatal("no case has an implant and no stop")
	return ""
}

// bookable is the page of a step that may be booked.
func (h *house) bookable() string {
	h.t.Helper()
	for _, kept := range h.cases() {
		live := h.live(kept.Case)
		for _, m := range live.Timeline.Milestones {
			if m.Visit != "" && m.Attended.IsZero() && !m.Window.Latest.IsZero() && live.State(m.ID) == ledger.Planned {
				return "/case/" + string(kept.Case) + "/step?id=" + strings.ReplaceAll(string(m.ID), "/", "%2F")
			}
		}
	}
	h.t.Fatal("no step can be booked")
	return ""
}

// whoIs is the person whom the tab is signed in as.
func (p *page) whoIs() string {
	p.t.Helper()
	who, _, _ := strings.Cut(on[string](p, *p.at(".who a"), `function() { return this.textContent }`), ",")
	return who
}

func (h *house) writeClinic(text string) {
	h.t.Helper()
	if err := os.WriteFile(h.clinic(), []byte(text), 0o600); err != nil {
		h.t.Fatal(err)
	}
}
