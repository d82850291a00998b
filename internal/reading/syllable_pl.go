package reading

import "strings"

// Polish syllables: every vowel letter is one, except an i that only softens the
// consonant before a vowel ("nie" has one syllable, "biologia" three). Au and eu are one
// syllable in words from Greek and Latin ("auto", "neurolog"), two where a Polish prefix
// or ending meets a u ("nauka", "muzeum"). The English word mail is one syllable.

func polishSyllables(word string) int {
	n := 0
	letters := []rune(word)
	for i, r := range letters {
		if !in(r, "aąeęioóuy") {
			continue
		}
		softens := r == 'i' && i > 0 && i+1 < len(letters) && in(letters[i+1], "aąeęioóu") && !polishCluster(letters[:i])
		if !softens {
			n++
		}
	}
	return n - strings.Count(word, "au") - strings.Count(word, "eu") - strings.Count(word, "mail") + polishHiatus(word)
}

// polishCluster reports whether the letters end with a consonant and l or r after it,
// where an i keeps its own syllable ("kli-ent", "tri-umf").
func polishCluster(before []rune) bool {
	n := len(before)
	return n > 1 && in(before[n-1], "lr") && in(before[n-2], "bcdfghkptw")
}

// polishHiatus counts the au and eu of two syllables.
func polishHiatus(word string) int {
	n := 0
	for _, prefix := range []string{"nau", "zau", "nienau", "niezau", "nieu", "przeu", "poprzeu", "wyzau"} {
		n += one(strings.HasPrefix(word, prefix))
	}
	for _, stem := range []string{"nauk", "naucz", "nauc"} {
		n += one(strings.Contains(word, stem) && !strings.HasPrefix(word, "nau") && !strings.HasPrefix(word, "nienau"))
	}
	for _, ending := range []string{"eum", "eus"} {
		n += one(strings.HasSuffix(word, ending))
	}
	return n
}
