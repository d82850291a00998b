package browser_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// TestFilesAreThoseOfTheCommandLine hands out every letter and calendar of a case in
// the browser and on the command line, and compares them byte by byte.
func TestFilesAreThoseOfTheCommandLine(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	p := h.signedIn(surgeon)
	p.goTo(caseLink)
	p.follow("Approve revision 1")
	got := map[string][]byte{}
	for _, button := range []string{
		"PDF : letter to the patient", "Text : letter to the patient", "HTML : letter to the patient",
		"PDF : letter to the referring dentist", "Text : letter to the referring dentist", "HTML : letter to the referring dentist",
		"For the patient", "For the desk", "For the surgeon", "Surgeon's page as PDF", "Timeline as JSON",
	} {
		name, data := p.download(func() { p.press(button) })
		got[name] = data
	}
	out := t.TempDir()
	h.command(nobody, "letter", "HR-2041", "--to", "both", "--out", out)
	h.command(nobody, "plan", "HR-2041", "--out", out)
	h.command(nobody, "report", "HR-2041", "--out", out)
	for _, name := range []string{"letter.html", "letter.txt", "letter.pdf", "referrer.html", "referrer.txt", "referrer.pdf", "patient.ics", "desk.ics", "surgeon.ics", "report.pdf", "timeline.json"} {
		want, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			t.Fatal(err)
		}
		if data, handed := got[name]; !handed {
			t.Errorf("%s was not handed out", name)
		} else if !bytes.Equal(data, want) {
			t.Errorf("%s has %d bytes in the browser and %d on the command line:\n%s", name, len(data), len(want), firstDifference(data, want))
		}
	}
}

// firstDifference shows where two files part.
func firstDifference(a, b []byte) string {
	n := 0
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	cut := func(data []byte) []byte { return data[max(0, min(n-60, len(data))):min(n+60, len(data))] }
	return string(cut(a)) + "\n----\n" + string(cut(b))
}

// TestALetterOpensInATabOfItsOwn shows the letter as a page, which its own style and no
// other may dress.
func TestALetterOpensInATabOfItsOwn(t *testing.T) {
	t.Parallel()
	h := openHouse(t, "fenwick")
	p := h.signedIn(surgeon)
	for _, name := range []string{"letter.html", "referrer.html", "report.html"} {
		p.goTo(caseLink + "/file/" + name)
		if family := on[string](p, *p.at("body"), `function() { return getComputedStyle(this).fontFamily }`); family == "" || family == `"Times New Roman"` {
			t.Errorf("%s is not dressed: %s", name, family)
		}
	}
}
