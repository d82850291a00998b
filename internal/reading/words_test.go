package reading

import (
	"strings"
	"testing"
)

// said is a unit's words, sentences divided by "|".
func said(language, unit string) string {
	var all []string
	for _, sentence := range languages[language].sentences(unit) {
		var words []string
		for _, w := range sentence {
			words = append(words, w.text)
		}
		all = append(all, strings.Join(words, " "))
	}
	return strings.Join(all, " | ")
}

func TestSentencesAndWords(t *testing.T) {
	for _, c := range []struct{ name, language, unit, want string }{
		{"stop, question, call", "en", "Rest. Sore? Call us!", "rest | sore | call us"},
		{"the unit ends the sentence", "en", "Do after surgery", "do after surgery"},
		{"colon and semicolon do not", "en", "Call us if: it bleeds; you faint.", "call us if it bleeds you faint"},
		{"a stop before a small letter does not", "en", "It is approx. two or even more. than that", "it is approx two or even more than that"},
		{"quotes and brackets", "en", `He said "Stop." (Then he left.) Fine`, "he said stop | then he left | fine"},
		{"ellipsis", "en", "Wait… Then rinse... gently", "wait | then rinse gently"},
		{"?! is one end", "en", "Really?! Yes.", "really | yes"},
		{"abbreviation", "en", "Ask Dr. Quill at 9 a.m. Tuesday.", "ask dr quill at 9 a.m tuesday"},
		{"initial", "en", "A. Quill is here.", "a quill is here"},
		{"decimal", "en", "It is 38.5 now. Call.", "it is 38.5 now | call"},
		{"day at the end of a sentence", "en", "Better by day 5. Call us.", "better by day 5 | call us"},
		{"number of a line", "en", "1. Rest well.", "1 rest well"},
		{"dash and slash", "en", "Days 1–3 — rest and/or sleep.", "days 1 3 rest and or sleep"},
		{"date and fraction with a slash", "en", "14/01/2027 and 1/2", "14/01/2027 and 1/2"},
		{"hyphen and apostrophe", "en", "Don’t wear your X-ray apron, it’s well-known.", "don't wear your x-ray apron it's well-known"},
		{"phone", "en", "Call +353 1 555 0100. Or 01 555 0100 now, or 112.", "call | or now or 112"},
		{"figures behind a phone", "en", "Call +353 1 555 0100, 2 tablets. Or 01 555 0100. 3 days", "call 2 tablets | or | 3 days"},
		{"phone that is none", "en", "+353x55 and 0 30 and 05 30 12", "+353x55 and 0 30 and 05 30 12"},
		{"phone in brackets", "en", "(+353) 1 555-0100 is ours", "is ours"},
		{"mail and web", "en", "Write to desk@harbour.example or https://harbour.example/a.b. Thanks", "write to or | thanks"},
		{"signs", "en", "38 °C (100.4 °F) - 50 % & more", "38 100.4 50 more"},
		{"hidden marks", "en", "stit\u00adches\u200b heal", "stitches heal"},
		{"German ordinal before a month", "de", "Am 14. Januar ruhen. Tag 3. Danach nicht.", "am 14 januar ruhen | tag 3 | danach nicht"},
		{"German ordinal after an article", "de", "Bis zum 3. Tag. Am 5. Morgen und am 6. Abend.", "bis zum 3 tag | am 5 morgen und am 6 abend"},
		{"German abbreviations", "de", "Zahlen, z. B. Werte, z.B. Größen bzw. Maße.", "zahlen z b werte z.b größen bzw maße"},
		{"German decimal comma", "de", "Ab 38,5 °C anrufen.", "ab 38,5 anrufen"},
		{"Spanish marks", "es", "¿Sangra? ¡Llame! El Sr. Marlow.", "sangra | llame | el sr marlow"},
		{"French", "fr", "Appelez-nous ! L’os, c’est dur. M. Marlow « dort ».", "appelez-nous | l'os c'est dur | m marlow dort"},
		{"Polish", "pl", "Dnia 3. Stycznia nie. Np. Mleko itp. Proszę", "dnia 3 stycznia nie | np mleko itp proszę"},
		{"nothing", "pl", " ... - ?! ", ""},
	} {
		if got := said(c.language, c.unit); got != c.want {
			t.Errorf("%s: %q\n got %s\nwant %s", c.name, c.unit, got, c.want)
		}
	}
}

func TestSyllablesOfFiguresAndTheirLike(t *testing.T) {
	for text, want := range map[string]int{
		"14": 1, "2027": 1, "9:30": 1, "2027-01-14": 1, "38.5": 1, "24-hour": 2, "Dr.": 1, "approx.": 1,
		"X-ray": 2, "well-being": 3, "a.m.": 1, "mg": 1, "PDF": 1,
	} {
		sentences := languages["en"].sentences(text)
		if len(sentences) != 1 || len(sentences[0]) != 1 || sentences[0][0].syllables != want {
			t.Errorf("%s: %+v, want one word of %d", text, sentences, want)
		}
	}
	if c := measured(t, "en", "Jaw tissue, tissues, X-rays, nurse's").Whole.Counts; c.LongWords != 1 { // 6, 7, 5 and 6 letters
		t.Errorf("%d long words", c.LongWords)
	}
	if w := languages["en"].sentences("2027000 well-off")[0]; w[0].letters != 0 || w[1].letters != 7 {
		t.Errorf("letters: %+v", w)
	}
}
