package reading

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// anyUnit draws a printed piece: words of the language with stops, figures,
// abbreviations and now and then anything at all.
func anyUnit(base string) *rapid.Generator[string] {
	var words []string
	for _, entry := range strings.Fields(divided[base]) {
		word, _ := parts(entry)
		words = append(words, word)
	}
	words = append(words, "14", "38.5", "9:30", "Dr.", "z.", "B.", "etc.", "A", "1.", "°C", "-", "x-y", "!", "...")
	for abbreviation := range languages[base].abbreviations {
		words = append(words, abbreviation)
	}
	slices.Sort(words)
	return rapid.Custom(func(t *rapid.T) string {
		piece := rapid.OneOf(rapid.SampledFrom(words), rapid.String())
		end := rapid.SampledFrom([]string{"", "", "", ".", "?", ":", ",", ".)", "\u00a0"})
		var all []string
		for range rapid.IntRange(0, 12).Draw(t, "words") {
			word := piece.Draw(t, "word")
			if rapid.Bool().Draw(t, "capital") {
				word = strings.ToUpper(word[:len(word)-len(strings.TrimLeft(word, "abcdefghijklmnopqrstuvwxyz"))]) + strings.TrimLeft(word, "abcdefghijklmnopqrstuvwxyz")
			}
			all = append(all, word+end.Draw(t, "end"))
		}
		return strings.Join(all, " ")
	})
}

func anyLanguage(t *rapid.T) string { return rapid.SampledFrom(Languages()).Draw(t, "language") }

func countsOf(base string, units ...string) Counts {
	score, err := Measure(base, units, nil)
	if err != nil {
		return Counts{}
	}
	return score.Whole.Counts
}

func plus(a, b Counts) Counts {
	return Counts{
		a.Words + b.Words, a.Sentences + b.Sentences, a.Syllables + b.Syllables, a.OneSyllable + b.OneSyllable,
		a.ThreeSyllables + b.ThreeSyllables, a.FourSyllables + b.FourSyllables, a.LongWords + b.LongWords,
	}
}

func TestCountsOfUnitsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := anyLanguage(t)
		units := rapid.SliceOfN(anyUnit(base), 0, 6).Draw(t, "units")
		cut := rapid.IntRange(0, len(units)).Draw(t, "cut")
		if whole, sum := countsOf(base, units...), plus(countsOf(base, units[:cut]...), countsOf(base, units[cut:]...)); whole != sum {
			t.Fatalf("%+v, in two parts %+v", whole, sum)
		}
	})
}

// smallerIsEasier are the formulas of which a smaller value is easier.
var smallerIsEasier = []string{"Flesch-Kincaid grade", "SMOG", "Wiener 1", "Wiener 2", "Wiener 3", "Wiener 4", "Pisarek", "FOG, Polish", "LIX"}

// TestAFullStopNeverMakesATextHarder puts a stop behind one word of letters.
func TestAFullStopNeverMakesATextHarder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := anyLanguage(t)
		unit := anyUnit(base).Draw(t, "unit")
		pieces := strings.Fields(unit)
		if len(pieces) == 0 {
			return
		}
		at := rapid.IntRange(0, len(pieces)-1).Draw(t, "at")
		pieces[at] += "."
		before, err := Measure(base, []string{unit}, nil)
		if err != nil {
			return
		}
		after, err := Measure(base, []string{strings.Join(pieces, " ")}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, was := range before.Whole.Results {
			is, there := after.Whole.Result(was.Name)
			worse := is.Value < was.Value
			if slices.Contains(smallerIsEasier, was.Name) {
				worse = is.Value > was.Value
			}
			if !there || worse {
				t.Fatalf("%s: %g, with the stop %g", was.Name, was.Value, is.Value)
			}
		}
	})
}

func TestExemptWordsOnlyTakeAway(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := anyLanguage(t)
		units := rapid.SliceOfN(anyUnit(base), 1, 5).Draw(t, "units")
		var exempt []string
		seen := map[string]bool{}
		for _, unit := range units {
			for _, sentence := range languages[base].sentences(unit) {
				for _, w := range sentence {
					if rapid.Bool().Draw(t, "exempt") && !seen[w.text] && said(base, w.text) == w.text {
						exempt = append(exempt, w.text)
						seen[w.text] = true
					}
				}
			}
		}
		score, err := Measure(base, units, exempt)
		if err != nil {
			return
		}
		met := 0
		for _, m := range score.Exempt {
			if m.Times == 0 {
				t.Fatalf("%q was not met", m.Word)
			}
			met += m.Times
		}
		if whole, rest := score.Whole.Counts, score.Without.Counts; rest.Words+met != whole.Words || rest.Sentences > whole.Sentences || rest.Syllables > whole.Syllables {
			t.Fatalf("%d met; whole %+v, without %+v", met, whole, rest)
		}
	})
}

// sound fails on counts or scores that cannot be.
func sound(t interface{ Fatalf(string, ...any) }, base, unit string) {
	score, err := Measure(base, []string{unit}, nil)
	if err != nil {
		return
	}
	c := score.Whole.Counts
	if c.Sentences < 1 || c.Words < c.Sentences || c.Syllables < c.Words || c.OneSyllable+c.ThreeSyllables > c.Words || c.FourSyllables > c.ThreeSyllables || c.LongWords > c.Words {
		t.Fatalf("%s %q: %+v", base, unit, c)
	}
	for _, r := range score.Whole.Results {
		if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) || r.Band == "" {
			t.Fatalf("%s %q: %+v", base, unit, r)
		}
	}
}

func TestAnyTextIsMeasuredOrRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sound(t, anyLanguage(t), rapid.String().Draw(t, "unit"))
	})
}

func FuzzMeasure(f *testing.F) {
	for _, unit := range []string{"", "Am 14. Januar, z. B. um 9:30.", "l'eau, qu'il y a", "+353 1 555 0100.", "a.b.c. \xff\xfe 'n't", "…—/°C@", "¿Qué? ¡Ay!"} {
		f.Add(unit)
	}
	f.Fuzz(func(t *testing.T, unit string) {
		for _, base := range Languages() {
			sound(t, base, unit)
		}
	})
}
