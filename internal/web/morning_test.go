package web_test

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
)

// book books the best time of a step.
func (s *served) book(id graft.CaseID, step graft.Step) ledger.Visit {
	s.t.Helper()
	live := s.live(id)
	m, err := live.Pick(desk.Choice{Step: step})
	if err != nil {
		s.t.Fatal(err)
	}
	offers, err := live.Offers(m, day.Span{}, 1)
	if err != nil || len(offers) == 0 {
		s.t.Fatal(step, offers, err)
	}
	_, v, err := s.keeper.Book(s.actor(front), id, desk.Choice{Step: step}, offers[0].Slot, "")
	if err != nil {
		s.t.Fatal(err)
	}
	return v
}

// TestMorning shows today's visit, who needs a call with the number to dial, what is
// to be firmed up and what waits for a surgeon, and notes an outcome with one click.
func TestMorning(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-18 08:30")
	id := s.admit("fenwick", "patient.phone=+353 1 555 0141")
	v := s.book(id, graft.WoundCheck)
	s.clock.set(v.Day.String() + " 08:30")
	b := s.as(front)
	s.catchUp()
	got := b.get("/")
	for _, words := range []string{
		v.Day.Time().Format("Monday 2 January 2006"), "1 visit", v.Start.String() + "–" + v.End().String(), "not confirmed",
		`<a href="tel:+35315550141">+353 1 555 0141</a>`, "Phone call", "early check missed", "draft, revision 1", "approve or override", "Windows to firm up", "Late check",
	} {
		if !got.says(words) {
			t.Errorf("the page does not say %q\n%s", words, got.body)
		}
	}
	seen := strconv.FormatInt(s.live(id).Kept.Head, 10)
	form := url.Values{"seen": {seen}, "id": {"wound-check//"}, "back": {"/"}, "outcome": {"confirmed"}}
	if done := b.post("/case/"+string(id)+"/contact", form); done.path != "/" || !done.says("Noted: Wound check, confirmed.") || done.says("not confirmed") {
		t.Errorf("after the click: %s\n%s", done.path, done.body)
	}
	if again := b.post("/case/"+string(id)+"/contact", form); again.status != http.StatusConflict {
		t.Errorf("the same click on a page of before: %d", again.status)
	}
	seen = strconv.FormatInt(s.live(id).Kept.Head, 10)
	if done := b.post("/case/"+string(id)+"/attended", url.Values{"seen": {seen}, "id": {"wound-check//"}, "back": {"/"}}); !done.says("No visit is booked.") {
		t.Errorf("after the visit:\n%s", done.body)
	}
}

// TestAVisitThatDoesNotFitIsNotConfirmed closes the clinic on the day of a visit: whoever
// calls the patient sees it, and has nothing to confirm.
func TestAVisitThatDoesNotFitIsNotConfirmed(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-18 08:30")
	id := s.admit("fenwick", "patient.unavailable=none")
	v := s.book(id, graft.WoundCheck)
	b := s.as(front)
	s.catchUp()
	confirm := regexp.MustCompile(`(?s)<h2 id="confirm">.*?</section>`)
	if got := confirm.FindString(b.get("/").body); !strings.Contains(got, ">Confirmed<") || strings.Contains(got, "does not fit") {
		t.Errorf("as booked:\n%s", got)
	}
	closed := fmt.Sprintf("closures: [{from: %s, to: %s, name: Boiler}, ", v.Day, v.Day)
	if err := os.WriteFile(filepath.Join(s.folder, "clinic.yaml"), []byte(strings.Replace(s.clinicText(), "closures: [", closed, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	b.get("/")
	s.catchUp()
	got := confirm.FindString(b.get("/").body)
	if strings.Contains(got, ">Confirmed<") || !strings.Contains(got, "which does not fit: closed: Boiler") || !strings.Contains(got, ">No answer<") {
		t.Errorf("closed:\n%s", got)
	}
}

// TestMorningOfAClosedDay says why nobody is there.
func TestMorningOfAClosedDay(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-08-10 08:30")
	if got := s.as(front).get("/"); !got.says("closed: Summer closure.") {
		t.Errorf("%s", got.body)
	}
}

// TestFindKeepsNamesOutOfAddresses finds a case by a name typed with a slip and
// without an accent, posts it, and never redirects to an address with the name.
func TestFindKeepsNamesOutOfAddresses(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick", "patient.name=Žofie Fénwíck")
	s.admit("okafor")
	b := s.as(front)
	s.catchUp()
	for _, typed := range []string{"zofie fenwick", "Fenwikc", "fenw", "HR-2041", "  FENWICK,  žofie "} {
		got := b.post("/find", url.Values{"typed": {typed}})
		if got.path != "/find" || !got.says("1 case") || !got.says("Žofie Fénwíck") {
			t.Errorf("%q: %s\n%s", typed, got.path, got.body)
		}
	}
	if got := b.post("/find", url.Values{"typed": {"fenwick"}, "surgeon": {"Dr Nobody"}}); !got.says("No case is like that.") {
		t.Errorf("another surgeon's:\n%s", got.body)
	}
	if got := b.post("/find", url.Values{"waiting": {"yes"}}); !got.says("2 cases") {
		t.Errorf("what waits:\n%s", got.body)
	}
	hostile := `"><script>alert(1)</script>` + strings.Repeat("é\u0301", 3000) + "\x00"
	if got := b.post("/find", url.Values{"typed": {hostile}, "surgeon": {hostile}}); got.status != http.StatusOK || strings.Contains(got.body, "<script>alert") {
		t.Errorf("hostile: %d", got.status)
	}
}

// TestMorningSaysTheSameAfterARestart acts on what a page shows and compares it every
// time with the page of a server that has written none of its rows before.
func TestMorningSaysTheSameAfterARestart(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-18 08:30")
	id := s.admit("fenwick", `patient.name=Ann "Nan" O'Fee & Son`)
	s.admit("okafor")
	v := s.book(id, graft.WoundCheck)
	s.clock.set(v.Day.String() + " 08:30")
	b := s.as(front)
	did := func(what string) {
		t.Helper()
		s.catchUp()
		kept, pages, address := b.get("/").body, s.pages, s.url
		s.start()
		s.catchUp()
		anew := (&browser{t, b.client, s.url}).get("/").body
		if s.pages, s.url = pages, address; anew != kept {
			t.Fatalf("%s: kept\n%s\nanew\n%s", what, kept, anew)
		}
	}
	did("nothing")
	if got := b.get("/"); strings.Count(got.body, "Ann &#34;Nan&#34; O&#39;Fee &amp; Son") < 2 || strings.Contains(got.body, `Ann "Nan"`) {
		t.Errorf("a name with quotes:\n%s", got.body)
	}
	post := func(act string, form url.Values) {
		t.Helper()
		form["seen"], form["id"], form["back"] = []string{strconv.FormatInt(s.live(id).Kept.Head, 10)}, []string{"wound-check//"}, []string{"/"}
		b.get("/")
		if done := b.post("/case/"+string(id)+"/"+act, form); done.path != "/" {
			t.Fatalf("%s: %s\n%s", act, done.path, done.body)
		}
		b.get("/") // takes what was said of the act
		did(act)
	}
	post("contact", url.Values{"outcome": {"no answer"}})
	post("contact", url.Values{"outcome": {"confirmed"}})
	post("attended", url.Values{})
	if _, err := s.keeper.Set(s.actor(surgeon), id, []string{"patient.name=Nora Fenwick"}, "misheard"); err != nil {
		t.Fatal(err)
	}
	did("rename")
	if got := b.get("/"); !got.says("Nora Fenwick") || got.says("Son") {
		t.Errorf("renamed:\n%s", got.body)
	}
	s.clock.set(v.Day.AddDays(1).String() + " 08:30")
	b = s.as(front)
	if got := b.get("/"); !got.says("; being looked at anew") {
		t.Errorf("the next morning, before the lists are made anew:\n%s", got.body)
	}
	s.catchUp()
	if got := b.get("/"); got.says("being looked at anew") {
		t.Errorf("after that:\n%s", got.body)
	}
}

// TestTheListsAreMadeThoughPagesAreAskedFor holds a request open while the lists are
// made: they wait for it a little, and not for ever.
func TestTheListsAreMadeThoughPagesAreAskedFor(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(front)
	body, typing := io.Pipe()
	defer typing.Close()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.url+"/find", body)
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	answered := make(chan error, 1)
	go func() {
		r, err := b.client.Do(request)
		if err == nil {
			err = r.Body.Close()
		}
		answered <- err
	}()
	if _, err := io.WriteString(typing, "typed="); err != nil {
		t.Fatal(err)
	}
	for s.pages.UnderWay() == 0 {
		time.Sleep(time.Millisecond)
	}
	s.catchUp()
	if n := s.pages.UnderWay(); n != 1 {
		t.Errorf("%d requests under way", n)
	}
	typing.Close()
	if err := <-answered; err != nil {
		t.Error(err)
	}
	for s.pages.UnderWay() != 0 {
		time.Sleep(time.Millisecond)
	}
}
