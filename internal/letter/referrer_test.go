package letter_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"testing"

	"graftclock/internal/graft"
	"graftclock/internal/letter"
	"graftclock/internal/reference"
)

// writeReferrer is write for the letter to the dentist who sent the patient.
func writeReferrer(t testing.TB, l letter.Letter, form func(letter.Filled, io.Writer) error) []byte {
	t.Helper()
	f, err := letter.BuiltIn().FillReferrer(l)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := form(f, &out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// measured has the lengths of the implants, which the dentist is told.
func measured() letter.Letter {
	l := simultaneous()
	for i := range l.Case.Sinuses[0].Implants {
		l.Case.Sinuses[0].Implants[i].LengthMM, l.Case.Sinuses[0].Implants[i].DiameterMM = 8.5+float64(i), 4.1
	}
	l.Referrer = "Dr Ida Marlow"
	return l
}

// TestTheDentistsLetterIsHalfAPage looks where the last line above the foot ends.
func TestTheDentistsLetterIsHalfAPage(t *testing.T) {
	for _, tag := range languages(t) {
		for _, region := range []string{"IE", "US"} {
			l := inLanguage(measured(), tag, false)
			l.Head.Region = region
			path := pdfFile(t, writeReferrer(t, l, letter.Filled.WritePDF))
			if pages := pagesOf(t, path); pages != 1 {
				t.Errorf("%s, %s: %d pages", tag, region, pages)
			}
			if lowest, height := lowestLine(t, path); lowest > height/2 {
				t.Errorf("%s, %s: ends at %.0f points of %.0f", tag, region, lowest, height)
			}
		}
	}
}

// lowestLine is where the body of the only page ends, above the line of the foot, and how
// high the page is; in points from its top.
func lowestLine(t *testing.T, path string) (lowest, height float64) {
	t.Helper()
	boxes := run(t, exec.CommandContext(t.Context(), reference.Program(t, "pdftotext"), "-bbox", path, "-"))
	var page struct {
		Body struct {
			Doc struct {
				Page struct {
					Height float64 `xml:"height,attr"`
					Words  []struct {
						Bottom float64 `xml:"yMax,attr"`
						Text   string  `xml:",chardata"`
					} `xml:"word"`
				} `xml:"page"`
			} `xml:"doc"`
		} `xml:"body"`
	}
	reader := xml.NewDecoder(bytes.NewReader(boxes))
	reader.Strict, reader.Entity = false, xml.HTMLEntity
	if err := reader.Decode(&page); err != nil {
		t.Fatal(err)
	}
	p := page.Body.Doc.Page
	const foot = 0.93 // of the page: below it stands the foot alone
	words := 0
	for _, w := range p.Words {
		if w.Bottom < foot*p.Height {
			lowest, words = max(lowest, w.Bottom), words+1
		}
	}
	if words < 40 || p.Height < 700 {
		t.Fatalf("%d words on a page of %.0f points", words, p.Height)
	}
	return lowest, p.Height
}

// TestTheDentistsLetterSaysWhatDentistsNeed and nothing that is for the patient.
func TestTheDentistsLetterSaysWhatDentistsNeed(t *testing.T) {
	decimals := map[string]string{"en": "8.5", "de": "8,5", "es": "8,5", "fr": "8,5", "pl": "8,5"}
	for _, tag := range languages(t) {
		l := inLanguage(measured(), tag, false)
		words, err := letter.BuiltIn().WordsFor(tag)
		if err != nil {
			t.Fatal(err)
		}
		need := []string{"Dr Ida Marlow", "Nora Fenwick", "HR-2041", "16", "17", decimals[tag], "Dr Alba Quill", l.Head.Phone, l.Head.OutOfHours, words.Spell(l.Case.Surgery.Day)}
		for _, m := range l.Timeline.Milestones {
			if m.Step == graft.Impression || m.Step == graft.FirstLoading {
				need = append(need, words.Spell(m.Window.NotBefore), m.For)
			}
		}
		forms := map[string]string{
			"text": string(writeReferrer(t, l, letter.Filled.WriteText)),
			"page": string(writeReferrer(t, l, letter.Filled.WriteHTML)),
			"PDF":  readBack(t, pdfFile(t, writeReferrer(t, l, letter.Filled.WritePDF))),
		}
		for name, text := range forms {
			text = oneLine(strings.ReplaceAll(text, "&#43;", "+"))
			for _, fact := range need {
				if !strings.Contains(text, fact) {
					t.Errorf("%s, %s: lacks %q", tag, name, fact)
				}
			}
			for _, sentence := range words.ForPatients() {
				if strings.Contains(text, oneLine(sentence)) {
					t.Errorf("%s, %s: tells the dentist %q", tag, name, sentence)
				}
			}
		}
	}
}

// TestTheDentistIsToldOfEachPlan goes through the other cases that a letter can be about.
func TestTheDentistIsToldOfEachPlan(t *testing.T) {
	booked := measured()
	booked.Booked["first-loading"] = letter.Booking{Day: on("2027-08-26"), Start: 10 * 60}
	for name, c := range map[string]struct {
		letter letter.Letter
		says   []string
		not    string
	}{
		"booked":            {booked, []string{"Booked for Thursday 26 August 2027 at 10:00."}, "DRAFT"},
		"both sides":        {bothSides(), []string{"Implants to be placed later: 26 (8.5 x 4.1 mm).", "left side: implants placed not before"}, "DRAFT"},
		"stopped":           {aborted(), []string{"DRAFT", "we stopped early", "No date can be given now. We will write again."}, "Implants placed:"},
		"nobody sent him":   {simultaneous(), []string{"To the dentist who sent the patient"}, "DRAFT"},
		"no day is planned": {withoutDays(), []string{"No day yet; we will tell you."}, "Planned for"},
	} {
		text := oneLine(string(writeReferrer(t, c.letter, letter.Filled.WriteText)))
		for _, says := range c.says {
			if !strings.Contains(text, says) {
				t.Errorf("%s: lacks %q in\n%s", name, says, text)
			}
		}
		if strings.Contains(text, c.not) {
			t.Errorf("%s: says %q in\n%s", name, c.not, text)
		}
	}
}

func withoutDays() letter.Letter {
	l := measured()
	for i := range l.Timeline.Milestones {
		l.Timeline.Milestones[i].Placed = noDay
	}
	return l
}

// TestTheDentistsLettersAreWellMade: no name in braces is left, the lines of the text form
// fit, and two PDFs do not differ.
func TestTheDentistsLettersAreWellMade(t *testing.T) {
	for _, tag := range languages(t) {
		for name, sample := range allSamples() {
			l := inLanguage(sample(), tag, false)
			text := string(writeReferrer(t, l, letter.Filled.WriteText))
			if strings.ContainsAny(text, "{}") {
				t.Errorf("%s, %s: a name in braces in\n%s", tag, name, text)
			}
			for line := range strings.Lines(text) {
				if n := len([]rune(strings.TrimSuffix(line, "\n"))); n > 72 {
					t.Errorf("%s, %s: %d characters in %q", tag, name, n, line)
				}
			}
			if name == "both-sides" && !bytes.Equal(writeReferrer(t, l, letter.Filled.WritePDF), writeReferrer(t, l, letter.Filled.WritePDF)) {
				t.Error(fmt.Sprintf("%s, %s", tag, name), "two PDFs differ")
			}
		}
	}
}
