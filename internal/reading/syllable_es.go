package reading

// Spanish syllables, by the rules of its spelling: a, e and o are strong; i, u and y
// are weak unless an accent is on them. Two strong vowels are two syllables, and so are
// a strong one and an accented weak one ("día"); every other group of vowels is one
// ("viaje", "ciudad", "uruguayo" without its consonant y). An h between vowels
// separates nothing ("prohibir" has two syllables, "ahí" two for its accent). U is
// silent in que, qui, gue and gui.

func spanishSyllables(word string) int {
	nuclei, last := 0, rune(0) // last: the vowel just before, or 0
	letters := []rune(word)
	for i, r := range letters {
		switch {
		case r == 'h' && last != 0:
			// keeps the vowel before it in reach
		case !spanishVowel(letters, i):
			last = 0
		default:
			if last == 0 || apart(last, r) {
				nuclei++
			}
			last = r
		}
	}
	return nuclei
}

// spanishVowel reports whether the letter is heard as a vowel. Y is one alone, at the
// end and before a consonant.
func spanishVowel(letters []rune, i int) bool {
	switch letters[i] {
	case 'a', 'e', 'i', 'o', 'á', 'é', 'í', 'ó', 'ú', 'ü':
		return true
	case 'u':
		silent := i > 0 && letters[i-1] == 'q' || i > 0 && letters[i-1] == 'g' && i+1 < len(letters) && in(letters[i+1], "eiéí")
		return !silent
	case 'y':
		return i+1 == len(letters) || !in(letters[i+1], "aeiouáéíóú")
	}
	return false
}

// apart reports whether two vowels that touch belong to two syllables.
func apart(a, b rune) bool {
	const strong, accentedWeak = "aeoáéó", "íú"
	switch {
	case in(a, strong) && in(b, strong):
		return true
	case in(a, accentedWeak):
		return in(b, strong)
	case in(b, accentedWeak):
		return in(a, strong)
	}
	return a == b // "chiita"
}
