// Package reading measures how easy a text is to read: it counts words, sentences
// and syllables by the rules of the text's language and puts the counts into
// published formulas made for that language. It does not know what the text says
// and does not decide whether a text may go out.
//
// Counts come with every score, for two counters never agree on every word (a
// score without its counts is false precision). What is counted:
//
//   - A word stands between spaces, dashes or a slash. Contractions, hyphenated
//     words, figures and abbreviations are one word each, as Flesch counted them
//     (How to Write Plain English, 1979, chapter 2). So is an article that an
//     apostrophe ties to its noun ("l'os"). A hyphenated word has the syllables of
//     its parts.
//   - A figure such as 14, 38.5, 9:30 or 2027-01-14 is one word of one syllable and
//     no long word; an abbreviation with its full stop is one syllable too (same
//     chapter).
//   - Telephone numbers, addresses of mail or web, and signs without a word in them
//     ("°C", "%", "-") are left out.
//   - A sentence ends at . ! ? and at the end of a unit, as the counting programs do
//     it; not at a colon, semicolon or dash, which Flesch disregards inside a
//     sentence. A full stop that belongs to an abbreviation, an initial, a decimal,
//     an ordinal or the number of a list's line, or that is followed by a small
//     letter, ends nothing.
//   - Syllables are counted as a dictionary divides the word or, where two
//     pronunciations are accepted, by the shorter one (same chapter); see the file
//     of each language.
package reading

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Counts is what was counted in a text. Counts of two texts add up.
type Counts struct {
	Words          int
	Sentences      int
	Syllables      int
	OneSyllable    int // words of one syllable
	ThreeSyllables int // words of three syllables or more
	FourSyllables  int // words of four syllables or more
	LongWords      int // words of more than six letters; hyphens and apostrophes are no letters
}

// Result is one formula's verdict.
type Result struct {
	Name   string  // of the formula, unique in its language: "Flesch-Kincaid grade"
	Source string  // where the formula was published and read
	Value  float64 // finite; its unit and direction are the formula's own
	Band   string  // Value in words, such as "fairly easy"
	Easy   bool    // whether Band is one that the formula's scale calls easy, or an easier one
}

// Figures are the counts of a text and all results that follow from them, the
// language's own formulas first, LIX last. A formula that needs more sentences than
// the text has (SMOG: 30) is not among them.
type Figures struct {
	Counts  Counts
	Results []Result
}

// Met is an exempt word and how often it was met.
type Met struct {
	Word  string // as given to Measure
	Times int    // 0: it does not occur
}

// Score is the reading ease of one text.
type Score struct {
	Language string  // base language: "en"
	Whole    Figures // every word
	Without  Figures // without the exempt words: neither words nor syllables
	Exempt   []Met   // in the order given
	Target   Target
}

// Easy reports whether the target of the language is met without the exempt words.
// Whole has the result with them, and both belong into print.
func (s Score) Easy() bool {
	result, there := s.Without.Result(s.Target.Formula)
	return there && s.Target.met(result.Value)
}

// Result finds the result of a formula by its name.
func (f Figures) Result(name string) (Result, bool) {
	i := slices.IndexFunc(f.Results, func(r Result) bool { return r.Name == name })
	if i < 0 {
		return Result{}, false
	}
	return f.Results[i], true
}

// ErrEmpty says that there is nothing to measure: no word, and so no sentence.
var ErrEmpty = errors.New("no reading ease: the text has no words")

// Measure counts the units of a text and works out the formulas of its language. A
// unit is one printed piece in its order: a heading, an item of a list, a paragraph,
// a cell of a table; its end ends a sentence. Language is a BCP 47 tag whose base
// language is one of Languages. Each exempt word is one printed word, compared
// without regard to capitals, "'s" and tied articles; forms of it are named one by one.
//
// A language that cannot be measured, an exempt word that is not one word, and a text
// without words (ErrEmpty; also when all its words are exempt) are errors.
func Measure(language string, units []string, exempt []string) (Score, error) {
	base, known := Language(language)
	if !known {
		return Score{}, fmt.Errorf("no reading ease for the language %q: only for %s", language, strings.Join(Languages(), ", "))
	}
	l := languages[base]
	left, err := newExemption(l, exempt)
	if err != nil {
		return Score{}, err
	}
	var whole, without Counts
	for _, unit := range units {
		for _, sentence := range l.sentences(unit) {
			whole.add(sentence)
			without.add(left.leaveOut(sentence))
		}
	}
	if whole.Words == 0 {
		return Score{}, ErrEmpty
	}
	if without.Words == 0 {
		return Score{}, fmt.Errorf("%w but exempt ones", ErrEmpty)
	}
	return Score{
		Language: base,
		Whole:    l.figures(whole),
		Without:  l.figures(without),
		Exempt:   left.met,
		Target:   l.target,
	}, nil
}

// add counts one sentence; one without words is none.
func (c *Counts) add(sentence []word) {
	if len(sentence) == 0 {
		return
	}
	c.Sentences++
	for _, w := range sentence {
		c.Words++
		c.Syllables += w.syllables
		c.OneSyllable += one(w.syllables == 1)
		c.ThreeSyllables += one(w.syllables >= 3)
		c.FourSyllables += one(w.syllables >= 4)
		c.LongWords += one(w.letters > 6)
	}
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// exemption knows the exempt words and counts those it meets.
type exemption struct {
	language *language
	met      []Met
	index    map[string]int // of met, by the word as it is compared
}

func newExemption(l *language, words []string) (*exemption, error) {
	e := &exemption{language: l, index: map[string]int{}}
	for _, text := range words {
		found := l.sentences(text)
		if len(found) != 1 || len(found[0]) != 1 {
			return nil, fmt.Errorf("the exempt word %q is not one word", text)
		}
		key := found[0][0].text
		if _, twice := e.index[key]; twice {
			return nil, fmt.Errorf("the exempt word %q is named twice", text)
		}
		e.index[key] = len(e.met)
		e.met = append(e.met, Met{Word: text})
	}
	return e, nil
}

// leaveOut is the sentence without exempt words.
func (e *exemption) leaveOut(sentence []word) []word {
	var rest []word
	for _, w := range sentence {
		i, exempt := e.index[w.text]
		if !exempt {
			i, exempt = e.index[e.language.bare(w.text)]
		}
		if exempt {
			e.met[i].Times++
		} else {
			rest = append(rest, w)
		}
	}
	return rest
}

// Language is the base language of a BCP 47 tag, in small letters, and whether it is
// one of Languages.
func Language(tag string) (base string, known bool) {
	base, _, _ = strings.Cut(tag, "-")
	base = strings.Map(unicode.ToLower, base)
	return base, languages[base] != nil
}

// Languages are the base languages that can be measured, in order of the alphabet.
func Languages() []string {
	var all []string
	for base := range languages {
		all = append(all, base)
	}
	slices.Sort(all)
	return all
}
