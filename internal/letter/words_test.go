package letter

import (
	"strings"
	"testing"

	"graftclock/internal/graft"
	"graftclock/templates"
)

func TestEveryStepHasWords(t *testing.T) {
	words, err := BuiltIn().WordsFor("en-GB")
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range graft.Steps {
		if words.Title(step) == "" || words.What(step, false) == "" {
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
	if _, faults := readWords("words.yaml", file, model()); len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, c := range []struct{ name, from, to, says string }{
		{"a missing step", "  recall:\n    title: Regular check\n    what: We check implants and gums.\n", "", "steps.recall"},
		{"a step nobody knows", "  recall:\n", "  recal:\n", "steps.recal"},
		{"a missing section", "no_visits: Your surgeon will tell you the next step.\n", "", "no_visits"},
		{"an empty sentence", "flying: Do not fly.", "flying: ''", "limits.dated.flying"},
		{"a missing preset", "    flying: Do", "    sauna: Do", "limits.dated.flying"},
		{"an unknown key", "no_visits:", "no_visit:", "no_visit"},
		{"a key twice", "no_visits:", "language: en\nno_visits:", "line 4 already"},
		{"a sign that asks for nothing", "    same_day: Grains come out of your nose.\n", "", "C1.9"},
		{"a sign twice", "id: C1.18", "id: C1.17", "C1.17"},
		{"a week of six days", "[Sunday, ", "[", "weekdays"},
		{"a sign less", "  - id: C1.18\n    same_day: An implant or a new tooth is loose.\n", "", "C1.18 is missing"},
		{"a sign with less", "    emergency: Your mouth bleeds on under firm pressure.\n", "", "C1.2 with normal, same_day;"},
		{"a day without its month", "day: \"{weekday} {day} {month} {year}\"", "day: \"{weekday} {day} {year}\"", "without {month}"},
		{"a name that nobody fills in", "aim: \"We aim for {day}.\"", "aim: \"We aim for {date}.\"", "{date}"},
		{"a region's day without its year", "day: \"{weekday}, {month} {day}, {year}\"", "day: \"{weekday}, {month} {day}\"", "without {year}"},
	} {
		t.Run(c.name, func(t *testing.T) {
			spoiled := strings.Replace(string(file), c.from, c.to, 1)
			if spoiled == string(file) {
				t.Fatal("nothing was spoiled")
			}
			_, faults := readWords("words.yaml", []byte(spoiled), model())
			if len(faults) == 0 || !strings.Contains(faults.Error(), c.says) || faults[0].Line == 0 {
				t.Errorf("got %v, want a fault with its line that says %q", faults, c.says)
			}
		})
	}
}
