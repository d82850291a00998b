package names

import (
	"slices"
	"strings"
)

// Query is what somebody typed, made ready to be compared with many keys. It keeps
// scratch, so it serves one caller at a time.
type Query struct {
	letters []rune
	words   []typed
	dense   string // without blanks
	counts  bool   // a digit is in it, so numbers are looked at

	trial trial
	costs []int // of each typed word against each word of a key
}

// typed is one word of a query.
type typed struct {
	word
	letters  []rune
	text     string // the same
	count    bool   // it holds a digit
	forgiven int
}

// NewQuery reads what somebody typed; of a long text the first 80 letters and 8 words.
func NewQuery(text string) *Query {
	letters, words := parted(Fold(text))
	q := &Query{letters: letters, dense: string(letters), counts: hasDigit(letters)}
	for _, w := range words {
		of := w.of(letters)
		q.words = append(q.words, typed{w, of, string(of), hasDigit(of), forgiven(of)})
	}
	return q
}

// Empty reports whether nothing was typed that could be looked for.
func (q *Query) Empty() bool { return len(q.words) == 0 }

// The cost of a word: whole, the beginning of one, or with so many slips; and of one
// that stands inside a number.
const (
	whole     = 0
	beginning = 1
	perSlip   = 2
	inside    = 2
	never     = 1 << 20
)

// Fit says how well a name or its number fits: 0 is as typed, more is worse. Every
// word that was typed must fit another word of the name, or the number.
func (q *Query) Fit(k Key) (cost int, fits bool) {
	cost = min(q.fitsNumber(k), q.runsOn(k))
	if q.price(k) {
		cost = min(cost, q.pair(0, 0, k))
	}
	return cost, cost < never && !q.Empty()
}

// fitsNumber compares all that was typed with the number, whatever stands between the
// digits.
func (q *Query) fitsNumber(k Key) int {
	if !q.counts {
		return never
	}
	number := strings.ReplaceAll(k.number, " ", "")
	switch at := strings.Index(number, q.dense); {
	case at < 0:
		return never
	case q.dense == number:
		return whole
	case at == 0:
		return beginning
	case len(q.dense) >= leastOfNumber:
		return inside
	}
	return never
}

// runsOn finds a name whose words were typed as one, or one that was typed as several:
// "obrien" and "o brien", "vanderberg".
func (q *Query) runsOn(k Key) int {
	if len(q.letters) < leastForOne || len(q.words) < 2 && len(k.words) < 2 {
		return never
	}
	for _, w := range k.words {
		if begins(k.letters[w.from:], q.letters) {
			return beginning
		}
	}
	return never
}

// begins reports whether letters begin with others.
func begins(letters, with []rune) bool {
	return len(letters) >= len(with) && slices.Equal(letters[:len(with)], with)
}

// price works out what each typed word costs against each of the name, and reports
// whether every one can be had at all.
func (q *Query) price(k Key) bool {
	q.costs = q.costs[:0]
	for _, t := range q.words {
		least := q.numbered(t, k)
		for _, w := range k.words {
			cost := q.cost(t, w, w.of(k.letters))
			least = min(least, cost)
			q.costs = append(q.costs, cost)
		}
		if least == never {
			return false
		}
	}
	return true
}

// cost compares a typed word with one of a name.
func (q *Query) cost(t typed, w word, letters []rune) int {
	switch {
	case t.lacks(w) > t.forgiven:
		return never
	case slices.Equal(letters, t.letters):
		return whole
	case begins(letters, t.letters):
		return beginning
	case t.forgiven == 0:
		return never
	}
	slips, begun := q.trial.compare(t.letters, letters)
	cost := never
	if slips <= t.forgiven {
		cost = perSlip * slips
	}
	if len(t.letters) >= leastToBegin && begun <= t.forgiven {
		cost = min(cost, perSlip*begun+beginning)
	}
	return cost
}

// numbered compares a typed word with the words of the number.
func (q *Query) numbered(t typed, k Key) int {
	if !q.counts {
		return never
	}
	cost := never
	for part := range strings.FieldsSeq(k.number) {
		switch {
		case part == t.text:
			return whole
		case t.count && strings.HasPrefix(part, t.text):
			cost = min(cost, beginning)
		case t.count && len(t.text) >= leastOfNumber && strings.Contains(part, t.text):
			cost = min(cost, inside)
		}
	}
	return cost
}

// pair returns the least cost of giving the typed words from one on a word of the name
// each, or the number; used has a bit for each word that is given.
func (q *Query) pair(n int, used uint, k Key) int {
	if n == len(q.words) {
		return 0
	}
	best := never
	if number := q.numbered(q.words[n], k); number < never {
		best = number + q.pair(n+1, used, k)
	}
	for m := range k.words {
		if cost := q.costs[n*len(k.words)+m]; cost < best && used&(1<<m) == 0 {
			best = min(best, cost+q.pair(n+1, used|1<<m, k))
		}
	}
	return min(best, never)
}
