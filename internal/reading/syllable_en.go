package reading

import (
	"regexp"
	"strings"
)

// English syllables: groups of vowels, less the e that is not heard, more the places
// where two vowels that touch are two syllables. English spelling does not decide it:
// the patterns were made against a pronouncing dictionary (the tests say how far they
// agree), and words that they get wrong stand in a list of their own.

var englishVowels = regexp.MustCompile(`[aeiouyéèêëáàâöüóí]+`)

// englishSilent are places with one group of vowels too many; each counts once.
var englishSilent = []*regexp.Regexp{
	// e, es and ed at the end, but not in "table", "acres", "boxes", "hated"
	anyOf(`[^aeiouylr]e$`, `[aeiouyrw]ll?e$`, `[aeiouy]rr?e$`),
	anyOf(`[^aeiouysxzcghlr]es$`, `[^cs]hes$`, `[aeiouyrw]ll?es$`, `[aeiouy]rr?es$`),
	anyOf(`[^aeiouytdlr]ed$`, `[aeiouyrw]ll?ed$`, `[aeiouy]rr?ed$`),
	// "league", "vaguely"
	anyOf(`[gq]u(?:e[sd]?|ely|eness|ing)$`),
	// "careful", "movement", "forehead"
	anyOf(
		`[aeiouy](?:[^aeiouyl]+|l)e(?:ly|ty)`,
		`[aeiouy](?:[^aeiouyl]+|l)e(?:(?:less|ful|some)(?:ly|ness)?|ments?|ness|fully)$`,
		`[aeiouy](?:[^aeiouyl]+|l)e(?:thing|body|where|lines?|work|times?|how|what|place|port|ward|wise)$`,
		`^(?:`+strings.ReplaceAll(englishFirsts, " ", "|")+`)(?:[bcdfghjkmpqtvwz]\pL|s[ahi]|l[aio]|ni)`),
}

// englishFirsts are first halves of compounds with an e that is not heard.
const englishFirsts = "fore home some wide ware house here there where time life bare base gate love name side stone " +
	"tape type white whole wire wine safe care smoke sore spare more horse like face fire waste note make take trade " +
	"score shoe space store price pipe phone nose cheese edge grade grape hide knife brake juice moose pine race rope " +
	"scare snake state tide tube use vine voice wave scape"

// englishApart are places where one group of vowels is two syllables; each counts as
// often as it occurs.
var englishApart = []*regexp.Regexp{
	// "media", not "special"
	anyOf(`[^ctl]ia`, `lia[^n]`, `[ct]ia(?:t|$)`),
	// "radio", "folio", not "nation"
	anyOf(`[^stcgxnlh]io`, `^lion`, `[ln]io[^n]`, `[lnstg]io$`, `scio`),
	// "medium", "going"
	anyOf(`iu`, `ii[^n]`, `[aeiouy]ing(?:s|ly|$)`),
	// "quiet", "client", "happier"
	anyOf(`iet(?:[yseinl]|al|$)`, `[^ctsd]ien[ct]`, `scien`, `alien`, `ieth`, `[aeiouy].*iest`, `[aeiouy].*[^aeiouyc]iers?$`, `[lr]iers?$`),
	// a prefix: "reinforce", "preempt", "deactivate"
	anyOf(`^re(?:a[fgnoq]|ad[dj]|all[oi]|app|arm|arr|ass|aw|ele|em|en|est|ev|i[mt]|in[fvctj]|inst|u)`, `react`, `^pre(?:a[^ck]|e[mx]|i)`, `^de(?:a[ce]t|e[ms]c|i[cfn])`),
	// "create", "idea", "meander"
	anyOf(`creat[eio]`, `[mn]eat[ei]`, `meand`, `[rid]eas?$`, `theat`, `ideal`, `reali`, `[aeiouy].*[nltr]ean`, `eale?d?y$`),
	// "video", "museum"
	anyOf(`[^gpj]eo`, `[^g]eou`, `eu[ms]$`, `eums$`),
	// "usual", "cruel", "ruin", "virtuous"
	anyOf(`[^gq]ua[^ds]`, `[^gqw]ue[ln]`, `duet`, `[lrs]uers?$`, `[fr]uin`, `[^qg]uid`, `suici`, `enui`, `[nt]uit`, `igui`, `uity`, `[^qb]uo`),
	// "player", "dryer", "poet", "coordinate"
	anyOf(`[aeou]y(?:[aou]|er|ee)`, `[bcdfghjklmnprst]yers?$`, `oe[tm]`, `oers?$`, `coe[fx]`, `^coop`, `coor`, `coal[ei]`, `coart`, `coaut`, `coinc`),
	// "spasm", "rhythm"
	anyOf(`sms?$`, `thms?$`),
}

// englishWhole are words of which the patterns are wrong.
var englishWhole = map[string]int{
	"argue": 2, "argued": 2, "argues": 2, "arguing": 3, "being": 2, "buoy": 2, "buoys": 2, "naked": 2, "wicked": 2,
	"crooked": 2, "rugged": 2, "business": 2, "wednesday": 2, "area": 3, "areas": 3, "element": 3, "elements": 3,
	"someone": 2, "anyone": 3, "everyone": 3, "people": 2, "peoples": 2, "science": 2, "clothes": 1, "ache": 1,
	"aches": 1, "reopen": 3, "suite": 1, "premier": 2, "cashier": 2, "cashiers": 2,
}

func englishSyllables(word string) int {
	stem, more := contraction(word)
	if n, known := englishWhole[stem]; known {
		return n + more
	}
	n := groups(englishVowels, stem)
	for _, pattern := range englishSilent {
		n -= one(pattern.MatchString(stem))
	}
	for _, pattern := range englishApart {
		n += groups(pattern, stem)
	}
	return max(1, n) + more
}

var (
	hissing   = regexp.MustCompile(`(s|x|z|ch|sh|ce|se|ze|ge)$`)
	heardNot  = regexp.MustCompile(`(d|s|t|ve)$`)
	consonant = regexp.MustCompile(`[^aeiouy]$`)
)

// contraction takes "n't", "'s" and their like off a word and tells how many syllables
// they add to it: one in "didn't", "nurse's" and "it'll", none in "don't".
func contraction(word string) (stem string, syllables int) {
	if stem, is := strings.CutSuffix(word, "n't"); is {
		return stem, one(heardNot.MatchString(stem))
	}
	stem, ending, _ := strings.Cut(word, "'")
	switch ending {
	case "s":
		return stem, one(hissing.MatchString(stem))
	case "ll", "ve":
		return stem, one(consonant.MatchString(stem))
	}
	return stem, 0
}
