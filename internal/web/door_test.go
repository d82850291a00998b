package web_test

import (
	"html"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"graftclock/internal/desk"
	"graftclock/internal/web"
)

// addresses lists every route of the served clinic.
func (s *served) addresses() []web.Address {
	s.t.Helper()
	pages, err := web.New(s.options)
	if err != nil {
		s.t.Fatal(err)
	}
	return pages.Addresses()
}

// filled is a route's address with a case and other parts in it.
func filled(pattern string, id string) string {
	path := strings.ReplaceAll(pattern, "{$}", "")
	path = strings.ReplaceAll(path, "{case}", id)
	path = strings.ReplaceAll(path, "{day}", "2027-01-14")
	path = strings.ReplaceAll(path, "{id}", "growth-rate")
	return regexp.MustCompile(`\{[a-z]+\.*\}`).ReplaceAllString(path, "letter.html")
}

// TestNobodySeesAnythingUnsigned asks for every address without a sign-in: it gets
// the page to sign in, nothing of the case, and no act is done (OWASP ASVS 4.0.3, 4.1.1).
func TestNobodySeesAnythingUnsigned(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	id := string(s.admit("fenwick"))
	head := s.live("HR-2041").Kept.Head
	b := s.as("")
	asked := 0
	for _, a := range s.addresses() {
		if a.Open {
			continue
		}
		asked++
		path := filled(a.Pattern, id)
		var got answer
		if a.Method == http.MethodGet {
			got = b.get(path)
		} else {
			got = b.post(path, url.Values{"id": {"wound-check//"}, "outcome": {"no answer"}})
		}
		if got.status != http.StatusUnauthorized {
			t.Errorf("%s %s: status %d", a.Method, a.Pattern, got.status)
		}
		if got.says("Fenwick") || got.says("Alba Quill") || !got.says("Sign in") {
			t.Errorf("%s %s shows more than the way in", a.Method, a.Pattern)
		}
	}
	if asked < 30 {
		t.Errorf("only %d addresses were asked for", asked)
	}
	if now := s.live("HR-2041").Kept.Head; now != head {
		t.Error("an act was done without a sign-in")
	}
}

// TestEveryAnswerIsLocked wants the headers that lock a page on each kind of answer
// (OWASP ASVS 4.0.3, 14.4; Content Security Policy level 3).
func TestEveryAnswerIsLocked(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	b := s.as(front)
	page := b.get("/")
	style := regexp.MustCompile(`href="(/static/[^"]+)"`).FindStringSubmatch(page.body)
	if page.status != http.StatusOK || style == nil {
		t.Fatalf("the first page: %d", page.status)
	}
	for _, path := range []string{"/", "/sign-in", "/nowhere", "/case/none", "/feed/none.ics", style[1]} {
		got := b.get(path)
		for header, want := range map[string]string{
			"Content-Security-Policy":      "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
			"X-Content-Type-Options":       "nosniff",
			"Referrer-Policy":              "same-origin",
			"Cross-Origin-Resource-Policy": "same-origin",
		} {
			if is := got.header.Get(header); is != want {
				t.Errorf("%s: %s is %q", path, header, is)
			}
		}
		if keeps := got.header.Get("Cache-Control"); path != style[1] && !strings.Contains(keeps, "no-store") {
			t.Errorf("%s may be kept: %q", path, keeps)
		}
		if regexp.MustCompile(`(?i)<[^>]+\s(style|on[a-z]+)=|<script>|<style`).MatchString(got.body) {
			t.Errorf("%s has a script or a style inside", path)
		}
	}
}

// TestOtherSitesCannotAct posts as a page of another site would.
func TestOtherSitesCannotAct(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	id := s.admit("fenwick")
	head := s.live(id).Kept.Head
	b := s.as(front)
	for _, header := range []http.Header{
		{"Sec-Fetch-Site": {"cross-site"}}, {"Sec-Fetch-Site": {"same-site"}}, {"Origin": {"http://elsewhere.example"}}, {"Origin": {"null"}},
	} {
		form := url.Values{"id": {"wound-check//"}, "outcome": {"no answer"}}
		r, err := http.NewRequest(http.MethodPost, s.url+"/case/"+string(id)+"/contact", strings.NewReader(form.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		r.Header = header.Clone()
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		if got := b.answer(b.client.Do(r)); got.status != http.StatusForbidden {
			t.Errorf("%v: status %d", header, got.status)
		}
	}
	if now := s.live(id).Kept.Head; now != head {
		t.Error("another site acted")
	}
}

// TestAnotherNameForThisMachine refuses a host name that was pointed at loopback.
func TestAnotherNameForThisMachine(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	for host, want := range map[string]int{"rebound.example": http.StatusMisdirectedRequest, "192.168.1.10:80": http.StatusMisdirectedRequest, "localhost:1": 200, "[::1]:1": 200, "127.0.0.1": 200} {
		r, err := http.NewRequest(http.MethodGet, s.url+"/sign-in", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Host = host
		b := s.as("")
		if got := b.answer(b.client.Do(r)); got.status != want {
			t.Errorf("host %s: status %d, want %d", host, got.status, want)
		}
	}
}

// TestSignInTellsNothing answers an unknown name, a wrong password and an ended
// sign-in alike (OWASP ASVS 4.0.3, 2.2).
func TestSignInTellsNothing(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	s.as(nurse)
	terminal := desk.Terminal(s.clock.now(), s.actor(front).On)
	if err := s.keeper.EndAccount(terminal, nurse); err != nil {
		t.Fatal(err)
	}
	s.as(front)
	b := s.as("")
	var first answer
	for n, name := range []string{front, nurse, surgeon, "Nobody Known", "<script>alert(1)</script>", strings.Repeat("x", 5000)} {
		got := b.post("/sign-in", url.Values{"name": {name}, "password": {"not it, not at all"}})
		if got.status != http.StatusUnprocessableEntity || !got.says("Name and password do not match.") || strings.Contains(got.body, "<script>alert") {
			t.Errorf("%.20q: status %d", name, got.status)
		}
		got.header.Del("Content-Length") // a long page has none
		if n == 0 {
			first = got
		} else if len(got.header) != len(first.header) {
			t.Errorf("%.20q is answered with other headers", name)
		}
	}
}

// TestGuessingIsSlowed stops a program that guesses, by name and by client, and lets
// the person in once some time has passed (OWASP ASVS 4.0.3, 2.2.1).
func TestGuessingIsSlowed(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	s.as(front)
	b := s.as("")
	tried := 0
	for ; tried < 50; tried++ {
		if got := b.post("/sign-in", url.Values{"name": {front}, "password": {"not it, not at all"}}); got.status == http.StatusTooManyRequests {
			if got.header.Get("Retry-After") == "" {
				t.Error("no word when to try again")
			}
			break
		}
	}
	if tried < 5 || tried > 20 {
		t.Errorf("stopped after %d tries", tried)
	}
	if got := b.post("/sign-in", url.Values{"name": {front}, "password": {password}}); got.status != http.StatusTooManyRequests {
		t.Errorf("the right password goes through a closed door: %d", got.status)
	}
	s.clock.set("2027-01-26 08:32")
	if got := b.post("/sign-in", url.Values{"name": {front}, "password": {password}, "to": {"/find"}}); got.path != "/find" {
		t.Errorf("after two minutes: %d %s", got.status, got.path)
	}
}

// TestASignInEnds wants it to end by rest, by the length of the day, by a new
// password, with the person, and by its button, in the browser and at the server
// (OWASP ASVS 4.0.3, 3.3).
func TestASignInEnds(t *testing.T) {
	t.Parallel()
	in := func(s *served) *browser {
		s.clock.set("2027-01-26 08:30")
		return s.as(front)
	}
	s := serve(t, "2027-01-26 08:30")
	ended := func(b *browser) bool { return b.get("/find").status == http.StatusUnauthorized }
	terminal := func() desk.Actor { return desk.Terminal(s.clock.now(), s.actor(front).On) }
	for name, end := range map[string]func(*browser){
		"an hour and a minute without a click": func(*browser) { s.clock.set("2027-01-26 09:31") },
		"a working day": func(b *browser) {
			for _, at := range []string{"09:20", "10:10", "11:00", "11:50", "12:40", "13:30", "14:20", "15:10", "16:00", "16:50", "17:40", "18:30", "19:20", "20:10"} {
				s.clock.set("2027-01-26 " + at)
				if ended(b) {
					t.Errorf("ended at %s already", at)
				}
			}
			s.clock.set("2027-01-26 20:31")
		},
		"another password": func(*browser) {
			if err := s.keeper.SetPassword(terminal(), front, "twelve brown otters"); err != nil {
				t.Fatal(err)
			}
		},
		"the end of the sign-in": func(*browser) {
			if err := s.keeper.EndAccount(terminal(), front); err != nil {
				t.Fatal(err)
			}
		},
		"the button": func(b *browser) { b.post("/sign-out", nil) },
	} {
		b := in(s)
		if ended(b) {
			t.Fatalf("%s: not signed in", name)
		}
		address, err := url.Parse(s.url)
		if err != nil {
			t.Fatal(err)
		}
		cookies := b.client.Jar.Cookies(address)
		end(b)
		if !ended(b) {
			t.Errorf("%s does not end it", name)
		}
		old, err := cookiejar.New(nil)
		if err != nil {
			t.Fatal(err)
		}
		old.SetCookies(address, cookies)
		if !ended(&browser{t, &http.Client{Jar: old}, s.url}) {
			t.Errorf("%s: the old cookie still opens", name)
		}
	}
}

// TestWhoLeavesTheClinicIsOut takes a person out of the clinic file while signed in.
func TestWhoLeavesTheClinicIsOut(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	b := s.as(front)
	path := filepath.Join(s.folder, "clinic.yaml")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	without := strings.Replace(string(data), ", {name: Ida Marlow, role: desk, days: [mon-fri]}", "", 1)
	if err := os.WriteFile(path, []byte(without), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := b.get("/find"); got.status != http.StatusUnauthorized {
		t.Errorf("status %d", got.status)
	}
}

// TestAFreshTokenAtSignIn gives no session that somebody else may have set before
// (OWASP ASVS 4.0.3, 3.2.1), and a cookie that no script reads.
func TestAFreshTokenAtSignIn(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	s.as(front)
	address, _ := url.Parse(s.url)
	jar, _ := cookiejar.New(nil)
	jar.SetCookies(address, []*http.Cookie{{Name: "graftclock", Value: "known-to-somebody-else"}})
	client := &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	r, err := client.PostForm(s.url+"/sign-in", url.Values{"name": {front}, "password": {password}})
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	var given *http.Cookie
	for _, c := range r.Cookies() {
		given = c
	}
	if given == nil || given.Value == "known-to-somebody-else" || len(given.Value) < 40 {
		t.Fatalf("cookie %v", given)
	}
	if !given.HttpOnly || given.SameSite != http.SameSiteLaxMode || given.Path != "/" || !given.Expires.IsZero() {
		t.Errorf("cookie %v", given)
	}
	s.options.Secure = true
	s.start()
	r, err = client.PostForm(s.url+"/sign-in", url.Values{"name": {front}, "password": {password}})
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if cookie := r.Header.Get("Set-Cookie"); !strings.HasPrefix(cookie, "__Host-graftclock=") || !strings.Contains(cookie, "Secure") {
		t.Errorf("over https: %s", cookie)
	}
	if r.Header.Get("Strict-Transport-Security") == "" {
		t.Error("over https: no word that it stays so")
	}
}

// TestWhatWasTypedComesThroughTheDoor sends a form after the sign-in has run out:
// it comes back to be sent, once and by whoever has signed in.
func TestWhatWasTypedComesThroughTheDoor(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	id := s.admit("fenwick")
	b := s.as(front)
	s.clock.set("2027-01-26 10:30")
	form := url.Values{"id": {"wound-check//"}, "outcome": {"no answer"}, "says": {`she said "later" <b>`}}
	got := b.post("/case/"+string(id)+"/contact", form)
	if got.status != http.StatusUnauthorized || !got.says("What you typed is kept") || !got.says(`she said "later" <b>`) {
		t.Fatalf("status %d\n%s", got.status, got.body)
	}
	again := hidden(got.body)
	again.Set("name", front)
	again.Set("password", password)
	got = b.post("/sign-in", again)
	if got.status != http.StatusOK || !got.says("Nothing of it has been done yet") {
		t.Fatalf("status %d\n%s", got.status, got.body)
	}
	if n := len(s.live(id).Contacts); n != 0 {
		t.Fatalf("%d contacts before it was sent", n)
	}
	got = b.post("/case/"+string(id)+"/contact", hidden(got.body))
	contacts := s.live(id).Contacts
	if got.status != http.StatusOK || len(contacts) != 1 || contacts[0].Says != form.Get("says") {
		t.Errorf("status %d, %v", got.status, contacts)
	}
}

// hidden are the hidden fields of a page, and those alone.
func hidden(body string) url.Values {
	form := url.Values{}
	for _, m := range regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`).FindAllStringSubmatch(body, -1) {
		form.Add(html.UnescapeString(m[1]), html.UnescapeString(m[2]))
	}
	return form
}

// TestNoWayOutThroughTheDoor signs in with an address of elsewhere to go to.
func TestNoWayOutThroughTheDoor(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	s.as(front)
	for _, to := range []string{"https://elsewhere.example/", "//elsewhere.example/", `/\elsewhere.example`, "javascript:alert(1)", "/\r\nX: y", "/%0d%0aX:y//", ""} {
		b := s.as("")
		b.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
		s.clock.set("2027-01-26 08:30")
		got := b.post("/sign-in", url.Values{"name": {front}, "password": {password}, "to": {to}})
		if at := got.header.Get("Location"); got.status == http.StatusSeeOther && (!strings.HasPrefix(at, "/") || strings.HasPrefix(at, "//") || strings.ContainsAny(at, "\\\r\n")) {
			t.Errorf("%q leads to %q", to, at)
		}
	}
}

// TestTheLogTellsNobody walks over pages and reads the log: no name, no number of a
// case, no token, no password (OWASP ASVS 4.0.3, 7.1.1).
func TestTheLogTellsNobody(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-26 08:30")
	id := s.admit("fenwick")
	b := s.as(front)
	b.get("/case/" + string(id))
	b.post("/find", url.Values{"typed": {"Fenwick"}})
	b.get("/find?typed=Fenwick&password=" + url.QueryEscape(password))
	b.get("/feed/secret-token-of-nobody.ics")
	b.get("/nowhere/Fenwick")
	b.post("/sign-in", url.Values{"name": {"Fenwick"}, "password": {"another secret"}})
	log := s.log.String()
	if strings.Count(log, "answered") < 6 {
		t.Fatalf("the log: %s", log)
	}
	for _, secret := range []string{"Fenwick", "Nora", string(id), "secret", password, "herons", "Ida", "Marlow", "127.0.0.1"} {
		if strings.Contains(log, secret) {
			t.Errorf("the log tells %q:\n%s", secret, log)
		}
	}
}
