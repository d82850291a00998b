package reading

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
)

func near(t *testing.T, name string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s: got %.4f, want %.4f within %g", name, got, want, tolerance)
	}
}

func measured(t *testing.T, language string, units ...string) Score {
	t.Helper()
	score, err := Measure(language, units, nil)
	if err != nil {
		t.Fatalf("%s %q: %v", language, units, err)
	}
	return score
}

func TestMeasureCountsALetter(t *testing.T) {
	score := measured(t, "en-GB", "Your next visit", "Thursday 28 January 2027 at 9:30", "We take out the stitches. Do not fly!", "Fever of 38.5 °C? Call +353 1 555 0100.")
	want := Counts{Words: 21, Sentences: 6, Syllables: 28, OneSyllable: 16, ThreeSyllables: 1, FourSyllables: 1, LongWords: 3} // by hand
	if score.Whole.Counts != want {
		t.Errorf("got %+v, want %+v", score.Whole.Counts, want)
	}
	if score.Language != "en" || score.Without.Counts != want || len(score.Exempt) != 0 || !score.Easy() {
		t.Errorf("got %+v", score)
	}
}

func TestExemptWordsAreLeftOutAndCounted(t *testing.T) {
	units := []string{"The implants heal. Your implantologist's implants!", "Implantologist"}
	score, err := Measure("en", units, []string{"Implants", "implantologist", "membrane"})
	if err != nil {
		t.Fatal(err)
	}
	if want := []Met{{"Implants", 2}, {"implantologist", 2}, {"membrane", 0}}; !slices.Equal(score.Exempt, want) {
		t.Errorf("met %v, want %v", score.Exempt, want)
	}
	if w, o := score.Whole.Counts, score.Without.Counts; w.Words != 7 || w.Sentences != 3 || o.Words != 3 || o.Sentences != 2 || o.Syllables != 3 {
		t.Errorf("whole %+v, without %+v", w, o)
	}
	whole, _ := score.Whole.Result("Flesch-Kincaid grade")
	if !score.Easy() || score.Target.met(whole.Value) {
		t.Error("the target is to be asked of the text without the exempt words")
	}
}

func TestFrenchExemptWordBehindAnArticle(t *testing.T) {
	score, err := Measure("fr", []string{"L’implant est posé."}, []string{"implant"})
	if err != nil || score.Exempt[0].Times != 1 || score.Without.Counts.Words != 2 {
		t.Errorf("%v, %+v", err, score)
	}
}

func TestWhatCannotBeMeasuredIsAnError(t *testing.T) {
	for _, c := range []struct {
		name, language string
		units, exempt  []string
		says           string
	}{
		{"no unit", "en", nil, nil, "no words"},
		{"no word", "de", []string{"", " - ", "?!", "°C", "+353 1 555 0100"}, nil, "no words"},
		{"exempt words alone", "en", []string{"Membrane."}, []string{"membrane"}, "no words but exempt ones"},
		{"another language", "sv", []string{"Hej."}, nil, `"sv"`},
		{"no language", "", []string{"Hi."}, nil, `""`},
		{"an exempt phrase", "en", []string{"Hi."}, []string{"sinus lift"}, "sinus lift"},
		{"an exempt nothing", "en", []string{"Hi."}, []string{"-"}, `"-"`},
		{"an exempt word twice", "en", []string{"Hi."}, []string{"gum", "Gum"}, "twice"},
	} {
		t.Run(c.name, func(t *testing.T) {
			score, err := Measure(c.language, c.units, c.exempt)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v and %+v, want an error that says %q", err, score, c.says)
			}
			if strings.Contains(c.says, "no words") != errors.Is(err, ErrEmpty) {
				t.Errorf("%v: ErrEmpty or not?", err)
			}
		})
	}
}

func TestLanguage(t *testing.T) {
	for tag, want := range map[string]string{"en": "en", "en-GB": "en", "EN-us": "en", "de-AT": "de", "fr-CA": "fr", "es-419": "es", "pl": "pl"} {
		if base, known := Language(tag); base != want || !known {
			t.Errorf("%s: %q, %t", tag, base, known)
		}
	}
	if base, known := Language("eng"); known {
		t.Errorf("eng is read as %q", base)
	}
	if got := strings.Join(Languages(), " "); got != "de en es fr pl" {
		t.Error(got)
	}
}

// TestEveryLanguageHasItsOwnFormulaATargetAndLIX also holds each target to a formula
// that every text has, and to the band its reason names.
func TestEveryLanguageHasItsOwnFormulaATargetAndLIX(t *testing.T) {
	for _, base := range Languages() {
		score := measured(t, base, "Ala ma kota.")
		results := score.Whole.Results
		if len(results) < 2 || results[0].Name != score.Target.Formula || results[len(results)-1].Name != "LIX" || score.Target.Why == "" {
			t.Errorf("%s: %+v, target %+v", base, results, score.Target)
		}
		for _, r := range results {
			if r.Source == "" || r.Band == "" {
				t.Errorf("%s, %s: source %q, band %q", base, r.Name, r.Source, r.Band)
			}
		}
		formula := languages[base].formulas[0]
		for tenths := -500; tenths < 1500; tenths++ {
			value := float64(tenths) / 10
			formula.value = func(Counts) float64 { return value }
			if r := formula.result(Counts{}); r.Easy != score.Target.met(value) {
				t.Fatalf("%s %.1f: band %q, target met %t", base, value, r.Band, score.Target.met(value))
			}
		}
	}
}

func TestTargetSays(t *testing.T) {
	if got := englishTarget.Says(); got != "Flesch-Kincaid grade at most 6.0" {
		t.Error(got)
	}
	if got := spanishTarget.Says(); got != "INFLESZ at least 65.0" {
		t.Error(got)
	}
}
