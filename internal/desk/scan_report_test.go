package desk_test

import (
	"maps"
	"slices"

	"graftclock/internal/graft"
	"graftclock/internal/letter"
)

// mostShown leaks are printed.
const mostShown = 20

// reports fails on any leak and, of a whole run, where the scan could not have found
// one.
func (s *scan) reports(whole bool) {
	t := s.t
	t.Helper()
	for _, l := range s.leaks[:min(len(s.leaks), mostShown)] {
		t.Error(l)
	}
	t.Logf("%d leaks; %d words of the trade; %s", len(s.leaks), len(tradeWords()["en"]), countsOf(s.counts))
	if !whole {
		return
	}
	for _, what := range []string{"patient's files", "files of one visit", "feeds", "square codes", "mails, request", "mails, cancel", "letters by mail", "calendar plain", "calendar neutral", "approved", "overridden", "noted", "moved", "surgery's data set", "other detail"} {
		if s.counts[what] == 0 {
			t.Errorf("no %s", what)
		}
	}
	if s.counts["patient's files"] < 3000 {
		t.Errorf("%d cases gave the patient a file", s.counts["patient's files"])
	}
	s.everyWordWasThere()
	s.plainWordsAreNeeded()
}

// everyWordWasThere wants each word of the record format, each tooth and each step to
// have stood in a record.
func (s *scan) everyWordWasThere() {
	s.t.Helper()
	for path, words := range s.words {
		for _, word := range words {
			if s.seen[path+"="+word] == 0 {
				s.t.Errorf("no record had %s: %s", path, word)
			}
		}
	}
	for _, step := range graft.Steps {
		if s.seen["step "+string(step)] == 0 {
			s.t.Errorf("no plan had %s", step)
		}
	}
	for _, language := range languages() {
		if _, err := letter.BuiltIn().WordsFor(language); err != nil || s.seen["patient.language="+language] == 0 {
			s.t.Errorf("no letter in %s: %v", language, err)
		}
	}
	if s.seen["override"] == 0 {
		s.t.Error("no plan had an override")
	}
}

// plainWordsAreNeeded wants each exception to stand in a patient's file and in the
// trade's own words; in a language that few of the patients have, in the words of
// neutral entries and of mails.
func (s *scan) plainWordsAreNeeded() {
	s.t.Helper()
	for language, words := range plainWords {
		for _, word := range slices.Sorted(maps.Keys(words)) {
			if !s.met[language+" "+word] && !(language != "en" && openWords(language)[word] && tradeWords()[language][word]) {
				s.t.Errorf("the exception for %q in %s is not needed", word, language)
			}
		}
	}
}
