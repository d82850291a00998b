package reading

import (
	"regexp"
	"strings"
)

// French syllables as they are spoken at a word's end and written inside it: a final e,
// es and the ent of a verb are mute where the word has another vowel ("porte" has one
// syllable), an e inside is counted ("médecin" has three). An i, u or ou before a vowel
// glides into it ("pied", "nuit", "oui"), except after a consonant with l or r
// ("client" has two). É before a vowel and letters with a diaeresis stand alone.

// frenchNucleus is what makes one syllable, the longest spellings first.
var frenchNucleus = anyOf(
	`[iuo]?eau`, `oeu`, `œu`, `ieu`, `aie`, `oie`, `uie`, `oui`, `eui`,
	`ou[aeéèêî]`, `i(?:eu|ou|oi|ai|au)`, `u(?:eu|ei|oi|ai)`, `[iu][aàâeéèêoôœ]`,
	`[uo]i`, `[uo]î`, `[uoae]y`, `[ae]i`, `[ae]î`, `au`, `eu`, `eû`, `ou`, `oû`, `où`, `œi`, `oe`, `oê`, `ae`,
	`[aàâäeéèêëiîïoôöuùûüyœæ]`,
)

var (
	frenchQ        = regexp.MustCompile(`qu`)                                    // u is silent
	frenchG        = regexp.MustCompile(`gu([eéèêëiîyï])|ge([aàâoôu])`)          // u or e is silent
	frenchCluster  = regexp.MustCompile(`([bcdfgptv][lr])(i|u|ou)([aàâeéèêoô])`) // "cli-ent"
	frenchClusterI = regexp.MustCompile(`([bcdfgptv][lr]ou)(i(?:[^l]|$))`)       // "é-blou-ir"
	frenchY        = regexp.MustCompile(`(^|[aeiouéè])y([aeiouéèêàâ])`)          // a consonant: "vo-yage"
	frenchInner    = regexp.MustCompile(`([iuéy]|ou|oi|ai)ement(s?)$`)           // "paie-ment"
	frenchMute     = regexp.MustCompile(`es?$|ent$`)                             // "porte", "parlent"
	frenchAient    = regexp.MustCompile(`aient$`)                                // "avaient"
	frenchVerbMent = regexp.MustCompile(`^(dor|fer|for|infor|affir|confir|cal|ai|esti|consom|nom|ar|fil|fu|expri|suppri)ment$`)
)

// frenchHeardEnt are words whose ending ent is heard: those in ment that are no verbs,
// and nouns, adjectives and adverbs that look like verbs.
var frenchHeardEnt = anyOf(
	`ment$`, `^dent$`, `cident$`, `vident$`, `résident$`, `président$`, `prudent$`, `^cent$`, `décent$`, `récent$`,
	`innocent$`, `accent$`, `^vent$`, `souvent$`, `couvent$`, `^avent$`, `^lent$`, `talent$`, `violent$`, `excellent$`,
	`valent$`, `insolent$`, `argent$`, `urgent$`, `^agent$`, `indulgent$`, `intelligent$`, `patient$`, `client$`, `orient$`,
	`ingrédient$`, `inconvénient$`, `récipient$`, `quotient$`, `efficient$`, `conscient$`, `présent$`, `absent$`, `content$`,
	`^parent$`, `différent$`, `torrent$`, `adhérent$`, `cohérent$`, `apparent$`, `transparent$`, `fréquent$`, `serpent$`,
	`permanent$`, `continent$`, `éminent$`, `pertinent$`, `^(re|con|res)?sent$`,
)

// frenchWhole are words of which the patterns are wrong.
var frenchWhole = map[string]int{
	"pays": 2, "paysage": 3, "paysan": 3, "abbaye": 3, "août": 1, "paon": 1, "faon": 1, "saoul": 1, "alcool": 2, "zoom": 1,
	"oignon": 2, "oignons": 2, "hier": 1,
}

func frenchSyllables(word string) int {
	if n, known := frenchWhole[withoutElision(word)]; known {
		return n
	}
	heard := frenchQ.ReplaceAllString(word, "q")
	heard = frenchG.ReplaceAllString(heard, "g$1$2")
	heard = strings.ReplaceAll(frenchWithoutMute(heard, withoutElision(word)), "'", "")
	heard = frenchCluster.ReplaceAllString(heard, "$1$2|$3")
	heard = frenchClusterI.ReplaceAllString(heard, "$1|$2")
	heard = frenchY.ReplaceAllString(heard, "${1}j$2")
	return max(1, groups(frenchNucleus, heard))
}

// frenchWithoutMute takes away the vowels of the ending that are not heard. The printed
// word tells which they are.
func frenchWithoutMute(heard, printed string) string {
	switch {
	case frenchInner.MatchString(heard):
		return frenchInner.ReplaceAllString(heard, "${1}mant$2")
	case frenchAient.MatchString(heard):
		return strings.TrimSuffix(heard, "ent")
	case frenchHeardEnt.MatchString(printed) && !frenchVerbMent.MatchString(printed):
		return heard
	}
	return frenchMute.ReplaceAllString(heard, "")
}
