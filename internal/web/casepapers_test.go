package web_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"graftclock/internal/cli"
	"graftclock/internal/desk"
)

// run runs the command line on the ledger of the pages, at their time.
func (s *served) run(args ...string) {
	s.t.Helper()
	var out, wrong bytes.Buffer
	args = append(args, "--clinic", filepath.Join(s.folder, "clinic.yaml"), "--on", s.clock.now().Format("2006-01-02"))
	if code := cli.MainAt(s.clock.now, args, strings.NewReader(""), &out, &wrong); code != 0 {
		s.t.Fatalf("%v: %d\n%s%s", args, code, out.String(), wrong.String())
	}
}

// files are those of a folder by name.
func files(t testing.TB, folder string) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if all[e.Name()], err = os.ReadFile(filepath.Join(folder, e.Name())); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// named is the name under which a file was handed out; empty for a page.
func named(a answer) string {
	_, name, _ := strings.Cut(a.header.Get("Content-Disposition"), `filename="`)
	return strings.TrimSuffix(name, `"`)
}

// TestDownloadsAreTheFilesOfTheCommandLine gives every file out from the page and has
// the command line write it: the same bytes under the same name.
func TestDownloadsAreTheFilesOfTheCommandLine(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	if _, _, err := s.keeper.Book(s.actor(front), fenwick, desk.ChoiceOf(wound), slotOf("2027-01-25", "09:00"), ""); err != nil {
		t.Fatal(err)
	}
	b := s.as(front)
	for _, draft := range []bool{true, false} {
		if !draft {
			if _, err := s.keeper.Approve(s.actor(surgeon), fenwick); err != nil {
				t.Fatal(err)
			}
		}
		for _, c := range []struct {
			args  []string
			form  url.Values
			names []string
		}{
			{[]string{"letter", "HR-2041", "--to", "both"}, url.Values{}, []string{"letter.html", "letter.txt", "letter.pdf", "referrer.html", "referrer.txt", "referrer.pdf"}},
			{[]string{"letter", "HR-2041", "--to", "both", "--lang", "es", "--large"}, url.Values{"language": {"es"}, "large": {"yes"}}, []string{"letter.html", "letter.txt", "letter.pdf", "referrer.pdf"}},
			{[]string{"plan", "HR-2041"}, url.Values{}, []string{"patient.ics", "desk.ics", "surgeon.ics"}},
		} {
			got := map[string][]byte{}
			for _, name := range c.names {
				a := b.post("/case/HR-2041/file/"+name, c.form)
				if a.status != 200 || named(a) == "" || a.header.Get("Cache-Control") != "no-store" {
					t.Fatalf("%s: %d %v", name, a.status, a.header)
				}
				got[named(a)] = []byte(a.body)
			}
			folder := filepath.Join(t.TempDir(), "out")
			s.run(append(c.args, "--out", folder)...)
			want := files(t, folder)
			for name, data := range got {
				if !bytes.Equal(data, want[name]) {
					t.Errorf("%v: %s is not what the command line writes (%d and %d bytes)", c.args, name, len(data), len(want[name]))
				}
			}
			if len(got) != len(c.names) {
				t.Errorf("%v: %d names for %d files", c.args, len(got), len(c.names))
			}
		}
	}
}

// TestLookingGivesNothingOut opens what is only looked at, against the command line,
// and wants the ledger to keep nothing of it.
func TestLookingGivesNothingOut(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	issued := func() (n int) {
		if err := s.store.View(func(l desk.Ledger) error {
			list, err := l.Issues(fenwick)
			n = len(list)
			return err
		}); err != nil {
			t.Fatal(err)
		}
		return n
	}
	folder := filepath.Join(t.TempDir(), "out")
	s.run("report", "HR-2041", "--out", folder)
	want := files(t, folder)
	for _, name := range []string{"report.html", "report.pdf", "timeline.json"} {
		if got := b.get("/case/HR-2041/file/" + name); got.status != 200 || got.body != string(want[name]) {
			t.Errorf("%s: %d, %d bytes and not %d", name, got.status, len(got.body), len(want[name]))
		}
	}
	b.get("/case/HR-2041/file/letter.html")
	if n := issued(); n != 0 {
		t.Errorf("looking gave %d events out", n)
	}
	if got := b.post("/case/HR-2041/file/letter.html", url.Values{"show": {"page"}}); got.status != 200 || issued() == 0 {
		t.Errorf("printing a letter gave nothing out: %d", got.status)
	}
}

var styled = regexp.MustCompile(`(?s)<style>(.*?)</style>`)

// TestAPageToPrintBringsItsOwnStyleAndNothingElse wants the policy to let through just
// the style of the page (Content Security Policy level 3, 2.3.1).
func TestAPageToPrintBringsItsOwnStyleAndNothingElse(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(surgeon)
	for _, got := range []answer{
		b.post("/case/HR-2041/file/letter.html", url.Values{"show": {"page"}}),
		b.post("/case/HR-2041/file/referrer.html", url.Values{"show": {"page"}, "language": {"de"}}),
		b.get("/case/HR-2041/file/report.html"),
	} {
		policy := got.header.Get("Content-Security-Policy")
		found := styled.FindAllStringSubmatch(got.body, -1)
		if got.status != 200 || named(got) != "" || len(found) == 0 || !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "unsafe") || strings.Contains(policy, "'self'") {
			t.Fatalf("%d %v", got.status, got.header)
		}
		for _, style := range found {
			sum := sha256.Sum256([]byte(style[1]))
			if !strings.Contains(policy, "'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'") {
				t.Errorf("the policy does not let the style through: %s", policy)
			}
		}
		if strings.Contains(got.body, " style=") || strings.Contains(got.body, "<script") {
			t.Error("the page needs more than its style")
		}
	}
}

// TestWhatIsHeldBackSaysWhy asks for the letter of a case with a stop finding.
func TestWhatIsHeldBackSaysWhy(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	if _, err := s.keeper.AddFinding(s.actor(surgeon), fenwick, map[string]string{"what": "infection", "day": "2027-01-18"}, ""); err != nil {
		t.Fatal(err)
	}
	b := s.as(front)
	if got := b.get("/case/HR-2041"); !got.says("A stop finding stands, so nothing is given to the patient") || got.says("Open to print") || !got.says("<strong>Stop.</strong>") {
		t.Errorf("the case does not tell\n%s", got.body)
	}
	for _, name := range []string{"letter.html", "letter.pdf", "referrer.txt", "patient.ics"} {
		got := b.post("/case/HR-2041/file/"+name, url.Values{})
		if got.status != 409 || !got.says("a stop finding stands") {
			t.Errorf("%s: %d\n%s", name, got.status, got.body)
		}
		wantGoodPage(t, got.body)
	}
	if got := b.post("/case/HR-2041/file/desk.ics", url.Values{}); got.status != 200 {
		t.Errorf("the desk's calendar: %d", got.status)
	}
	for _, language := range []string{"xx", `de"; filename="x`, "../../etc", "en\r\nX: y"} {
		s := b.post("/case/HR-2041/file/letter.html", url.Values{"language": {language}})
		if s.status == 200 || s.status >= 500 {
			t.Errorf("language %q: %d", language, s.status)
		}
	}
}

// TestAFeedIsOpenedShownAndEnded wants an address that nobody can guess, only on the
// page of its case.
func TestAFeedIsOpenedShownAndEnded(t *testing.T) {
	s := serve(t, "2027-01-18 08:30")
	s.admit("fenwick")
	b := s.as(front)
	got := b.post("/case/HR-2041/feed", formTo(t, b.get("/case/HR-2041"), "/case/HR-2041/feed", ""))
	feeds, err := s.keeper.Feeds(fenwick)
	if err != nil || len(feeds) != 1 || len(feeds[0].Token) < 26 || !feeds[0].Served() {
		t.Fatalf("%+v, %v", feeds, err)
	}
	address := s.url + "/feed/" + feeds[0].Token + ".ics"
	if fieldOf(t, got, "feed-address").attr["value"] != address || !got.says("Whoever has this address reads the dates") {
		t.Errorf("the page does not show %s\n%s", address, got.body)
	}
	wantGoodPage(t, got.body)
	if strings.Contains(s.log.String(), feeds[0].Token) || strings.Contains(s.log.String(), "HR-2041") {
		t.Error("the log has the feed or the case")
	}
	if got = b.post("/case/HR-2041/feed/revoke", formTo(t, got, "/case/HR-2041/feed/revoke", "")); got.status != 200 || got.says(feeds[0].Token) {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	if feeds, err = s.keeper.Feeds(fenwick); err != nil || len(feeds) != 0 {
		t.Errorf("%+v, %v", feeds, err)
	}
	if got = b.post("/case/HR-2041/feed/revoke", s.acting(fenwick, "")); got.status != 404 {
		t.Errorf("ended twice: %d", got.status)
	}
}
