package desk_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"graftclock/internal/day"
	"graftclock/internal/desk"
	"graftclock/internal/graft"
	"graftclock/internal/ledger"
	"graftclock/internal/letter"
)

// gap stands where something was taken out of a text.
const gap = '\x00'

// leastWhole is how long a text of the record is, squeezed, so that it is no
// coincidence to find it inside of another.
const leastWhole = 6

// secrets are what the files of one case must not tell.
type secrets struct {
	words map[string]bool // whole words, folded, beside tradeWords
	in    string          // the language of the words that the patient gets
	whole []string        // texts of the record, squeezed: anywhere, also inside other words

	open []string // what may be told, folded, the longest first
	own  []string // the patient's name and address, folded: where the patient is written to

	met   map[string]bool     // plain words that were met
	known map[spoken][]string // what was found in a text before
}

// ownPlaces are where the patient is written to by name.
var ownPlaces = setOf([]string{"To", "ATTENDEE", "ATTENDEE;CN"})

// leaks returns what a text tells that it must not.
func (s *secrets) leaks(said spoken) []string {
	if said.isFormal() {
		return nil
	}
	text := fold(said.text)
	if ownPlaces[said.where] {
		text = without(text, s.own)
	}
	text = without(text, s.open)
	found := numbersOf(text)
	dense := squeezed(text)
	for _, whole := range s.whole {
		if strings.Contains(dense, whole) {
			found = append(found, whole)
		}
	}
	words := wordsOf(text)
	for _, word := range words {
		switch known := s.words[word] || tradeWords()[s.in][word]; {
		case known && plainWords[s.in][word]:
			s.met[s.in+" "+word] = true
		case known:
			found = append(found, word)
		}
	}
	spaced := " " + strings.Join(words, " ") + " "
	for _, phrase := range tradePhrases() {
		if strings.Contains(spaced, " "+phrase+" ") {
			found = append(found, phrase)
		}
	}
	return found
}

// without takes parts out of a text, and the beginning of one of them from the end of
// a text that was cut short.
func without(text string, parts []string) string {
	for _, part := range parts {
		text = strings.ReplaceAll(text, part, string(gap))
	}
	head, cut := strings.CutSuffix(text, "…")
	if !cut {
		return text
	}
	begun := 0
	for _, part := range parts {
		for n := len(part); n > begun; n-- {
			if strings.HasSuffix(head, part[:n]) {
				begun = n
			}
		}
	}
	return head[:len(head)-begun] + string(gap)
}

// byLength sorts texts so that none is taken out before one that it is a part of.
func byLength(texts []string) []string {
	folded := make([]string, 0, len(texts))
	for _, text := range texts {
		if text = fold(text); text != "" {
			folded = append(folded, text)
		}
	}
	slices.SortFunc(folded, func(a, b string) int { return cmp.Or(len(b)-len(a), strings.Compare(a, b)) })
	return slices.Compact(folded)
}

func (l leak) String() string { return fmt.Sprintf("%s: %q in %q", l.where, l.words, l.text) }

// leak is a text that tells what it must not.
type leak struct {
	spoken
	words []string
}

// allLeaks returns every text that tells what it must not.
func (s *secrets) allLeaks(texts []spoken) []leak {
	var list []leak
	for _, said := range texts {
		words, known := s.known[said]
		if !known {
			words = s.leaks(said)
			s.known[said] = words
		}
		if len(words) > 0 {
			list = append(list, leak{said, words})
		}
	}
	return list
}

// secretsOf are those of one case as it is planned, with the visits that are kept of it.
// The plain words of earlier plans may stand in what is called off, while the patient
// wants plain words at all.
func (s *scan) secretsOf(p desk.Plan, visits []ledger.Visit, earlier []string) *secrets {
	of := &secrets{words: map[string]bool{}, in: languageOf(p), met: s.met, known: map[spoken][]string{}}
	for _, text := range slices.Concat(textsIn(p.Case.Case), textsIn(p.Timeline), textsIn(p.Own), textsIn(visits)) {
		words, known := s.split[text]
		if !known {
			words = wordsOf(fold(text))
			s.split[text] = words
		}
		for _, word := range words {
			of.words[word] = true
		}
	}
	of.whole = append(of.whole, squeezed(fold(string(p.Case.ID))))
	for _, text := range textsIn(p.Case.Case) {
		if whole := squeezed(fold(text)); len([]rune(whole)) >= leastWhole {
			of.whole = append(of.whole, whole)
		}
	}
	c, patient := s.desk.Clinic, p.Case.Patient
	of.open = append([]string{c.Name, c.ShortName, c.Phone, c.Mail.From, c.Zone}, c.Address...)
	if _, err := letter.BuiltIn().WordsFor(patient.Language); err == nil {
		of.open = append(of.open, timesOf(patient.Language, visits)...)
	}
	if patient.CalendarDetail == graft.Plain {
		of.open = slices.Concat(of.open, earlier, plainTexts(p))
	}
	of.open = byLength(of.open)
	of.own = byLength([]string{patient.Name, inAName(patient.Name), graft.OneLine(patient.Name), patient.Mail.Address})
	return of
}

// plainTexts are what a patient may choose to have in the calendar: what a step is
// called in the patient's language, and the sentence on it.
func plainTexts(p desk.Plan) []string {
	words, err := letter.BuiltIn().WordsFor(p.Case.Patient.Language)
	if err != nil {
		return nil
	}
	var list []string
	for _, m := range p.Timeline.Milestones {
		if m.SeenByAny(graft.ForPatient) {
			list = append(list, words.Title(m.Step), words.What(m.Step, p.Case.Surgery.Resorbable))
		}
	}
	return list
}

// languageOf is the language of what a patient gets.
func languageOf(p desk.Plan) string {
	words, err := letter.BuiltIn().WordsFor(p.Case.Patient.Language)
	if err != nil {
		return "en"
	}
	return words.Language()
}

// timesOf are the days and times of visits as a language writes them.
func timesOf(tag string, visits []ledger.Visit) []string {
	var list []string
	for _, v := range visits {
		list = append(list, timeIn(tag, v.Day, v.Start))
	}
	return list
}

// timeIn writes a day and a time by the forms of a language's words and of its region.
func timeIn(tag string, d day.Day, start day.Clock) string {
	language, region, _ := strings.Cut(tag, "-")
	forms := maps.Clone(wordsFiles()[language]["dates"].(tree))
	if there, ok := wordsFiles()[language]["regions"].(tree)[region].(tree); ok {
		maps.Copy(forms, there)
	}
	at := start.String()
	if forms["am_pm"] == true {
		at = day.New(2000, 1, 1).Time().Add(time.Duration(start) * time.Minute).Format("3:04 PM")
	}
	year, month, date := d.Date()
	names := func(key string, n int) string { return fmt.Sprint(forms[key].([]any)[n]) }
	text := strings.NewReplacer("{weekday}", names("weekdays", int(d.Weekday())), "{day}", fmt.Sprint(date), "{month}", names("months", int(month)-1), "{year}", fmt.Sprint(year)).Replace(fmt.Sprint(forms["day"]))
	return strings.NewReplacer("{day}", text, "{time}", at).Replace(fmt.Sprint(forms["with_time"]))
}
