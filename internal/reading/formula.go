package reading

import "math"

// formula works out one number from counts with at least one word and sentence.
type formula struct {
	name, source string
	value        func(Counts) float64
	sentences    int    // the fewest it is made for; 0: any
	bands        []band // ascending; the last has no end
}

// band is a part of a formula's scale.
type band struct {
	below float64 // its end, not included
	says  string
	easy  bool
}

// figures works out all formulas of the language that the text is long enough for.
func (l *language) figures(c Counts) Figures {
	f := Figures{Counts: c}
	for _, formula := range l.formulas {
		if c.Sentences >= formula.sentences {
			f.Results = append(f.Results, formula.result(c))
		}
	}
	return f
}

func (f formula) result(c Counts) Result {
	r := Result{Name: f.name, Source: f.source, Value: f.value(c)}
	for _, b := range f.bands {
		if r.Value < b.below {
			r.Band, r.Easy = b.says, b.easy
			break
		}
	}
	return r
}

// SentenceLength is the mean number of words of a sentence; NaN without sentences.
func (c Counts) SentenceLength() float64 { return float64(c.Words) / float64(c.Sentences) }

// WordLength is the mean number of syllables of a word; NaN without words.
func (c Counts) WordLength() float64 { return float64(c.Syllables) / float64(c.Words) }

// percent is a share of the words, 0 to 100.
func (c Counts) percent(words int) float64 { return 100 * float64(words) / float64(c.Words) }

var noEnd = math.Inf(1) // the end of a scale's last band

// upTo is the end of a band to which the limit itself belongs.
func upTo(limit float64) float64 { return math.Nextafter(limit, noEnd) }

// fleschBands were read on three German pages and one American one that print the same
// ends; the two calibrations for German and French keep them.
var fleschBands = []band{
	{30, "very hard", false},
	{50, "hard", false},
	{60, "fairly hard", false},
	{70, "plain", false},
	{80, "fairly easy", true},
	{90, "easy", true},
	{noEnd, "very easy", true},
}

// fernandezHuertaBands: read at legible.es, which prints 90 and more as very easy, 60
// to 70 as normal and less than 30 as very hard; the ends between are Flesch's.
var fernandezHuertaBands = []band{
	{30, "very hard", false},
	{50, "hard", false},
	{60, "fairly hard", false},
	{70, "normal", false},
	{80, "fairly easy", true},
	{90, "easy", true},
	{noEnd, "very easy", true},
}

// infleszBands: read at legible.es.
var infleszBands = []band{
	{40, "very hard", false},
	{55, "rather hard", false},
	{65, "normal", false},
	{80, "fairly easy", true},
	{noEnd, "very easy", true},
}

// gradeBands put a US school grade into words; the formulas print the grade alone.
// Grade 6 is what notices to patients aim at (Am Fam Physician 2015;92:118-124: grade 5
// to 6 or below), 6 to 8 the wider range (PMC6334864); the rest is this house's wording.
var gradeBands = []band{
	{upTo(6), "easy: grade 6 or less", true},
	{upTo(8), "plain: grade 6 to 8", false},
	{upTo(12), "hard: grade 8 to 12", false},
	{noEnd, "very hard: beyond school", false},
}

// schoolYearBands put a German school year into words, in this house's wording; the
// scale runs from 4 to 15.
var schoolYearBands = []band{
	{upTo(6), "easy: school year 6 or less", true},
	{upTo(8), "plain: school year 6 to 8", false},
	{upTo(12), "hard: school year 8 to 12", false},
	{noEnd, "very hard: beyond school", false},
}

// pisarekBands: read in the source of an open Polish readability checker, whose bands
// begin at 7.1, 10.1, 13.1 and 16.1: with the next tenth after 7, 10, 13 and 16.
var pisarekBands = []band{
	{upTo(7), "very easy", true},
	{upTo(10), "easy", true},
	{upTo(13), "medium", false},
	{upTo(16), "hard", false},
	{noEnd, "very hard", false},
}

// fogBands: years of schooling; read there and in an encyclopedia's table, which print
// the same whole numbers: 1 to 6 very simple, 7 to 9 simple, 10 to 12 fairly simple.
var fogBands = []band{
	{7, "very easy", true},
	{10, "easy", true},
	{13, "fairly easy", true},
	{16, "fairly hard", false},
	{18, "hard", false},
	{noEnd, "very hard", false},
}

// lixBands: read on four pages. Trap: other pages print ends that are 10 higher or
// lower.
var lixBands = []band{
	{30, "very easy", true},
	{40, "easy", true},
	{50, "medium", false},
	{60, "hard", false},
	{noEnd, "very hard", false},
}
