package web_test

import (
	"errors"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/ledger"
	"graftclock/internal/reference"
)

// TestTheLocksAreHeldByTests looks that every test which the table of locks names is
// there.
func TestTheLocksAreHeldByTests(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join(reference.Root(), "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(text), "## Locks")
	table, _, _ = strings.Cut(table, "\n## ")
	there := map[string]bool{}
	var files []string
	for _, folder := range []string{"internal", "cmd"} {
		more, err := filepath.Glob(filepath.Join(reference.Root(), folder, "*", "*_test.go"))
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, more...)
	}
	for _, file := range files {
		source, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?m)^func (Test\w+)\(`).FindAllSubmatch(source, -1) {
			there[string(m[1])] = true
		}
	}
	named := regexp.MustCompile(`Test[A-Z]\w+`).FindAllString(table, -1)
	if len(named) < 40 {
		t.Fatalf("only %d tests are named", len(named))
	}
	for _, name := range named {
		if !there[name] {
			t.Errorf("there is no %s", name)
		}
	}
}

// TestOwnPassword changes it with the old one alone, and ends the other sign-ins
// (OWASP ASVS 4.0.3, 2.1.5, 2.1.6 and 3.3.3).
func TestOwnPassword(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	here := s.as(front)
	there := s.as("")
	if got := there.post("/sign-in", url.Values{"name": {front}, "password": {password}, "to": {"/find"}}); got.path != "/find" {
		t.Fatal(got.status)
	}
	const fresh = "  twelve brown otters, ß and 🦦  "
	for name, form := range map[string]url.Values{
		"a wrong old one": {"old": {"not it, not at all"}, "new": {fresh}, "again": {fresh}},
		"two new ones":    {"old": {password}, "new": {fresh}, "again": {strings.TrimSpace(fresh)}},
		"a short one":     {"old": {password}, "new": {"otters"}, "again": {"otters"}},
		"nothing":         {},
	} {
		if got := here.post("/password", form); got.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	s.clock.set("2027-01-26 08:50")
	if got := here.post("/password", url.Values{"old": {password}, "new": {fresh}, "again": {fresh}}); got.status != http.StatusOK || !got.says("Your password is changed.") {
		t.Fatalf("%d\n%s", got.status, got.body)
	}
	if got := here.get("/find"); got.status != http.StatusOK {
		t.Errorf("who changed it is out: %d", got.status)
	}
	if got := there.get("/find"); got.status != http.StatusUnauthorized {
		t.Errorf("another browser is still in: %d", got.status)
	}
	if got := s.as("").post("/sign-in", url.Values{"name": {front}, "password": {fresh}, "to": {"/find"}}); got.path != "/find" {
		t.Errorf("the new one does not let in: %d", got.status)
	}
}

// TestAPasswordCanBeSeenAndPasted wants fields that a browser and a manager of
// passwords understand, and a button that shows what is typed (OWASP ASVS 4.0.3, 2.1.11
// and 2.1.12).
func TestAPasswordCanBeSeenAndPasted(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	for path, fields := range map[string][]string{"/sign-in": {"current-password"}, "/password": {"current-password", "new-password", "new-password"}} {
		body := s.as(front).get(path).body
		if path == "/sign-in" {
			body = s.as("").get(path).body
		}
		var got []string
		for _, m := range regexp.MustCompile(`<input id="(\w+)"[^>]*type="password"[^>]*autocomplete="([a-z-]+)"`).FindAllStringSubmatch(body, -1) {
			got = append(got, m[2])
			if !strings.Contains(body, `data-shows="`+m[1]+`"`) {
				t.Errorf("%s: nothing shows %s", path, m[1])
			}
		}
		if !slices.Equal(got, fields) || strings.Contains(body, "onpaste") {
			t.Errorf("%s has fields %v", path, got)
		}
	}
}

// TestNobodyCanSignInUnasked finds no account that nobody made (OWASP ASVS 4.0.3, 2.5.4).
func TestNobodyCanSignInUnasked(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	if accounts, err := s.keeper.Accounts(); err != nil || len(accounts) != 0 {
		t.Errorf("%v, %v", accounts, err)
	}
	b := s.as("")
	for _, name := range []string{front, surgeon, "admin", "root", ""} {
		if got := b.post("/sign-in", url.Values{"name": {name}, "password": {""}}); got.status != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", name, got.status)
		}
	}
}

// TestOnlyKnownMethods refuses what no page uses (OWASP ASVS 4.0.3, 14.5.1).
func TestOnlyKnownMethods(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	id := s.admit("fenwick")
	b := s.as(surgeon)
	for _, method := range []string{http.MethodPut, http.MethodDelete, http.MethodPatch, http.MethodOptions, http.MethodTrace, "BREW"} {
		r, err := http.NewRequest(method, s.url+"/case/"+string(id)+"/approve", nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := b.answer(b.client.Do(r)); got.status < 400 || got.header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: %d %v", method, got.status, got.header)
		}
	}
	if s.live(id).Approval != nil {
		t.Error("approved")
	}
}

// broken is a store whose disk has failed, with words that nobody should read.
type broken struct{ desk.Store }

func (b broken) View(look func(desk.Ledger) error) error {
	return b.Store.View(func(l desk.Ledger) error {
		_ = look(l)
		return errors.New("secret words of the disk about Fenwick")
	})
}

// TestAFaultOfTheProgramTellsNothing breaks the ledger under a page (OWASP ASVS 4.0.3,
// 7.4.1).
func TestAFaultOfTheProgramTellsNothing(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	s.options.Store = broken{s.options.Store}
	s.start()
	got := s.fetch("/feed/token.ics")
	if got.status != http.StatusInternalServerError || !got.says("The ledger or a file could not be read or written.") {
		t.Errorf("status %d\n%s", got.status, got.body)
	}
	for where, text := range map[string]string{"page": got.body, "log": s.log.String()} {
		if strings.Contains(text, "secret words") || strings.Contains(text, "Fenwick") {
			t.Errorf("the %s tells: %s", where, text)
		}
	}
	if !strings.Contains(s.log.String(), "not done") {
		t.Errorf("the log says nothing: %s", s.log)
	}
}

// TestAnothersPasswordAsksForOnesOwn: a session that was taken over sets nobody's
// password, guessing the surgeon's is slowed as at the door, and every refusal stands in
// the history (OWASP ASVS 4.0.3, 2.1.6 and 3.7.1).
func TestAnothersPasswordAsksForOnesOwn(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	b, hers := s.as(surgeon), s.as(nurse)
	const fresh, wrong = "eleven slow barges at noon", "not it, not at all"
	form := formTo(t, b.get("/clinic/people"), "/clinic/people/password", "")
	if !form.Has("own") {
		t.Fatalf("the form does not ask for it: %v", form)
	}
	form.Set("who", nurse)
	form.Set("new", fresh)
	form.Set("again", fresh)
	for _, own := range []string{"", wrong, password + " ", fresh} {
		got := b.post("/clinic/people/password", with(form, "own", own))
		if got.status != http.StatusUnprocessableEntity || !got.says("That is not your own password.") || strings.Contains(got.body, fresh) {
			t.Errorf("%q: %d\n%s", own, got.status, got.body)
		}
		if e := s.history()[len(s.history())-1]; e.What != ledger.SignInRefused || e.By.Name != surgeon {
			t.Errorf("%q: the history: %+v", own, e)
		}
	}
	tried := 0
	for ; tried < 30; tried++ {
		if got := b.post("/clinic/people/password", with(form, "own", wrong)); got.status == http.StatusTooManyRequests {
			wantGoodPage(t, got.body)
			if !got.says("Too many tries. Wait a minute and try again.") || got.header.Get("Retry-After") == "" {
				t.Errorf("no word when to try again\n%s", got.body)
			}
			break
		}
	}
	if tried > 20 {
		t.Errorf("stopped after %d tries", tried)
	}
	if got := b.post("/clinic/people/password", with(form, "own", password)); got.status != http.StatusTooManyRequests {
		t.Errorf("the right one goes through a closed door: %d", got.status)
	}
	if got := hers.get("/find"); got.status != http.StatusOK {
		t.Errorf("her sign-in has ended: %d", got.status)
	}
	s.clock.set("2027-01-26 08:40")
	if got := b.post("/clinic/people/password", with(form, "own", password)); got.status != http.StatusOK || !got.says("The password of "+nurse+" is set") {
		t.Errorf("with the right one: %d\n%s", got.status, got.body)
	}
	if got := s.as("").post("/sign-in", url.Values{"name": {nurse}, "password": {fresh}, "to": {"/find"}}); got.path != "/find" {
		t.Errorf("the new one does not let in: %d", got.status)
	}
}
