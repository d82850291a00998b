package letter

import (
	"reflect"
	"regexp"
	"strings"
	"testing"

	"graftclock/internal/graft"
	"graftclock/templates"
)

func TestEveryStepHasWords(t *testing.T) {
	words, err := WordsFor("en-GB")
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range graft.Steps {
		if words.Title(step) == "" || words.What(step) == "" {
			t.Errorf("%s has no words", step)
		}
	}
	if words.Title("tea") != "" || words.Language() != "en" {
		t.Error("words for what is no step, or of another language")
	}
}

func TestSpoiledWordsAreRefused(t *testing.T) {
	file, err := templates.Files.ReadFile("letter/en/words.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := readWords(file); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, from, to, says string }{
		{"a missing step", "  recall:\n    title: Regular check\n    what: We check implants and gums.\n", "", "steps.recall"},
		{"a step nobody knows", "  recall:\n", "  recal:\n", "steps.recal"},
		{"a missing section", "no_visits: Your surgeon will tell you the next step.\n", "", "no_visits"},
		{"an empty sentence", "says: Do not fly.", "says: ''", "limits.dated[1].says"},
		{"a missing preset", "preset: flying", "preset: sauna", "limits.dated.flying"},
		{"an unknown key", "no_visits:", "no_visit:", "no_visit"},
		{"a key twice", "no_visits:", "language: en\nno_visits:", "already defined"},
		{"a sign that asks for nothing", "    same_day: Grains come out of your nose.\n", "", "C1.9"},
		{"a sign twice", "id: C1.18", "id: C1.17", "C1.17"},
		{"a week of six days", "[Sunday, ", "[", "weekdays"},
	} {
		t.Run(c.name, func(t *testing.T) {
			spoiled := strings.Replace(string(file), c.from, c.to, 1)
			if spoiled == string(file) {
				t.Fatal("nothing was spoiled")
			}
			if _, err := readWords([]byte(spoiled)); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want an error that says %q", err, c.says)
			}
		})
	}
}

// gradeLimit is the reading grade that letters to patients aim at, and
// sentenceLimit the mean words of a sentence.
const (
	gradeLimit    = 6.0
	sentenceLimit = 12.0
)

// TestPlainWords measures the sentences of the words file with the Flesch-Kincaid
// grade. Syllables are counted by a rough rule, so the limit is a tripwire, not
// a proof.
func TestPlainWords(t *testing.T) {
	forms, err := formsFor("en")
	if err != nil {
		t.Fatal(err)
	}
	words, sentences, syllables := 0, 0, 0
	for _, text := range stringsIn(reflect.ValueOf(*forms.words)) {
		if !strings.HasSuffix(text, ".") {
			continue // a label
		}
		sentences += len(regexp.MustCompile(`[.:](\s|$)`).FindAllString(text, -1))
		for _, word := range regexp.MustCompile(`[\pL']+`).FindAllString(text, -1) {
			words++
			syllables += syllablesOf(strings.ToLower(word))
		}
	}
	mean := float64(words) / float64(sentences)
	grade := 0.39*mean + 11.8*float64(syllables)/float64(words) - 15.59
	t.Logf("%d words, %d sentences, %d syllables: %.1f words a sentence, grade %.1f", words, sentences, syllables, mean, grade)
	if grade > gradeLimit || mean > sentenceLimit {
		t.Errorf("grade %.1f, %.1f words a sentence", grade, mean)
	}
}

// syllablesOf counts groups of vowels, less a silent e at the end.
func syllablesOf(word string) int {
	groups := len(regexp.MustCompile(`[aeiouy]+`).FindAllString(word, -1))
	if strings.HasSuffix(word, "e") && !strings.HasSuffix(word, "le") && groups > 1 {
		groups--
	}
	return max(1, groups)
}

func stringsIn(v reflect.Value) []string {
	var all []string
	switch v.Kind() {
	case reflect.String:
		all = append(all, v.String())
	case reflect.Struct:
		for i := range v.NumField() {
			all = append(all, stringsIn(v.Field(i))...)
		}
	case reflect.Slice:
		for i := range v.Len() {
			all = append(all, stringsIn(v.Index(i))...)
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			all = append(all, stringsIn(v.MapIndex(key))...)
		}
	}
	return all
}
