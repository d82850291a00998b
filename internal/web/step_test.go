package web_test

import (
	"net/url"
	"strings"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// The steps of the demo case that the tests act on.
const (
	call       graft.MilestoneID = "phone-call//"
	wound      graft.MilestoneID = "wound-check//"
	late       graft.MilestoneID = "late-check//"
	review     graft.MilestoneID = "healing-review//"
	uncovering graft.MilestoneID = "uncovering/right bridge/"
)

// TestEveryActOfAStepIsDone goes through the life of a few steps from the page and
// wants of each act the state, the words of the page and the entry of the history.
func TestEveryActOfAStepIsDone(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(front)
	for _, c := range []struct {
		at, act string
		step    graft.MilestoneID
		fields  []string
		state   ledger.State
		what    string // in the history
		says    string // on the page
	}{
		{"2027-01-18 08:30", "attended", call, []string{"day", "2027-01-15"}, ledger.Attended, "attended", "Attended: Phone call, Fri 15 January 2027."},
		{"2027-01-18 08:31", "book", wound, []string{"day", "2027-01-25", "time", "09:00"}, ledger.Booked, "book", "Booked: Wound check, Mon 25 January 2027, 09:00 to 09:20, Surgery 1, Nurse Wyn Tate."},
		{"2027-01-18 08:32", "contact", wound, []string{"outcome", "confirmed", "says", "comes by bus"}, ledger.Booked, "contact", "Noted: Wound check, confirmed."},
		{"2027-01-18 08:33", "move", wound, []string{"day", "2027-01-26", "time", "10:00"}, ledger.Booked, "move", "Moved: Wound check, now Tue 26 January 2027, 10:00 to 10:20, Surgery 1, Nurse Wyn Tate. Tell the patient"},
		{"2027-01-18 08:34", "cancel", wound, []string{"why", "ill"}, ledger.Cancelled, "cancel", "Given back: Wound check, Tue 26 January 2027, 10:00 to 10:20"},
		{"2027-01-18 08:35", "book", wound, []string{"day", "2027-01-25", "time", "09:00", "room", "Surgery 1", "person", "Nurse Wyn Tate"}, ledger.Booked, "book", "Booked: Wound check"},
		{"2027-01-18 08:36", "hold", review, nil, ledger.WindowHeld, "hold", "Window held: Healing review, Fri 5 March 2027 to Sun 4 April 2027."},
		{"2027-01-18 08:37", "cancel", review, nil, ledger.Cancelled, "cancel", "Given back: Healing review, the window that was held."},
		{"2027-01-18 08:38", "book", late, []string{"day", "2027-02-15", "time", "10:00", "why", "her own wish"}, ledger.Booked, "book", "Booked: Late check, Mon 15 February 2027"},
		{"2027-01-25 12:00", "missed", wound, []string{"why", "no call"}, ledger.Missed, "missed", "Missed: Wound check, Mon 25 January 2027, 09:00 to 09:20"},
		{"2027-01-25 12:30", "attended", wound, nil, ledger.Attended, "attended", "Attended: Wound check, Mon 25 January 2027."},
	} {
		if s.clock.set(c.at); c.at[:10] != "2027-01-18" {
			b = s.as(front) // the sign-in of another day has run out
		}
		before, err := s.keeper.History(fenwick)
		if err != nil {
			t.Fatal(err)
		}
		got := b.post("/case/HR-2041/"+c.act, s.acting(fenwick, c.step, c.fields...))
		if got.status != 200 || !got.says(c.says) || !strings.HasPrefix(got.path, "/case/HR-2041") || strings.Contains(got.path, "step?") {
			t.Fatalf("%s %s: %d %s, and does not say %q\n%s", c.act, c.step, got.status, got.path, c.says, got.body)
		}
		wantGoodPage(t, got.body)
		if state := s.live(fenwick).State(c.step); state != c.state {
			t.Errorf("%s %s: %s", c.act, c.step, state)
		}
		after, err := s.keeper.History(fenwick)
		if err != nil || len(after) == len(before) {
			t.Fatal("no entry", err)
		}
		last := after[len(after)-1]
		if last.What != c.what || last.By.Name != front || last.Milestone != c.step || !last.At.Equal(s.clock.now()) {
			t.Errorf("%s %s: the history says %+v", c.act, c.step, last)
		}
	}
	if v, _ := s.live(fenwick).Latest(late); v.Why != "her own wish" {
		t.Errorf("the reason is %q", v.Why)
	}
	if got := b.get("/case/HR-2041/history"); !got.says("booked Mon 25 January 2027 09:00 to 09:20") || !got.says("her own wish") {
		t.Errorf("the history does not tell\n%s", got.body)
	}
	if got := b.get(stepOf(fenwick, wound)); !got.says("Call: confirmed (comes by bus)") || !got.says("Moved: Mon 25 January 2027, 09:00 to 09:20") {
		t.Errorf("the step does not tell what was done\n%s", got.body)
	}
}

// TestTheButtonsOfTheListAct presses them as they stand on the page of the case: once,
// and once more on a page that is out of date.
func TestTheButtonsOfTheListAct(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	if _, err := s.keeper.Set(s.actor(front), fenwick, []string{"patient.phone=+353 1 555 0142"}, ""); err != nil {
		t.Fatal(err)
	}
	b := s.as(front)
	pressed := map[string]url.Values{}
	for _, f := range forms(t, b.get("/case/HR-2041")) {
		if id := f.fields.Get("id"); id != "" && pressed[f.to] == nil {
			pressed[f.to] = f.fields
		}
	}
	hold, done := pressed["/case/HR-2041/hold"], pressed["/case/HR-2041/attended"]
	if len(pressed) != 2 || graft.MilestoneID(done.Get("id")) != call {
		t.Fatalf("%v", pressed)
	}
	step := graft.MilestoneID(hold.Get("id"))
	if got := b.post("/case/HR-2041/hold", hold); got.status != 200 || s.live(fenwick).State(step) != ledger.WindowHeld {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	got := b.post("/case/HR-2041/attended", done)
	if got.status != 409 || !got.says("was changed meanwhile (Ida Marlow: hold") || s.live(fenwick).State(call) != ledger.Planned {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	again := formTo(t, got, "/case/HR-2041/attended", "attended-day")
	if got := b.post("/case/HR-2041/attended", again); got.status != 200 || s.live(fenwick).State(call) != ledger.Attended {
		t.Errorf("%d\n%s", got.status, got.body)
	}
}

// TestAnOfferIsBookedByItsButton takes the first offer of the page as it stands.
func TestAnOfferIsBookedByItsButton(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(front)
	page := b.get(stepOf(fenwick, wound))
	offers, err := s.live(fenwick).Offers(mustFind(t, s.live(fenwick), wound), graftSpan, 1)
	if err != nil || len(offers) != 1 {
		t.Fatal(offers, err)
	}
	form, to := offerForm(t, page)
	if form.Get("day") != offers[0].Day.String() || form.Get("time") != offers[0].Start.String() || to != "/case/HR-2041/book" {
		t.Errorf("the first form is %v to %s, and the best offer %s", form, to, offers[0].Slot)
	}
	if got := b.post(to, form); got.status != 200 {
		t.Fatalf("%d\n%s", got.status, got.body)
	}
	if v, _ := s.live(fenwick).Latest(wound); v.State != ledger.Booked || v.Slot != offers[0].Slot {
		t.Errorf("booked %s, offered %s", v.Slot, offers[0].Slot)
	}
}

// TestOtherDaysAreLookedAt asks for offers outside the window, which want a reason.
func TestOtherDaysAreLookedAt(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(front)
	got := b.get(stepOf(fenwick, wound) + "&from=2027-02-01&to=2027-02-05")
	if got.status != 200 || !got.says("after the window") || !got.says("Reason, asked for outside the window") {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	wantGoodPage(t, got.body)
	for _, days := range []string{"&from=nonsense", "&from=2027-03-01&to=2027-02-01", "&to=2027-02-30", "&from=2027-01-20&to=2099-01-01", "&from=2020-01-01"} {
		got := b.get(stepOf(fenwick, wound) + days)
		if got.status != 200 {
			t.Errorf("%s: %d", days, got.status)
		}
		wantGoodPage(t, got.body)
	}
}

// TestAnOutdatedPageIsRefusedWithWhatWasTyped acts on what somebody else has changed
// meanwhile: the page says who did what, keeps what was typed, and may be sent again.
func TestAnOutdatedPageIsRefusedWithWhatWasTyped(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(front)
	old := s.acting(fenwick, late, "day", "2027-02-15", "time", "10:15", "why", "her <own> wish", "person", surgeon)
	if _, err := s.keeper.Set(s.actor(surgeon), fenwick, []string{"surgery.sutures=resorbable"}, ""); err != nil {
		t.Fatal(err)
	}
	got := b.post("/case/HR-2041/book", old)
	if got.status != 409 || !got.says("was changed meanwhile (Dr Alba Quill: set") {
		t.Fatalf("%d\n%s", got.status, got.body)
	}
	wantGoodPage(t, got.body)
	for name, want := range map[string]string{"book-day": "2027-02-15", "book-time": "10:15", "book-why": "her <own> wish"} {
		if value := fieldOf(t, got, name).attr["value"]; value != want {
			t.Errorf("%s holds %q", name, value)
		}
	}
	if state := s.live(fenwick).State(late); state != ledger.Planned {
		t.Errorf("the outdated page did it: %s", state)
	}
	if e := s.lastEntry(fenwick); e.What != ledger.Refused || e.By.Name != front {
		t.Errorf("the history says %+v", e)
	}
	again := formTo(t, got, "/case/HR-2041/book", "book-day")
	if got := b.post("/case/HR-2041/book", again); got.status != 200 || s.live(fenwick).State(late) != ledger.Booked {
		t.Errorf("sent again as it stands: %d\n%s", got.status, got.body)
	}
}

// TestWhoLosesASlotIsToldWhoHasIt books one slot for two patients.
func TestWhoLosesASlotIsToldWhoHasIt(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	other := s.admit("fenwick", "case=HR-3001", "patient.name=Ansel Birch")
	b := s.as(front)
	page := b.get(stepOf(fenwick, wound))
	form, to := offerForm(t, page)
	if _, _, err := s.keeper.Book(s.actor(nurse), other, desk.Choice{Step: graft.WoundCheck}, slotOf(form.Get("day"), form.Get("time")), ""); err != nil {
		t.Fatal(err)
	}
	got := b.post(to, form)
	if got.status != 409 || !got.says("HR-3001 Ansel Birch") {
		t.Fatalf("%d\n%s", got.status, got.body)
	}
	wantGoodPage(t, got.body)
	fresh, _ := offerForm(t, got)
	if fresh.Get("day") == form.Get("day") && fresh.Get("time") == form.Get("time") {
		t.Error("the taken slot is offered again")
	}
	if value := fieldOf(t, got, "book-time").attr["value"]; value != form.Get("time") {
		t.Errorf("the time that was wanted is gone: %q", value)
	}
	if got := b.post(to, fresh); got.status != 200 || s.live(fenwick).State(wound) != ledger.Booked {
		t.Errorf("the next best: %d\n%s", got.status, got.body)
	}
}

// TestAReasonIsAskedForAtItsField books outside the window without one.
func TestAReasonIsAskedForAtItsField(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	got := s.as(front).post("/case/HR-2041/book", s.acting(fenwick, late, "day", "2027-02-15", "time", "10:00"))
	if got.status != 422 || !got.says("outside its window, Thu 4 February 2027 to Sat 13 February 2027") || fieldOf(t, got, "book-why").attr["aria-invalid"] != "true" {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	wantGoodPage(t, got.body)
	if got.says("--why") || got.says("graftclock ") {
		t.Errorf("the page talks of a command\n%s", got.body)
	}
}

// TestWhatCannotBeDoneSaysWhy tries acts that the ledger refuses.
func TestWhatCannotBeDoneSaysWhy(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(front)
	for _, c := range []struct {
		act    string
		step   graft.MilestoneID
		fields []string
		status int
		says   string
	}{
		{"book", uncovering, []string{"day", "2027-07-28", "time", "09:00", "why", "soon"}, 422, "is before its gate"},
		{"book", wound, []string{"day", "2027-01-24", "time", "09:00"}, 409, "closed on Sundays"},
		{"book", wound, []string{"day", "2027-01-25", "time", "9"}, 422, "is no time of day"},
		{"book", wound, []string{"day", "", "time", "09:00"}, 422, "a day is needed"},
		{"book", call, []string{"day", "2027-01-19", "time", "09:00"}, 422, "nobody comes in for it"},
		{"move", wound, []string{"day", "2027-01-25", "time", "09:00"}, 409, "move is not for that"},
		{"cancel", wound, nil, 409, "cancel is not for that"},
		{"missed", wound, nil, 409, "missed is not for that"},
		{"attended", wound, []string{"day", "2027-01-19"}, 422, "lies ahead"},
		{"contact", wound, []string{"outcome", "confirmed"}, 409, "nothing to confirm"},
		{"contact", wound, []string{"outcome", "shouted"}, 422, "what came of the call is needed"},
		{"book", "wound-check/left/", []string{"day", "2027-01-25", "time", "09:00"}, 404, "has no such step"},
		{"attended", "extraction//", nil, 404, "has no such step"},
	} {
		before := s.live(fenwick).Kept.Head
		got := b.post("/case/HR-2041/"+c.act, s.acting(fenwick, c.step, c.fields...))
		if got.status != c.status || !strings.Contains(strings.ToLower(strings.Join(strings.Fields(got.body), " ")), strings.ToLower(c.says)) {
			t.Errorf("%s %s: %d, and does not say %q\n%s", c.act, c.step, got.status, c.says, got.body)
		}
		wantGoodPage(t, got.body)
		if head := s.live(fenwick).Kept.Head; head != before {
			t.Errorf("%s %s changed the case", c.act, c.step)
		}
	}
}

// TestAVisitThePlanNoLongerHasIsGivenBack leaves a step out that has a held window.
func TestAVisitThePlanNoLongerHasIsGivenBack(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	if got := b.post("/case/HR-2041/hold", s.acting(fenwick, review)); got.status != 200 {
		t.Fatal(got.status)
	}
	if _, err := s.keeper.AddFinding(s.actor(surgeon), fenwick, map[string]string{"what": "left out", "day": "2027-01-18", "step": "healing-review"}, ""); err != nil {
		t.Fatal(err)
	}
	if got := b.get("/case/HR-2041"); !got.says("the plan no longer has this step") || !got.says("See what settling would do") {
		t.Errorf("the case does not tell\n%s", got.body)
	}
	got := b.get(stepOf(fenwick, review))
	if got.status != 200 || !got.says("the plan no longer has this step") || got.says("Book a time") {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	wantGoodPage(t, got.body)
	if got := b.post("/case/HR-2041/cancel", s.acting(fenwick, review)); got.status != 200 || s.live(fenwick).State(review) != ledger.Cancelled {
		t.Errorf("%d\n%s", got.status, got.body)
	}
}

// TestTimesThatHavePassedAreNotOffered looks for a time in the course of a day, and after
// its end.
func TestTimesThatHavePassedAreNotOffered(t *testing.T) {
	s := serve(t, "2027-01-25 10:30")
	s.admit("fenwick", "patient.unavailable=none")
	b := s.as(front)
	form, _ := offerForm(t, b.get(stepOf(fenwick, wound)))
	if form.Get("day") != "2027-01-25" || form.Get("time") != "10:45" {
		t.Errorf("at half past ten: %v", form)
	}
	s.clock.set("2027-01-25 18:00")
	b = s.as(front)
	form, _ = offerForm(t, b.get(stepOf(fenwick, wound)))
	if form.Get("day") != "2027-01-26" || form.Get("time") != "08:30" {
		t.Errorf("in the evening: %v", form)
	}
}
