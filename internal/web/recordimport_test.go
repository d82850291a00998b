package web_test

import (
	"bytes"
	"fmt"
	"html"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"graftclock/internal/cli"
	"graftclock/internal/ledger"
	"graftclock/internal/reference"
)

// send posts a form with a file, as a browser does.
func (b *browser) send(path, fileName string, data []byte, fields url.Values) answer {
	b.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	if fileName != "" {
		part, err := w.CreateFormFile("file", fileName)
		if err != nil {
			b.t.Fatal(err)
		}
		part.Write(data)
	}
	for name, texts := range fields {
		for _, text := range texts {
			if err := w.WriteField(name, text); err != nil {
				b.t.Fatal(err)
			}
		}
	}
	if err := w.Close(); err != nil {
		b.t.Fatal(err)
	}
	return b.answer(b.client.Post(b.url+path, w.FormDataContentType(), &body))
}

// arrivals is the demo clinic's file of many records.
func arrivals(t testing.TB) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(reference.Root(), "testdata", "demo", "arrivals.csv"))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// onCommandLine runs a command in a folder that holds the file.
func onCommandLine(t *testing.T, fileName string, data []byte, args ...string) string {
	t.Helper()
	t.Chdir(t.TempDir())
	if err := os.WriteFile(fileName, data, 0o600); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	cli.Main(append(args, fileName), strings.NewReader(""), &out, &out)
	return out.String()
}

// TestTheImportReportsAsCheckDoes: each fault of the command line stands on the page,
// to the letter, and what the file is.
func TestTheImportReportsAsCheckDoes(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	ida := s.as(front)
	fenwick := string(demo(t, "fenwick"))
	for _, c := range []struct{ name, file, text string }{
		{"a record", "fenwick.yaml", fenwick},
		{"a record of Windows", "fenwick.yml", "\ufeff" + strings.ReplaceAll(fenwick, "\n", "\r\n")},
		{"many records", "arrivals.csv", string(arrivals(t))},
		{"many records of Windows", "ARRIVALS.CSV", "\ufeff" + strings.ReplaceAll(string(arrivals(t)), "\n", "\r\n")},
		{"a word misspelt", "a.yaml", strings.Replace(fenwick, "additive: none", "additive: nine", 1)},
		{"many faults", "a.yaml", strings.NewReplacer("mm: 12.5", "mm: 1.25", "surgeon:", "surgon:", "right", "rigth", "length_mm: 10", "length_mm: 10mm").Replace(fenwick)},
		{"no YAML", "a.yaml", "record: 1\n\tcase: x\n"},
		{"no record", "a.yaml", "colour: green\n"},
		{"a heading that names no key", "a.csv", "case,patient.nam\nHR-1,Nora\n"},
		{"faulty rows", "a.csv", strings.NewReplacer("lateral window", "window", "2027-03-16", "16.3.2027").Replace(string(arrivals(t)))},
		{"an open quotation mark", "a.csv", "case,patient.name\nHR-1,\"Nora\n"},
		{"bytes of another encoding", "a.csv", "case,patient.name\nHR-1,M\xfcller\n"},
		{"bytes of another encoding in a record", "a.yaml", "record: 1\ncase: M\xfcller\n"},
		{"a mark in the text", "a.yaml", strings.Replace(fenwick, "Nora", "<b>Nora</b>\u202e", 1)},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := strings.Split(strings.TrimSpace(onCommandLine(t, c.file, []byte(c.text), "check")), "\n")
			got := ida.send("/record/import", c.file, []byte(c.text), nil)
			page := html.UnescapeString(got.body)
			for _, line := range want {
				if !strings.Contains(page, ">"+line+"<") {
					t.Errorf("the page does not say\n%s\nin\n%s", line, page)
				}
			}
			if faulty := len(want) > 1; (got.status == http.StatusUnprocessableEntity) != faulty || got.says(`class="faults"`) != faulty {
				t.Errorf("%d with %d lines", got.status, len(want))
			}
		})
	}
}

// TestWhatHasNoFaultIsTakenIn, and nothing before the button is pressed.
func TestWhatHasNoFaultIsTakenIn(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	ida := s.as(front)
	data := []byte(strings.Replace(string(arrivals(t)), "2027-03-16", "16.3.2027", 1)) // the first row is faulty
	page := ida.send("/record/import", "arrivals.csv", data, nil)
	if _, err := s.keeper.Record("HR-2053", 0); err == nil {
		t.Fatal("taken in before the button")
	}
	got := ida.send("/record/import/take", "", nil, hiddenFields(page.body))
	if !got.says("arrivals.csv:2: HR-2051, Orla Whitcombe: not taken in: 1 fault") || !got.says("Jonas Ferreby</a>: admitted, revision 1") {
		t.Errorf("%d:\n%s", got.status, got.body)
	}
	if _, err := s.keeper.Record("HR-2053", 0); err != nil {
		t.Error(err)
	}
	if again := ida.send("/record/import/take", "", nil, hiddenFields(page.body)); !again.says("unchanged, revision 1") || again.says("admitted, revision") {
		t.Error("the same once more is not unchanged")
	}
	fixed := ida.send("/record/import", "arrivals.csv", arrivals(t), nil)
	if got := ida.send("/record/import/take", "", nil, hiddenFields(fixed.body)); !got.says("Orla Whitcombe</a>: admitted, revision 1") {
		t.Error("the mended row is not admitted")
	}
}

// TestARecordThatWouldUndoTheLedgerNeedsAReason, in the words of the command line.
func TestARecordThatWouldUndoTheLedgerNeedsAReason(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	id := s.admit("fenwick")
	if _, err := s.keeper.Set(s.actor(front), id, []string{"patient.print=large"}, ""); err != nil {
		t.Fatal(err)
	}
	quill := s.as(surgeon)
	text := strings.Replace(string(demo(t, "fenwick")), "print: normal", "print: normal\n  ", 1)
	text = strings.Replace(text, "Orla Finch", "Orla Finch-Hale", 1)
	page := quill.send("/record/import", "", nil, url.Values{"pasted": {text}})
	fields := hiddenFields(page.body)
	refused := quill.send("/record/import/take", "", nil, fields)
	if !refused.says("not taken in: case HR-2041 was changed in the ledger since its record was taken in") {
		t.Fatalf("%d:\n%s", refused.status, refused.body)
	}
	if got := quill.send("/record/import/take", "", nil, with(hiddenFields(refused.body), "why", "the referrer married")); !got.says("Nora Fenwick</a>: revised, revision 3") {
		t.Errorf("with a reason:\n%s", got.body)
	}
}

// TestTheImportKeepsToTheRoles: at the desk a kept record takes in what is the patient's
// and nothing else, reason or not, and the other records of the file are taken in.
func TestTheImportKeepsToTheRoles(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	id := s.admit("fenwick")
	before := s.record(id)
	ida := s.as(front)
	take := func(text string) answer {
		page := ida.send("/record/import", "", nil, url.Values{"pasted": {text}})
		return ida.send("/record/import/take", "", nil, with(hiddenFields(page.body), "why", "the file is right"))
	}
	got := take(strings.Replace(before, "sutures: removable", "sutures: resorbable", 1))
	if !got.says("not taken in: changing surgery.sutures: removable -> resorbable needs a surgeon; Ida Marlow is desk") || s.record(id) != before {
		t.Errorf("the surgery: %d\n%s", got.status, got.body)
	}
	if got.says("Give a reason below") {
		t.Error("a reason is asked for that would not help")
	}
	if e := s.lastEntry(id); e.What != ledger.Refused || e.By.Name != front || !strings.HasPrefix(e.Now, "admit: changing surgery.sutures") {
		t.Errorf("the history: %+v", e)
	}
	if got := take(strings.Replace(before, "print: normal", "print: large", 1)); !got.says("Nora Fenwick</a>: revised, revision 2") {
		t.Errorf("the patient's part: %d\n%s", got.status, got.body)
	}
}

func TestPastedTextIsReadAsWhatItIs(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	ida := s.as(front)
	for what, text := range map[string]string{
		"pasted text: surgery record, no fault": string(demo(t, "okafor")),
		fmt.Sprintf("pasted text: %d surgery records in CSV, no fault", bytes.Count(arrivals(t), []byte("\n"))-1): string(arrivals(t)),
	} {
		if got := ida.send("/record/import", "", nil, url.Values{"pasted": {text}}); !got.says(what) {
			t.Errorf("%s: %d\n%s", what, got.status, got.body)
		}
	}
	if got := ida.send("/record/import", "", nil, url.Values{"pasted": {" \n"}}); got.status != http.StatusUnprocessableEntity || !got.says("There is nothing to read.") {
		t.Errorf("nothing: %d", got.status)
	}
	if got := ida.send("/record/import", "clinic.yaml", []byte("clinic: 1\n"), nil); got.status != http.StatusUnprocessableEntity || !got.says("Clinic.yaml is no surgery record: it has the key clinic.") {
		t.Errorf("a clinic file: %d\n%s", got.status, got.body)
	}
}

// TestWhatComesBackFromThePageIsReadAnew: a tampered field takes in nothing that a file
// would not.
func TestWhatComesBackFromThePageIsReadAnew(t *testing.T) {
	s := serve(t, "2027-01-14 09:00")
	ida := s.as(front)
	page := ida.send("/record/import", "a.yaml", demo(t, "okafor"), nil)
	fields := hiddenFields(page.body)
	for _, text := range []string{"", "no base64", "aGVsbG8=", fields.Get("text")[:len(fields.Get("text"))/2]} {
		if got := ida.send("/record/import/take", "", nil, with(fields, "text", text)); got.status != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", text, got.status)
		}
	}
	faulty := ida.send("/record/import", "a.csv", []byte("case,patient.name\nHR-1,\x00\n"), nil)
	if faulty.says("Take in what has no fault") {
		t.Error("a faulty row is offered")
	}
	if got := ida.send("/record/import", "big.csv", bytes.Repeat([]byte("x"), 5<<20), nil); got.status != http.StatusRequestEntityTooLarge {
		t.Errorf("5 MB: %d", got.status)
	}
}
