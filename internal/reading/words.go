package reading

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// word is one counted word.
type word struct {
	text      string // small letters, a straight apostrophe
	syllables int    // at least 1
	letters   int    // 0 for a figure
}

// chunk is what stands between two spaces: a word with its marks.
type chunk struct {
	core string // without the marks before and after it; empty if there is nothing else
	tail string // the marks after it, or all of them
	skip bool   // part of a telephone number, an address or a degree sign: no word
}

// sentences are the words of a unit, sentence by sentence. None is empty.
func (l *language) sentences(unit string) [][]word {
	chunks := chunksOf(unit)
	leavePhonesOut(chunks)
	var all [][]word
	var sentence []word
	for i, c := range chunks {
		if w, is := l.word(c); is {
			sentence = append(sentence, w)
		}
		if len(sentence) > 0 && (i == len(chunks)-1 || l.ends(chunks, i)) {
			all = append(all, sentence)
			sentence = nil
		}
	}
	return all
}

var (
	address   = regexp.MustCompile(`@|://|^www\.`)
	slash     = regexp.MustCompile(`(\D)/|/(\D)`)
	apostroph = strings.NewReplacer("’", "'", "ʼ", "'", "‘", "'")
)

func chunksOf(unit string) []chunk {
	var all []chunk
	for _, piece := range strings.FieldsFunc(visible(unit), unicode.IsSpace) {
		if address.MatchString(piece) {
			all = append(all, trimmed(piece, true))
			continue
		}
		piece = slash.ReplaceAllString(piece, "$1 $2")
		for _, part := range strings.Fields(piece) {
			all = append(all, trimmed(part, strings.ContainsRune(part, '°') && !strings.ContainsFunc(part, unicode.IsDigit)))
		}
	}
	return all
}

// visible is the text with plain apostrophes, a space for each dash and after each
// ellipsis, and without soft hyphens, joiners and combining marks.
func visible(text string) string {
	var out strings.Builder
	for _, r := range apostroph.Replace(text) {
		switch {
		case r == '–' || r == '—' || r == '―':
			out.WriteRune(' ')
		case r == '…':
			out.WriteString("... ")
		case r == '‑' || r == '‐' || r == '−':
			out.WriteRune('-')
		case !unicode.In(r, unicode.Mn, unicode.Cf) && r != utf8.RuneError:
			out.WriteRune(r)
		}
	}
	return out.String()
}

func trimmed(part string, skip bool) chunk {
	start := strings.IndexFunc(part, countable)
	if start < 0 {
		return chunk{tail: part, skip: skip}
	}
	end := strings.LastIndexFunc(part, countable)
	_, size := utf8.DecodeRuneInString(part[end:])
	if start > 0 && part[start-1] == '+' {
		start--
	}
	return chunk{core: part[start : end+size], tail: part[end+size:], skip: skip}
}

func countable(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }

var (
	phoneStart = regexp.MustCompile(`^\+\d|^0\d`)
	phonePart  = regexp.MustCompile(`^\+?\d[\d()/.\-]*$`)
)

// phoneDigits is the fewest digits of a telephone number. Fewer, such as 05 30, are
// figures.
const phoneDigits = 7

// leavePhonesOut marks each run of figures that starts with + or 0 as skipped, if it
// is long enough to be a telephone number. "112" stays a figure.
func leavePhonesOut(chunks []chunk) {
	for i := range chunks {
		if !phoneStart.MatchString(chunks[i].core) {
			continue
		}
		end, digits := i, 0
		for end < len(chunks) && phonePart.MatchString(chunks[end].core) {
			digits += digitsIn(chunks[end].core)
			end++
			if strings.ContainsAny(chunks[end-1].tail, ".,;:!?") {
				break
			}
		}
		if digits >= phoneDigits {
			for j := i; j < end; j++ {
				chunks[j].skip = true
			}
		}
	}
}

func digitsIn(text string) int {
	n := 0
	for _, r := range text {
		n += one(unicode.IsDigit(r))
	}
	return n
}

// word counts a chunk, unless it holds no word.
func (l *language) word(c chunk) (word, bool) {
	if c.skip || c.core == "" {
		return word{}, false
	}
	w := word{text: strings.ToLower(c.core)}
	figure := false
	for _, part := range strings.Split(w.text, "-") {
		switch {
		case strings.ContainsFunc(part, unicode.IsDigit):
			figure = true
		case strings.ContainsFunc(part, unicode.IsLetter):
			w.syllables += l.partSyllables(part, c.tail)
			w.letters += lettersIn(part)
		}
	}
	w.syllables += one(figure)
	return w, true
}

func (l *language) partSyllables(part, tail string) int {
	if strings.HasPrefix(tail, ".") && l.abbreviated(part) {
		return 1
	}
	return max(1, l.syllables(strings.ReplaceAll(part, ".", "")))
}

func lettersIn(text string) int {
	n := 0
	for _, r := range text {
		n += one(unicode.IsLetter(r))
	}
	return n
}

var initials = regexp.MustCompile(`^(\pL\.)*\pL$`)

// abbreviated reports whether the full stop after a word, in small letters, may be
// that of an abbreviation or an initial.
func (l *language) abbreviated(core string) bool {
	return l.abbreviations[core] || initials.MatchString(core)
}

var figure = regexp.MustCompile(`^\d+$`)

// ends reports whether a sentence ends with chunk i. It is asked for chunks that
// others follow in their unit.
func (l *language) ends(chunks []chunk, i int) bool {
	c := chunks[i]
	if strings.ContainsAny(c.tail, "!?") {
		return true
	}
	if !strings.Contains(c.tail, ".") {
		return false
	}
	next := chunks[i+1].core
	if first, _ := utf8.DecodeRuneInString(next); unicode.IsLower(first) {
		return false
	}
	core := strings.ToLower(c.core)
	if figure.MatchString(core) && !c.skip {
		return i > 0 && !l.ordinals.shown(chunks[i-1].core, next)
	}
	return !l.abbreviated(core)
}

// shown reports whether a figure with a full stop between two words is an ordinal.
func (o ordinals) shown(before, after string) bool {
	return o.before[strings.ToLower(before)] || o.after[strings.ToLower(after)]
}
