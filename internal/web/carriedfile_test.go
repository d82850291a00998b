package web_test

import (
	"bytes"
	"crypto/rand"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// runOut opens the import in a browser whose sign-in runs out before the file is sent,
// and returns the page that asks to sign in again.
func runOut(t *testing.T, fileName string, data []byte, fields url.Values) (*served, *browser, answer) {
	t.Helper()
	s := serve(t, "2027-01-14 09:00")
	b := s.as(front)
	b.get("/record/import")
	s.clock.set("2027-01-14 11:00")
	got := b.send("/record/import", fileName, data, fields)
	if got.status != http.StatusUnauthorized || !got.says("The sign-in has run out.") {
		t.Fatalf("%d\n%s", got.status, got.body)
	}
	wantGoodPage(t, got.body)
	return s, b, got
}

// throughTheDoor signs in again and returns the page that shows what was about to be sent.
func (b *browser) throughTheDoor(page answer) answer {
	b.t.Helper()
	got := b.post("/sign-in", with(hidden(page.body), "name", front, "password", password))
	if got.status != http.StatusOK || !got.says("Nothing of it has been done yet") {
		b.t.Fatalf("%d\n%s", got.status, got.body)
	}
	wantGoodPage(b.t, got.body)
	return got
}

// TestAChosenFileComesThroughTheDoor sends a file after the sign-in has run out: its
// bytes are kept, whatever they are, named to the person and never shown as a field.
func TestAChosenFileComesThroughTheDoor(t *testing.T) {
	t.Parallel()
	crlf := append([]byte("\xef\xbb\xbf"), bytes.ReplaceAll(arrivals(t), []byte("\n"), []byte("\r\n"))...)
	noise := make([]byte, 1<<20)
	rand.Read(noise)
	for name, c := range map[string]struct {
		file string
		data []byte
		says string
	}{
		"a record":       {"fenwick.yaml", demo(t, "fenwick"), "fenwick.yaml: surgery record, no fault"},
		"many":           {"arrivals.csv", crlf, "arrivals.csv: 4 surgery records in CSV, no fault"},
		"an empty one":   {"empty.yaml", nil, "There is nothing to read."},
		"a megabyte":     {"noise.yaml", noise, "noise.yaml: read as a surgery record"},
		"an odd name":    {`..\"<b>".yaml`, demo(t, "fenwick"), "surgery record, no fault"},
		"beside a paste": {"fenwick.yaml", demo(t, "fenwick"), "fenwick.yaml: surgery record, no fault"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, b, page := runOut(t, c.file, c.data, url.Values{"pasted": {"colour: green"}})
			door := b.throughTheDoor(page)
			for _, shown := range []answer{page, door} {
				if !shown.says("<dt>file</dt><dd>") || shown.says("<dt>kept.") || shown.says("chosen again") {
					t.Errorf("the page does not name the file, or shows more\n%.2000s", shown.body)
				}
			}
			got, straight := b.post("/record/import", hidden(door.body)), s.as(front).send("/record/import", c.file, c.data, nil)
			if !got.says(c.says) || got.status != straight.status || hiddenFields(got.body).Get("text") != hiddenFields(straight.body).Get("text") {
				t.Errorf("%d, sent at once %d\n%.2000s", got.status, straight.status, got.body)
			}
		})
	}
}

// TestAFileThatIsTooLongToKeepIsNamed, before and after the sign-in, and where it is to be
// chosen again; what was typed beside it is kept.
func TestAFileThatIsTooLongToKeepIsNamed(t *testing.T) {
	t.Parallel()
	_, b, page := runOut(t, "many.yaml", bytes.Repeat([]byte("#\n"), 1<<19+1), url.Values{"pasted": {"colour: green"}})
	door := b.throughTheDoor(page)
	for _, shown := range []answer{page, door} {
		if !shown.says("The file many.yaml is too long to keep. It has to be chosen again.") || !shown.says("colour: green") {
			t.Errorf("the page does not say what is lost\n%s", shown.body)
		}
	}
	got := b.post("/record/import", hidden(door.body))
	if got.status != http.StatusUnprocessableEntity || !got.says("The file many.yaml is not here: it was too long to keep while you signed in.") || !got.says("Choose it again.") || !got.says("colour: green</textarea>") {
		t.Errorf("%d\n%s", got.status, got.body)
	}
	wantGoodPage(t, got.body)
	if again := b.send("/record/import", "fenwick.yaml", demo(t, "fenwick"), hidden(door.body)); again.status != http.StatusOK {
		t.Errorf("chosen again: %d", again.status)
	}
}

// TestMoreThanAPageTakesIsNotSaidToBeKept when the sign-in has run out.
func TestMoreThanAPageTakesIsNotSaidToBeKept(t *testing.T) {
	t.Parallel()
	_, _, page := runOut(t, "many.csv", bytes.Repeat([]byte("case\n"), 1<<20), nil)
	if !page.says("What was sent is more than a page takes (4 MB), and is not kept.") || page.says("What you typed is kept") {
		t.Errorf("%s", page.body)
	}
}

// TestAFileOfNobodyIsRefused: what comes back in place of a file is read with care.
func TestAFileOfNobodyIsRefused(t *testing.T) {
	t.Parallel()
	s := serve(t, "2027-01-14 09:00")
	b := s.as(front)
	for _, text := range []string{"no base64", "aGVsbG8=", strings.Repeat("A", 100)} {
		got := b.post("/record/import", url.Values{"named.file": {"x.yaml"}, "kept.file": {text}})
		if got.status != http.StatusUnprocessableEntity || !got.says("The file did not come back whole: choose it again.") {
			t.Errorf("%q: %d\n%s", text, got.status, got.body)
		}
	}
}
