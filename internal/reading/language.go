package reading

import "strings"

// language is what counting needs to know of one language.
type language struct {
	syllables     func(word string) int // of a word in small letters, maybe with apostrophes, without hyphens; at least 1
	bare          func(word string) string
	abbreviations map[string]bool // small letters, without the last full stop
	ordinals      ordinals
	formulas      []formula
	target        Target
}

// ordinals is what shows that a full stop after a figure makes it "14th", before a
// word with a capital. The zero value: the language does not write ordinals so.
type ordinals struct {
	before, after map[string]bool // words in small letters
}

var languages = map[string]*language{
	"en": {
		syllables:     englishSyllables,
		bare:          withoutPossessive,
		abbreviations: set("dr mr mrs ms prof st tel approx etc vs e.g i.e a.m p.m ext"),
		formulas:      englishFormulas,
		target:        englishTarget,
	},
	"es": {
		syllables:     spanishSyllables,
		bare:          asItIs,
		abbreviations: set("dr dra sr sra srta prof tel tfno aprox etc ej p.ej núm nº n.º pág ud uds vd vds avda dpto"),
		formulas:      spanishFormulas,
		target:        spanishTarget,
	},
	"de": {
		syllables:     germanSyllables,
		bare:          asItIs,
		abbreviations: set("dr prof med dent hr fr tel nr str ca bzw usw evtl ggf inkl exkl z.b d.h u.a o.ä u.ä i.d.r z.t vgl bspw allg zzgl min std tägl max"),
		ordinals: ordinals{
			before: set("am dem den der des die das vom zum im beim jeder jede jedes jeden"),
			after: set("januar jänner februar feber märz april mai juni juli august september oktober november dezember " +
				"tag tage tagen tages woche wochen monat monats monate jahr jahres stunde minute mal termin quartal"),
		},
		formulas: germanFormulas,
		target:   germanTarget,
	},
	"fr": {
		syllables:     frenchSyllables,
		bare:          withoutElision,
		abbreviations: set("dr pr prof m mm mme mlle tél env etc ex p.ex av bd réf"),
		formulas:      frenchFormulas,
		target:        frenchTarget,
	},
	"pl": {
		syllables:     polishSyllables,
		bare:          asItIs,
		abbreviations: set("dr prof med lek stom tel ul al nr np m.in tzn tj itd itp ok godz min ds pn wt śr czw pt sob"),
		ordinals: ordinals{
			before: set("dnia do od po w"),
			after: set("stycznia lutego marca kwietnia maja czerwca lipca sierpnia września października listopada grudnia " +
				"dzień dnia dniu doba doby dobie tydzień tygodnia tygodniu miesiąc miesiąca miesiącu roku raz"),
		},
		formulas: polishFormulas,
		target:   polishTarget,
	},
}

func set(words string) map[string]bool {
	all := map[string]bool{}
	for _, word := range strings.Fields(words) {
		all[word] = true
	}
	return all
}

func asItIs(word string) string { return word }

// withoutPossessive is "surgeon" for "surgeon's".
func withoutPossessive(word string) string { return strings.TrimSuffix(word, "'s") }

// withoutElision is "os" for "l'os".
func withoutElision(word string) string { return word[strings.LastIndex(word, "'")+1:] }
