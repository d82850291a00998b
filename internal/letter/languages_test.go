package letter

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/reference"
)

// folders lists the folders of languages that come with the program, whether or not they
// can be read.
func folders(t *testing.T) []string {
	t.Helper()
	entries, err := fs.ReadDir(program(), ".")
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		if e.IsDir() {
			all = append(all, e.Name())
		}
	}
	return all
}

// TestEveryLanguageIsComplete refuses to build a program with a language that lacks a word.
func TestEveryLanguageIsComplete(t *testing.T) {
	for _, folder := range folders(t) {
		if _, faults := readForms(layered{program()}, "templates/letter", folder); len(faults) > 0 {
			t.Errorf("%s:\n%v", folder, faults)
		}
		if !slices.Contains(BuiltIn().Tags(), folder) {
			t.Errorf("%s is no language of the letters", folder)
		}
	}
	for _, needed := range []string{"de", "en", "es", "fr", "pl"} {
		if !slices.Contains(folders(t), needed) {
			t.Errorf("there is no %s", needed)
		}
	}
}

// inOtherLanguages runs a test with the words of each language but English.
func inOtherLanguages(t *testing.T, test func(t *testing.T, w *wording)) {
	for _, folder := range folders(t) {
		if folder == model().Language {
			continue
		}
		t.Run(folder, func(t *testing.T) {
			_, words, err := BuiltIn().formsFor(folder)
			if err != nil {
				t.Fatal(err)
			}
			test(t, words)
		})
	}
}

// sameInEnglish are the texts that a language shares with English, by their path.
var sameInEnglish = map[string][]string{
	"de": {"dates.months[3]", "dates.months[7]", "dates.months[8]", "dates.months[10]", "referrer.implant"},
	"es": {},
	"fr": {"surgery.implants.one", "surgery.implants.other"},
	"pl": {"surgery.implants.one", "referrer.implant"},
}

// letterless takes {names} and signs out of a text: what is left must be of a language.
func letterless(text string) bool {
	return !strings.ContainsFunc(braces.ReplaceAllString(text, ""), unicode.IsLetter)
}

func TestNoEnglishIsLeftOver(t *testing.T) {
	english := map[string]string{}
	eachText(reflect.ValueOf(*model()), "", func(path, text string) { english[path] = text })
	inOtherLanguages(t, func(t *testing.T, w *wording) {
		var same []string
		eachText(reflect.ValueOf(*w), "", func(path, text string) {
			switch {
			case text != english[path] || letterless(text):
			case strings.HasPrefix(path, "long_words"), strings.HasPrefix(path, "signs[") && strings.HasSuffix(path, ".id"):
			default:
				same = append(same, path)
			}
		})
		if diff := cmp.Diff(sameInEnglish[w.Language], same); len(same)+len(sameInEnglish[w.Language]) > 0 && diff != "" {
			t.Errorf("texts equal to the English ones (-agreed +found):\n%s", diff)
		}
	})
}

// englishWords are words that no other language of the letters has.
var englishWords = regexp.MustCompile(`(?i)\b(the|your|you|and|with|please|visit|surgeon|surgery|call|after|before|until|booked)\b`)

func TestNoEnglishWordIsLeftOver(t *testing.T) {
	inOtherLanguages(t, func(t *testing.T, w *wording) {
		eachText(reflect.ValueOf(*w), "", func(path, text string) {
			if word := englishWords.FindString(braces.ReplaceAllString(text, "")); word != "" {
				t.Errorf("%s: %q in %q", path, word, text)
			}
		})
	})
	if !englishWords.MatchString("In caso de emergencia, please llame.") {
		t.Error("the search for English words is wrong")
	}
}

var (
	digits     = regexp.MustCompile(`\d+(?:[.,]\d+)?`)
	fahrenheit = regexp.MustCompile(`\d+(?:[.,]\d+)?[\s\x{a0}]*°F`)
)

// numbersOf lists the numbers of a text, sorted; degrees Fahrenheit aside, which only some
// readers know.
func numbersOf(text string) string {
	found := digits.FindAllString(fahrenheit.ReplaceAllString(text, ""), -1)
	slices.Sort(found)
	return strings.Join(found, " ")
}

// TestNumbersAreTheSameInEveryLanguage compares each text that has a number: none may get
// lost or changed in a translation.
func TestNumbersAreTheSameInEveryLanguage(t *testing.T) {
	english := map[string]string{}
	eachText(reflect.ValueOf(*model()), "", func(path, text string) { english[path] = numbersOf(text) })
	if english["signs[4].same_day"] != "1 38" {
		t.Fatalf("the English fever has the numbers %q", english["signs[4].same_day"])
	}
	inOtherLanguages(t, func(t *testing.T, w *wording) {
		eachText(reflect.ValueOf(*w), "", func(path, text string) {
			want, there := english[path]
			if !there || strings.HasPrefix(path, "long_words") {
				return // a plural class or a region of its own
			}
			if got := numbersOf(text); got != want && !strings.HasSuffix(path, ".id") {
				t.Errorf("%s: the numbers %q in %q, English has %q", path, got, text, want)
			}
		})
	})
}

// clinical are beginnings of words for drugs, courses of drugs and diagnoses, which a
// letter must not hold: by language, and in all of them.
var clinical = map[string][]string{
	"": {"paracetamol", "acetaminoph", "ibuprof", "diclofen", "naprox", "aspirin", "amoxi", "penicil", "clavul", "clindamy", "doxycyc", "metronid", "antibio",
		"chlorhex", "clorhex", "xylomet", "oxymet", "pseudoeph", "cortis", "cortic", "predni", "dexameth", "warfar", "opio", "codein", "tramad", "steroid",
		"sinusit", "rhinit", "rinit", "sepsis", "septic", "mening", "orbital", "osteomy", "emphys", "embol", "anaphyl", "fistul", "abscess", "infect", "periimpl", "peri-impl"},
	"en": {"tablet", "pill", "capsule", "antisep", "painkill", "nasal spray", "mouthwash", "stroke", "vertigo", "allerg", "leak of air", "oroantral"},
	"es": {"comprimid", "pastill", "cápsul", "capsul", "antisép", "analgés", "antiinflam", "corticoid", "clorexid", "clorhexid", "ibuprofen", "aspirina", "amoxicil", "penicil", "antibiót", "colutor", "sinusit", "infecc", "absces", "fístul", "ictus", "alerg", "septicem", "enfisem"},
	"de": {"tablett", "pille", "kapsel", "schmerzmittel", "antisept", "kortis", "cortis", "nasenspray", "mundspüll", "chlorhexidin", "penizil", "antibiot", "sinusit", "nebenhöhlenentz", "entzünd", "infekt", "abszess", "fistel", "schlaganfall", "allergi", "hirnhaut", "blutvergift", "emphysem"},
	"fr": {"comprim", "cachet", "gélule", "antisept", "antalg", "anti-inflam", "corticoï", "cortiso", "bain de bouche", "chlorhexid", "amoxicil", "pénicil", "antibiot", "sinusit", "infect", "abcès", "fistul", "avc", "allerg", "méning", "septicém", "emphys"},
	"pl": {"tablet", "pigułk", "kapsułk", "antysep", "przeciwbólow", "przeciwzapaln", "steryd", "kortyk", "chlorheks", "amoksyc", "penicyl", "antybiot", "paracetam", "ibuprof", "zapaleni", "zakażen", "infekc", "ropie", "ropień", "przetok", "udar", "alerg", "sepsa", "rozedm", "zatok zapal"},
}

// TestNoDrugAndNoDiagnosis looks at every word of every language, also of the mails and of
// the letter to the dentist.
func TestNoDrugAndNoDiagnosis(t *testing.T) {
	for _, folder := range folders(t) {
		_, words, err := BuiltIn().formsFor(folder)
		if err != nil {
			t.Fatal(err)
		}
		if len(clinical[folder]) == 0 {
			t.Errorf("%s has no list of words that must not stand in a letter", folder)
		}
		eachText(reflect.ValueOf(*words), "", func(path, text string) {
			for _, stem := range slices.Concat(clinical[""], clinical[folder]) {
				if beginsAWord(strings.ToLower(text), stem) {
					t.Errorf("%s, %s: %q in %q", folder, path, stem, text)
				}
			}
		})
	}
	if !beginsAWord("take your antibiotic", "antibio") || beginsAWord("the fever", "ever") {
		t.Error("the search for the beginnings of words is wrong")
	}
}

// beginsAWord reports whether a word of the text begins with a stem.
func beginsAWord(text, stem string) bool {
	for rest, before := text, ' '; ; {
		at := strings.Index(rest, stem)
		if at < 0 {
			return false
		}
		for _, r := range rest[:at] {
			before = r
		}
		if !unicode.IsLetter(before) {
			return true
		}
		rest, before = rest[at+len(stem):], 'x'
	}
}

// TestRedFlagsAreTheSameEverywhere counts the signs in the words, in the page, in the text
// and in the PDF of each language: those of the English words, in their order.
func TestRedFlagsAreTheSameEverywhere(t *testing.T) {
	pdftotext := reference.Program(t, "pdftotext")
	for _, folder := range folders(t) {
		t.Run(folder, func(t *testing.T) {
			l := trials()[1]
			l.Case.Patient.Language, l.Case.Patient.LargePrint = folder, false
			filled, err := BuiltIn().Fill(l)
			if err != nil {
				t.Fatal(err)
			}
			words := filled.sheet.Say
			wantSameSigns(t, words)
			forms := map[string]string{"text": form(t, filled.WriteText), "page": stripped(form(t, filled.WriteHTML)), "PDF": printedText(t, pdftotext, filled)}
			for name, text := range forms {
				wantSigns(t, name, text, words)
			}
		})
	}
}

func wantSameSigns(t *testing.T, words *wording) {
	var got, want []string
	for _, s := range words.Signs {
		got = append(got, s.ID+": "+s.filled())
	}
	for _, s := range model().Signs {
		want = append(want, s.ID+": "+s.filled())
	}
	const signs = 18 // the rows of the table of red flags
	if diff := cmp.Diff(want, got); diff != "" || len(got) != signs {
		t.Errorf("%d signs, want %d (-English +%s):\n%s", len(got), signs, words.Language, diff)
	}
}

// wantSigns finds the signs of the two lists in their order, each list after its heading.
func wantSigns(t *testing.T, name, text string, words *wording) {
	text = strings.Join(strings.Fields(text), " ")
	expect := []string{words.Headings.SameDay}
	for _, s := range words.Signs {
		expect = append(expect, s.SameDay)
	}
	expect = append(expect, words.Headings.Emergency)
	for _, s := range words.Signs {
		expect = append(expect, s.Emergency)
	}
	rest := text
	for _, sentence := range expect {
		sentence = strings.Join(strings.Fields(sentence), " ")
		_, after, found := strings.Cut(rest, sentence)
		if !found {
			t.Fatalf("the %s lacks %q, or has it in another place", name, sentence)
		}
		rest = after
	}
}

func form(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	var out bytes.Buffer
	if err := write(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

var element = regexp.MustCompile(`<[^>]*>`)

// stripped is the text of a page.
func stripped(page string) string {
	_, body, _ := strings.Cut(page, "</style>")
	return strings.NewReplacer("&#39;", "'", "&#34;", `"`, "&amp;", "&").Replace(element.ReplaceAllString(body, ""))
}

// printedText is the text of the PDF in the order in which it was set.
func printedText(t *testing.T, pdftotext string, filled Filled) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "letter.pdf")
	var out bytes.Buffer
	if err := filled.WritePDF(&out); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	text, err := exec.CommandContext(t.Context(), pdftotext, "-raw", path, "-").Output()
	if err != nil {
		t.Fatal(fmt.Errorf("pdftotext: %w", err))
	}
	return strings.ReplaceAll(string(text), "• ", "")
}
