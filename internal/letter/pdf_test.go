package letter_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/graft"
	"graftclock/internal/letter"
	"graftclock/internal/reference"
)

// A letter is on both sides of one sheet in normal print, and on few sheets in large print.
const (
	mostPages      = 2
	mostLargePages = 9
)

func pdfOf(t testing.TB, l letter.Letter) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := write(&out, l, letter.Filled.WritePDF); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// pdfFile keeps a PDF as a file and returns its path.
func pdfFile(t testing.TB, pdf []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "letter.pdf")
	if err := os.WriteFile(path, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// readBack is the text of a PDF in the order in which it was set.
func readBack(t *testing.T, path string, settings ...string) string {
	t.Helper()
	arguments := append(append([]string{"-raw"}, settings...), path, "-")
	return string(run(t, exec.CommandContext(t.Context(), reference.Program(t, "pdftotext"), arguments...)))
}

func pagesOf(t *testing.T, path string) int {
	t.Helper()
	pages, err := strconv.Atoi(strings.TrimSpace(strings.TrimPrefix(sheetsOf(t, path), "Pages:")))
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

// TestThePDFSaysWhatTheTextSays wants each spelled day of the text form in the PDF, with
// its accents, and each of its words.
func TestThePDFSaysWhatTheTextSays(t *testing.T) {
	for _, tag := range languages(t) {
		t.Run(tag, func(t *testing.T) {
			t.Parallel()
			days := map[string]bool{}
			for name, sample := range allSamples() {
				for _, large := range []bool{false, true} {
					l := inLanguage(sample(), tag, large)
					wantTextInPDF(t, fmt.Sprintf("%s, large %v", name, large), l, days)
				}
			}
			if len(days) < 20 {
				t.Errorf("%d days were looked for", len(days))
			}
		})
	}
}

func wantTextInPDF(t *testing.T, name string, l letter.Letter, days map[string]bool) {
	t.Helper()
	words, err := letter.BuiltIn().WordsFor(l.Case.Patient.Language)
	if err != nil {
		t.Fatal(err)
	}
	text, printed := oneLine(textOf(t, l)), oneLine(readBack(t, pdfFile(t, pdfOf(t, l))))
	for n := -60; n < 700; n++ {
		spelled := words.Spell(l.Case.Surgery.Day.AddDays(n))
		if !strings.Contains(text, spelled) {
			continue
		}
		days[spelled] = true
		if !strings.Contains(printed, spelled) {
			t.Errorf("%s: the PDF lacks %s", name, spelled)
		}
	}
	there := map[string]bool{}
	for _, word := range wordsIn(printed) {
		there[word] = true
	}
	for _, word := range wordsIn(words.ContactHeading()) {
		there[word] = true
	}
	for _, word := range wordsIn(text) {
		if !there[word] {
			t.Errorf("%s: the PDF lacks the word %q", name, word)
		}
	}
}

// wordsIn are the words of a text without the signs around them.
func wordsIn(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) })
}

func TestThePDFHasFewPages(t *testing.T) {
	for _, tag := range languages(t) {
		for name, sample := range allSamples() {
			normal, large := pagesOf(t, pdfFile(t, pdfOf(t, inLanguage(sample(), tag, false)))), pagesOf(t, pdfFile(t, pdfOf(t, inLanguage(sample(), tag, true))))
			if normal > mostPages || large > mostLargePages {
				t.Errorf("%s, %s: %d pages, large print %d; want at most %d and %d", tag, name, normal, large, mostPages, mostLargePages)
			}
		}
	}
}

// TestFontsAreInThePDF wants every font embedded, with a table for searching, and no other.
func TestFontsAreInThePDF(t *testing.T) {
	font := regexp.MustCompile(`^\S+\+DejaVu\S+ +CID TrueType +Identity-H +yes yes yes `)
	for _, tag := range languages(t) {
		fonts := string(run(t, exec.CommandContext(t.Context(), reference.Program(t, "pdffonts"), pdfFile(t, pdfOf(t, inLanguage(simultaneous(), tag, false))))))
		lines := strings.Split(strings.TrimSpace(fonts), "\n")
		if len(lines) < 3 {
			t.Fatalf("%s: no fonts in\n%s", tag, fonts)
		}
		for _, line := range lines[2:] {
			if !font.MatchString(line) {
				t.Errorf("%s: not embedded, not a subset or not to be searched: %s", tag, line)
			}
		}
	}
}

func TestThePaperIsThatOfTheRegion(t *testing.T) {
	for region, want := range map[string]string{"IE": "595.28 x 841.89 pts (A4)", "": "595.28 x 841.89 pts (A4)", "US": "612 x 792 pts (letter)", "CA-ON": "612 x 792 pts (letter)"} {
		l := simultaneous()
		l.Head.Region = region
		info := run(t, exec.CommandContext(t.Context(), reference.Program(t, "pdfinfo"), pdfFile(t, pdfOf(t, l))))
		got := strings.TrimSpace(strings.TrimPrefix(string(regexp.MustCompile(`(?m)^Page size:.*$`).Find(info)), "Page size:"))
		if got != want {
			t.Errorf("region %q: %s, want %s", region, got, want)
		}
		if page, size := htmlOf(t, l), map[bool]string{true: "@page { size: letter;", false: "@page { size: A4;"}[strings.Contains(want, "letter")]; !strings.Contains(page, size) {
			t.Errorf("region %q: the page lacks %q", region, size)
		}
	}
}

func TestSameLetterSamePDF(t *testing.T) {
	for name, sample := range allSamples() {
		if !bytes.Equal(pdfOf(t, sample()), pdfOf(t, sample())) {
			t.Errorf("%s: two PDFs differ", name)
		}
	}
}

// TestThePDFRefusesWhatItCannotPrint names the characters; the page can show them.
func TestThePDFRefusesWhatItCannotPrint(t *testing.T) {
	for name, odd := range map[string][]string{"Ida Marlow \u05d0\u05d1": {"\u05d0", "\u05d1"}, "Ida \U0001F9B7 Marlow": {"\U0001F9B7"}, "Ida \u6b6f Marlow": {"\u6b6f"}} {
		l := simultaneous()
		l.Case.Patient.Name = name
		var out bytes.Buffer
		var refusal *graft.Refusal
		err := write(&out, l, letter.Filled.WritePDF)
		if !errors.As(err, &refusal) || out.Len() > 0 {
			t.Fatalf("%q: %v, %d bytes", name, err, out.Len())
		}
		for _, character := range odd {
			if !strings.Contains(refusal.Message, character) {
				t.Errorf("%q: %q does not name %s", name, refusal.Message, character)
			}
		}
		if strings.Contains(refusal.Message, "Marlow") {
			t.Errorf("%q names more than the characters", refusal.Message)
		}
		if !strings.Contains(refusal.Message+refusal.Hint, "HTML page") || !strings.Contains(htmlOf(t, l), name) {
			t.Errorf("%q: the HTML page is not named, or lacks it", name)
		}
	}
	l := simultaneous()
	l.Case.Patient.Name = "Łucja Żółć Ångström Ιδα Ида"
	if printed := readBack(t, pdfFile(t, pdfOf(t, l))); !strings.Contains(printed, l.Case.Patient.Name) {
		t.Errorf("the PDF lacks %s", l.Case.Patient.Name)
	}
}

// TestTheCodeOfThePDFScans reads the code from a picture of the first page.
func TestTheCodeOfThePDFScans(t *testing.T) {
	reference.Program(t, "zbarimg")
	for _, large := range []bool{false, true} {
		l := inLanguage(scanned(), "en", large)
		if diff := cmp.Diff(map[string]bool{string(l.NextVisit.Entry): true}, entries(t, pdfFile(t, pdfOf(t, l)), 1)); diff != "" {
			t.Errorf("large %v (-given +read):\n%s", large, diff)
		}
	}
}

// lettersOf is a text without white space: the watermark stands askew, and a reader takes
// it for more lines than one.
func lettersOf(text string) string { return strings.Join(strings.Fields(text), "") }

func TestDraftIsOnEveryPageOfThePDF(t *testing.T) {
	for _, tag := range languages(t) {
		words, err := letter.BuiltIn().WordsFor(tag)
		if err != nil {
			t.Fatal(err)
		}
		for _, large := range []bool{false, true} {
			l := inLanguage(scanned(), tag, large)
			if printed := readBack(t, pdfFile(t, pdfOf(t, l))); strings.Contains(lettersOf(printed), words.DraftWord()) {
				t.Errorf("%s, large %v: an approved letter says %s", tag, large, words.DraftWord())
			}
			l.Approval = letter.Approval{}
			path := pdfFile(t, pdfOf(t, l))
			for page := 1; page <= pagesOf(t, path); page++ {
				if one := readBack(t, path, "-f", strconv.Itoa(page), "-l", strconv.Itoa(page)); !strings.Contains(lettersOf(one), words.DraftWord()) {
					t.Errorf("%s, large %v: page %d does not say %s", tag, large, page, words.DraftWord())
				}
			}
		}
	}
}

// placed is a word of a PDF with its place, as pdftotext -bbox tells it.
var placed = regexp.MustCompile(`<word (xMin="[\d.]+" yMin="[\d.]+" xMax="[\d.]+" yMax="[\d.]+")>([^<]*)</word>`)

// TestNumbersToCallAreInTheSamePlaceOnEachPage (WCAG 2.2, 3.2.6: help is where it was).
func TestNumbersToCallAreInTheSamePlaceOnEachPage(t *testing.T) {
	for _, tag := range languages(t) {
		for _, large := range []bool{false, true} {
			path := pdfFile(t, pdfOf(t, inLanguage(simultaneous(), tag, large)))
			pages := strings.Split(string(run(t, exec.CommandContext(t.Context(), reference.Program(t, "pdftotext"), "-bbox", path, "-"))), "<page ")[1:]
			if len(pages) != pagesOf(t, path) || len(pages) < mostPages {
				t.Fatalf("%s, large %v: %d pages", tag, large, len(pages))
			}
			first := numbersAt(pages[0])
			for n, page := range pages[1:] {
				if diff := cmp.Diff(first, numbersAt(page)); diff != "" || len(first) != 3 {
					t.Errorf("%s, large %v: the numbers of page %d (-first page +there):\n%s", tag, large, n+2, diff)
				}
			}
		}
	}
}

// numbersAt is where the ends of the phone number, the out-of-hours number and the
// emergency number stand first on a page.
func numbersAt(page string) map[string]string {
	at := map[string]string{}
	for _, word := range placed.FindAllStringSubmatch(page, -1) {
		if _, there := at[word[2]]; !there && (word[2] == "0100" || word[2] == "0199" || word[2] == "112") {
			at[word[2]] = word[1]
		}
	}
	return at
}
