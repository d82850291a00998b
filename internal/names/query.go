package names

import (
	"slices"
	"strings"
)

// Query is what somebody typed, made ready to be compared with many keys. It keeps
// scratch, so it serves one caller at a time.
type Query struct {
	words   []word
	text    []string // the same words
	dense   string   // without blanks
	counts  bool     // a digit is in it, so numbers are looked at
	trial   trial
	costs   []int // of each typed word against each word of a key
	ofThose int   // words of that key
}

// NewQuery reads what somebody typed; of a long text the first 80 letters and 8 words.
func NewQuery(typed string) *Query {
	q := &Query{words: made(Fold(typed))}
	for _, w := range q.words {
		q.text = append(q.text, string(w.letters))
		q.counts = q.counts || w.hasDigit()
	}
	q.dense = strings.Join(q.text, "")
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
	switch at := strings.Index(k.number, q.dense); {
	case at < 0:
		return never
	case q.dense == k.number:
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
	if len(q.dense) < leastForOne || len(q.words) < 2 && len(k.words) < 2 {
		return never
	}
	for _, w := range k.words {
		if strings.HasPrefix(k.dense[w.at:], q.dense) {
			return beginning
		}
	}
	return never
}

// price works out what each typed word costs against each of the name, and reports
// whether every one can be had at all.
func (q *Query) price(k Key) bool {
	q.costs, q.ofThose = q.costs[:0], len(k.words)
	for n, w := range q.words {
		least := q.numbered(n, k)
		for _, of := range k.words {
			cost := q.cost(w, of)
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
func (q *Query) cost(typed, of word) int {
	forgiven := typed.forgiven()
	if typed.lacks(of) > forgiven {
		return never
	}
	if len(of.letters) >= len(typed.letters) && slices.Equal(of.letters[:len(typed.letters)], typed.letters) {
		if len(of.letters) == len(typed.letters) {
			return whole
		}
		return beginning
	}
	if forgiven == 0 {
		return never
	}
	slips, begun := q.trial.compare(typed.letters, of.letters)
	cost := never
	if slips <= forgiven {
		cost = perSlip * slips
	}
	if len(typed.letters) >= leastToBegin && begun <= forgiven {
		cost = min(cost, perSlip*begun+beginning)
	}
	return cost
}

// numbered compares a typed word with the words of the number.
func (q *Query) numbered(n int, k Key) int {
	if !q.counts {
		return never
	}
	cost := never
	for _, part := range k.parts {
		switch {
		case part == q.text[n]:
			return whole
		case q.words[n].hasDigit() && strings.HasPrefix(part, q.text[n]):
			cost = min(cost, beginning)
		case q.words[n].hasDigit() && len(q.text[n]) >= leastOfNumber && strings.Contains(part, q.text[n]):
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
	if number := q.numbered(n, k); number < never {
		best = number + q.pair(n+1, used, k)
	}
	for m := range q.ofThose {
		if cost := q.costs[n*q.ofThose+m]; cost < best && used&(1<<m) == 0 {
			best = min(best, cost+q.pair(n+1, used|1<<m, k))
		}
	}
	return min(best, never)
}
