package names

import (
	"math/bits"
	"strings"
	"unicode"
)

// Key is a name with its number, made ready to be compared. It never changes.
type Key struct {
	folded  string
	letters []rune // of all its words, one after the other
	words   []word
	number  string // folded
}

// word is a word of a text: where its letters begin and end, and their set, many letters
// to a bit.
type word struct {
	from, to int
	set      uint64
}

// KeyOf makes the key of a name and of the number that goes with it.
func KeyOf(name, number string) Key {
	k := Key{folded: Fold(name), number: Fold(number)}
	k.letters, k.words = parted(k.folded)
	return k
}

// Folded is the name as Fold writes it, by which names sort.
func (k Key) Folded() string { return k.folded }

const bitsOfSet = 64

// parted splits a folded text into words.
func parted(folded string) (letters []rune, words []word) {
	for _, text := range strings.Fields(folded) {
		if len(words) == mostWords {
			break
		}
		w := word{from: len(letters)}
		for _, c := range text {
			letters = append(letters, c)
			w.set |= 1 << (c % bitsOfSet)
		}
		w.to = len(letters)
		words = append(words, w)
	}
	return letters[:len(letters):len(letters)], words[:len(words):len(words)]
}

// of returns the letters of a word.
func (w word) of(letters []rune) []rune { return letters[w.from:w.to] }

// lacks counts letters of a word that another does not have: each costs a slip. It may
// count too few, never too many.
func (w word) lacks(other word) int { return bits.OnesCount64(w.set &^ other.set) }

// How many slips are forgiven: none in the first letters, one in a short word, two in a
// longer one. Two letters with a slip, or four that only begin a word, would fit half of
// all names.
const (
	leastForOne   = 3
	leastForTwo   = 6
	leastToBegin  = 5 // to begin a word with a slip
	mostSlips     = 2
	leastOfNumber = 2 // characters that are looked for inside a number
)

// forgiven is how many slips a typed word may have: none where it holds a digit, for a
// slip in a number is another number.
func forgiven(typed []rune) int {
	switch {
	case hasDigit(typed) || len(typed) < leastForOne:
		return 0
	case len(typed) < leastForTwo:
		return 1
	}
	return mostSlips
}

func hasDigit(text []rune) bool {
	for _, c := range text {
		if unicode.IsDigit(c) {
			return true
		}
	}
	return false
}
