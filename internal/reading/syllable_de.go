package reading

import (
	"regexp"
	"strings"
)

// German syllables, as a dictionary divides words ("In-fek-ti-on", "Fa-mi-lie",
// "Fa-mi-li-en"): a long vowel written with two letters and a diphthong are one
// syllable, all other vowels that touch are two. The letters alone do not tell where a
// prefix, an ending or a foreign word separates what looks like a diphthong; the
// patterns below name those stems.

// germanNucleus is what makes one syllable.
var germanNucleus = regexp.MustCompile(`eaus?$|aa|ee|oo|ie|ei|ai|au|äu|eu|oi|oy|ay|ey|ou|[aeiouyäöüéèêàâ]`)

// germanApart are places where two vowels of one group are two syllables: between the
// two parts of each pattern.
var germanApart = []*regexp.Regexp{
	// a prefix before a stem that begins with a vowel
	regexp.MustCompile(`^(\pL{0,5}ge)(impf|irr|eign|ehrt|einigt|ebnet|erbt|erntet|eilt|endet|engt|urteil|urlaub)`),
	regexp.MustCompile(`^(\pL{0,5}be)(inhalt|irr|url|urteil|unruh|eil|ein|end|eng|erb|erdig|ehr|auf|aug)`),
	regexp.MustCompile(`(re)(impl|infekt|infiz|integr|interven|ell|epi)`),
	regexp.MustCompile(`(ko)(op|ord|in)`),
	// ie of two syllables
	regexp.MustCompile(`(i)(en$)`),
	regexp.MustCompile(`([rztndg]i|prinzipi)(ell)`),
	regexp.MustCompile(`(i)(enz)`),
	regexp.MustCompile(`((?:pat|or|kl|grad|amb|quot|effiz|rezip)i)(ent)`),
	regexp.MustCompile(`((?:` + germanIe + `)i)(en\pL)`),
	regexp.MustCompile(`(hygi|sozi|vari)(e[nt])`),
	regexp.MustCompile(`(hi)(erarch)`),
	regexp.MustCompile(`^((?:span|ital|belg|as|ind|brasil|austral|kanad)i)(er)`),
	// foreign endings and stems
	regexp.MustCompile(`(e)(ums?$)`),
	regexp.MustCompile(`(jubilä)(um)`),
	regexp.MustCompile(`(e)(en$)`),
	regexp.MustCompile(`(e)(ei)`),
	regexp.MustCompile(`(prote|koffe|kode|kase|nukle)(in)`),
	regexp.MustCompile(`(ego|hero|o)(i[ds])`),
	regexp.MustCompile(`(zo)(ol)`),
	regexp.MustCompile(`(na)(iv)`),
	regexp.MustCompile(`(mosa|ukra|prosa|archa)(i[kns])`),
}

// germanIe are stems whose ending ie has two syllables once an n follows.
const germanIe = "arter|bakter|famil|fol|präm|lin|kastan|komöd|mater|med|mum|petersil|lil|ser|stud|tragöd|akt|immobil|fer|allerg|therap"

// germanOneIen are words that end with ien in one syllable.
var germanOneIen = regexp.MustCompile(`(schien|wien)$`)

// germanMuteE are stems with a final e that is not heard.
var germanMuteE = regexp.MustCompile(`online|software|hardware|baseline|phone|service|pipeline|codes?$`)

// germanForeign are stems with ea or ieu of one syllable.
var germanForeign = regexp.MustCompile(`team|steak|beat|milieu`)

func germanSyllables(word string) int {
	heard := strings.ReplaceAll(word, "qu", "q")
	if strings.HasPrefix(heard, "y") && len(heard) > 1 && in(rune(heard[1]), "aeou") {
		heard = heard[1:]
	}
	for _, pattern := range germanApart {
		heard = pattern.ReplaceAllString(heard, "$1|$2")
	}
	if germanOneIen.MatchString(word) {
		heard = strings.ReplaceAll(heard, "i|en", "ien")
	}
	return groups(germanNucleus, heard) - groups(germanMuteE, word) - groups(germanForeign, word)
}
