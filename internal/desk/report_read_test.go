package desk_test

import (
	"encoding/xml"
	"errors"
	"html"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/reference"
)

// laidOut is the surgeon's page of a plan, in both forms.
func laidOut(t *testing.T, d *desk.Desk, p desk.Plan, record []byte) (page string, print []byte) {
	t.Helper()
	out, err := d.ReportFiles(p, record, desk.ReportPage, desk.ReportPrint)
	if err != nil || namesOf(out.Files) != "report.html report.pdf timeline.json" {
		t.Fatal(namesOf(out.Files), err)
	}
	return string(out.Files[0].Data), out.Files[1].Data
}

// squashed is text without white space, colons and watermark, so that neither the ends of
// lines nor the cells of tables matter.
func squashed(text string) string {
	return strings.ReplaceAll(strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || r == ':' {
			return -1
		}
		return r
	}, text), "DRAFT", "")
}

// wordsOfPage is what a reader sees of a page.
func wordsOfPage(page string) string {
	_, body, _ := strings.Cut(page, "</style>")
	return squashed(html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(body, "")))
}

// wordsOfPrint is what pdftotext reads of a PDF between head and foot of its pages.
func wordsOfPrint(t *testing.T, print []byte) string {
	t.Helper()
	program := reference.Program(t, "pdftotext")
	path := filepath.Join(t.TempDir(), "report.pdf")
	if err := os.WriteFile(path, print, 0o600); err != nil {
		t.Fatal(err)
	}
	text, err := exec.Command(program, "-raw", "-r", "72", "-x", "0", "-y", "66", "-W", "612", "-H", "715", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return squashed(string(text))
}

// printed has a browser print a page, and returns what pdftotext reads of it.
func printed(t *testing.T, page string) string {
	t.Helper()
	chromium, program := reference.Program(t, "chromium"), reference.Program(t, "pdftotext")
	folder := t.TempDir()
	from, to := filepath.Join(folder, "report.html"), filepath.Join(folder, "report.pdf")
	if err := os.WriteFile(from, []byte(page), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.CommandContext(t.Context(), chromium, "--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir="+filepath.Join(folder, "user"), "--no-pdf-header-footer", "--print-to-pdf="+to, "file://"+from).CombinedOutput(); err != nil {
		t.Fatal(err, string(out))
	}
	text, err := exec.Command(program, "-raw", "-r", "72", "-x", "0", "-y", "30", "-W", "612", "-H", "770", to, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return squashed(string(text))
}

// saidBy gathers every sentence, fact, sum and source of reasons, all the way down.
func saidBy(reasons []graft.Reason, say func(text string), cite func(graft.Cite)) {
	for _, r := range reasons {
		say(r.Says)
		say(string(r.Rule))
		say(r.Formula)
		say(r.Result)
		say(r.Adopted)
		say(r.Differ)
		for _, i := range r.Inputs {
			say(i.Name + ": " + i.Value)
			say(i.Path)
		}
		for _, c := range r.Cites {
			say(c.Says)
			cite(c)
		}
		saidBy(r.Because, say, cite)
	}
}

// everything gathers what the page must tell of a plan, and the sources it must list.
func everything(d *desk.Desk, p desk.Plan) (texts []string, sources map[string]bool) {
	sources = map[string]bool{}
	say := func(text string) { texts = append(texts, graft.OneLine(text)) }
	cite := func(c graft.Cite) { sources[string(c.Source)] = true }
	for _, m := range p.Timeline.Milestones {
		saidBy(m.Reasons, say, cite)
		if o := m.Override; o != nil {
			say(o.By)
			say(o.Why)
			say("Computed: not before " + o.Computed.NotBefore.String())
		}
	}
	for _, l := range d.Limits(p) {
		saidBy([]graft.Reason{l.Reason}, say, cite)
	}
	saidBy([]graft.Reason{d.RedFlags()}, say, cite)
	for _, f := range p.Timeline.Findings {
		say(string(f.Rule))
		say(f.Says)
	}
	for _, own := range p.Own {
		say(own)
	}
	for _, note := range p.Notes {
		say(note)
	}
	say(desk.Caution)
	say(p.Timeline.RulesVersion)
	return texts, sources
}

// laid is a plan with its page in both forms.
type laid struct {
	desk   *desk.Desk
	plan   desk.Plan
	record []byte
	page   string
	print  []byte
}

// laidOnce are the pages of the demo cases and of one that was approved; they take
// seconds, and tests only read them.
var laidOnce = map[string]laid{}

func pages(t *testing.T) map[string]laid {
	t.Helper()
	if len(laidOnce) > 0 {
		return laidOnce
	}
	add := func(name string, d *desk.Desk, p desk.Plan, record []byte) {
		page, print := laidOut(t, d, p, record)
		laidOnce[name] = laid{d, p, record, page, print}
	}
	for name, onDay := range demoDays {
		_, record := demo(t, name+".yaml")
		d := demoDesk(t)
		add(name, d, planned(t, d, demoCase(t, name), on(onDay)), record)
	}
	k, live := approved(t)
	add("approved", k.Desk, live.Plan, live.Revision.Record)
	return laidOnce
}

// approved is a case of the ledger with a booking, an override and an approval.
func approved(t *testing.T) (*desk.Keeper, desk.Live) {
	t.Helper()
	k, _ := keeping(t)
	quill := acting(t, k, "Dr Alba Quill", "2027-01-18")
	id := admit(t, k, quill, "fenwick")
	_, _, booked := k.Book(quill, id, desk.Choice{Step: graft.LateCheck}, at("2027-02-11", "10:00"), "")
	_, overridden := k.Override(quill, id, desk.Choice{Step: graft.Impression}, on("2027-09-20"), "see the gum first")
	live, err := k.Approve(quill, id)
	if err := errors.Join(booked, overridden, err); err != nil {
		t.Fatal(err)
	}
	return k, live
}

// wellFormed reads a page as strict XML but for the elements that HTML leaves open. It
// wants one style, one h1, nothing from outside, nothing that runs and nothing that
// turns the text around.
func wellFormed(t *testing.T, page string) {
	t.Helper()
	reader := xml.NewDecoder(strings.NewReader(regexp.MustCompile(`<(meta|br)([^>]*)>`).ReplaceAllString(strings.TrimPrefix(page, "<!DOCTYPE html>"), "<$1$2/>")))
	reader.Entity = xml.HTMLEntity
	count := map[string]int{}
	for {
		token, err := reader.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		count[start.Name.Local]++
		for _, a := range start.Attr {
			if name := a.Name.Local; name == "style" || name == "src" || strings.HasPrefix(name, "on") || name == "href" && !strings.HasPrefix(a.Value, "#") {
				t.Errorf("<%s %s=%q>", start.Name.Local, name, a.Value)
			}
		}
	}
	if count["script"]+count["link"]+count["img"] > 0 || count["style"] != 1 || count["h1"] != 1 {
		t.Errorf("elements: %v", count)
	}
	if at := strings.IndexFunc(page, func(r rune) bool { return unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' }); at >= 0 {
		t.Errorf("a character that turns or breaks the text, at %d", at)
	}
}
