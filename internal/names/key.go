package names

import (
	"math/bits"
	"strings"
	"unicode"
)

// Key is a name with its number, made ready to be compared. It never changes.
type Key struct {
	folded string
	dense  string // the same without blanks
	words  []word
	number string   // folded, without blanks
	parts  []string // the words of the number
}

// word is a folded word with the set of its letters, many to a bit.
type word struct {
	letters []rune
	set     uint64
	at      int // where it begins in the dense text
}

// KeyOf makes the key of a name and of the number that goes with it.
func KeyOf(name, number string) Key {
	folded, parts := Fold(name), strings.Fields(Fold(number))
	return Key{folded, strings.ReplaceAll(folded, " ", ""), made(folded), strings.Join(parts, ""), parts}
}

// Folded is the name as Fold writes it, by which names sort.
func (k Key) Folded() string { return k.folded }

func made(folded string) []word {
	var list []word
	at := 0
	for _, text := range strings.Fields(folded) {
		if len(list) == mostWords {
			break
		}
		w := word{letters: []rune(text), at: at}
		for _, c := range w.letters {
			w.set |= 1 << (c % bitsOfSet)
		}
		at += len(text)
		list = append(list, w)
	}
	return list
}

const bitsOfSet = 64

// lacks counts letters of a word that another does not have: each costs a slip. It may
// count too few, never too many.
func (w word) lacks(other word) int { return bits.OnesCount64(w.set &^ other.set) }

// hasDigit reports whether the word holds a digit: a slip in a number is another number.
func (w word) hasDigit() bool {
	for _, c := range w.letters {
		if unicode.IsDigit(c) {
			return true
		}
	}
	return false
}

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

// forgiven is how many slips the typed word may have.
func (w word) forgiven() int {
	switch {
	case w.hasDigit() || len(w.letters) < leastForOne:
		return 0
	case len(w.letters) < leastForTwo:
		return 1
	}
	return mostSlips
}
