package reading

import (
	"maps"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"graftclock/internal/reference"
)

// spoken is what others say of one English word.
type spoken struct {
	dictionary []int // syllables of its pronunciations
	library    int
}

// englishSpoken reads the CMU pronouncing dictionary and the npm library "syllable".
func englishSpoken(t *testing.T) map[string]spoken {
	t.Helper()
	command := exec.Command(reference.Node(t, "cmu-pronouncing-dictionary", "syllable"), filepath.Join(reference.Folder(), "syllables_en.mjs"))
	out, err := command.Output()
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]spoken{}
	for line := range strings.Lines(string(out)) {
		fields := strings.Fields(line)
		s := spoken{library: number(t, fields[2])}
		for _, n := range strings.Split(fields[1], ",") {
			s.dictionary = append(s.dictionary, number(t, n))
		}
		all[fields[0]] = s
	}
	if len(all) < 100_000 {
		t.Fatalf("%d words only", len(all))
	}
	return all
}

func number(t *testing.T, text string) int {
	t.Helper()
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// letterExceptions are words of the English letter that the dictionary lacks or has
// otherwise: their syllables.
var letterExceptions = map[string]int{
	"droops": 1, // it has "droop"
	"mm":     1, // it has the hum; here it is a unit, and an abbreviation has one syllable
}

func TestEnglishAgainstTheDictionary(t *testing.T) {
	spoken := englishSpoken(t)
	t.Run("the letter", func(t *testing.T) { letterAgainst(t, spoken) })
	t.Run("everyday words", func(t *testing.T) { shareAgainst(t, spoken, common(spoken), 0.99) })
	t.Run("every fifth word", func(t *testing.T) { shareAgainst(t, spoken, everyFifth(spoken), 0.935) })
}

func letterAgainst(t *testing.T, spoken map[string]spoken) {
	words := vocabularies(t)["en"]
	if len(words) < 300 {
		t.Fatalf("%d words only: %v", len(words), words)
	}
	agree := 0
	for _, word := range words {
		got := languages["en"].partSyllables(word, "")
		exception, listed := letterExceptions[word]
		switch {
		case listed && exception == got:
		case slices.Contains(spoken[word].dictionary, got):
			agree++
		default:
			t.Errorf("%s: %d syllables; the dictionary says %v", word, got, spoken[word].dictionary)
		}
	}
	t.Logf("%d words, %d as the dictionary has them", len(words), agree)
}

// commonForms are the forms of a word that say it is an everyday one when the
// dictionary has several of them.
func commonForms(word string) []string {
	stem := strings.TrimSuffix(word, "e")
	return []string{word + "s", word + "es", stem + "ed", stem + "ing", stem + "er", word + "ly", word + "ness"}
}

// common are the words of the dictionary with three or more of their forms, and these
// forms: mostly everyday verbs and nouns, few names.
func common(spoken map[string]spoken) []string {
	var all []string
	for word := range spoken {
		if !plain(word) {
			continue
		}
		forms := slices.DeleteFunc(commonForms(word), func(form string) bool { return spoken[form].dictionary == nil })
		if len(forms) >= 3 {
			all = append(all, append(forms, word)...)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

func plain(word string) bool {
	return len(word) > 1 && strings.Trim(word, "abcdefghijklmnopqrstuvwxyz") == ""
}

// everyFifth is a sample of the whole dictionary, names included.
func everyFifth(spoken map[string]spoken) []string {
	all := slices.Sorted(maps.Keys(spoken))
	n := 0
	return slices.DeleteFunc(all, func(string) bool { n++; return n%5 != 0 })
}

// shareAgainst holds the rules to what they reach today, and not to less than the
// library reaches.
func shareAgainst(t *testing.T, spoken map[string]spoken, words []string, least float64) {
	ours, library, same, n := 0, 0, 0, 0
	for _, word := range words {
		if !plain(word) {
			continue
		}
		got, said := englishSyllables(word), spoken[word]
		n++
		ours += one(slices.Contains(said.dictionary, got))
		library += one(slices.Contains(said.dictionary, said.library))
		same += one(got == said.library)
	}
	share := func(count int) float64 { return float64(count) / float64(n) }
	t.Logf("%d words: %.2f %% as the dictionary has them (the library: %.2f %%), %.2f %% as the library",
		n, 100*share(ours), 100*share(library), 100*share(same))
	if share(ours) < least || share(ours) < share(library) {
		t.Errorf("%.4f, want at least %.4f and the library's %.4f", share(ours), least, share(library))
	}
}
