package reading

import "math"

// The constants of each formula below were read at the place its source names.

// smogSentences is the length of text SMOG was made for.
const smogSentences = 30

var lix = formula{
	name:   "LIX",
	source: "LIX, the Swedish readability index for any language; read on four pages",
	value:  func(c Counts) float64 { return c.SentenceLength() + c.percent(c.LongWords) },
	bands:  lixBands,
}

var englishFormulas = []formula{
	{
		name:   "Flesch-Kincaid grade",
		source: "US Department of Veterans Affairs, HSR&D archive; read",
		value:  func(c Counts) float64 { return 0.39*c.SentenceLength() + 11.8*c.WordLength() - 15.59 },
		bands:  gradeBands,
	},
	{
		name:   "Flesch Reading Ease",
		source: "J Appl Psychol 1948;32:221-233, A new readability yardstick; constants read in the US Department of Veterans Affairs, HSR&D archive",
		value:  func(c Counts) float64 { return 206.835 - 1.015*c.SentenceLength() - 84.6*c.WordLength() },
		bands:  fleschBands,
	},
	{
		// The exact formula. Its hand rule gives 0.1 to 0.6 less, and both give more than
		// Flesch-Kincaid: the two scales are never mixed.
		name:      "SMOG",
		source:    "J Reading 1969;12:639-646, SMOG grading: a new readability formula; constants read in three program sources",
		sentences: smogSentences,
		value: func(c Counts) float64 {
			return 1.0430*math.Sqrt(float64(c.ThreeSyllables)*smogSentences/float64(c.Sentences)) + 3.1291
		},
		bands: gradeBands,
	},
	lix,
}

var spanishFormulas = []formula{
	{
		name:   "INFLESZ",
		source: "An Sist Sanit Navar 2008;31:135-152; constants (Szigriszt) and scale read at legible.es",
		value:  func(c Counts) float64 { return 206.835 - 62.3*c.WordLength() - c.SentenceLength() },
		bands:  infleszBands,
	},
	{
		// Trap: many pages print the second term upside down, as sentences for 100 words.
		name:   "Fernández-Huerta",
		source: "legible.es, which corrects the misprint of other pages; read",
		value:  func(c Counts) float64 { return 206.84 - 60*c.WordLength() - 1.02*c.SentenceLength() },
		bands:  fernandezHuertaBands,
	},
	lix,
}

var germanFormulas = []formula{
	{
		name:   "Amstad",
		source: "Flesch's formula with constants for German, 1978; constants and scale read on three pages",
		value:  func(c Counts) float64 { return 180 - c.SentenceLength() - 58.5*c.WordLength() },
		bands:  fleschBands,
	},
	wiener("Wiener 1", func(three, length, long, single float64) float64 {
		return 0.1935*three + 0.1672*length + 0.1297*long - 0.0327*single - 0.875
	}),
	wiener("Wiener 2", func(three, length, long, _ float64) float64 {
		return 0.2007*three + 0.1682*length + 0.1373*long - 2.779
	}),
	wiener("Wiener 3", func(three, length, _, _ float64) float64 {
		return 0.2963*three + 0.1905*length - 1.1144
	}),
	wiener("Wiener 4", func(three, length, _, _ float64) float64 {
		return 0.2744*three + 0.2656*length - 1.693
	}),
	lix,
}

// wiener is one of the four Wiener Sachtextformeln: the German school year for which a
// text is fit. Its terms: percent of words of three syllables or more, words of a
// sentence, percent of words of more than six letters, percent of words of one
// syllable.
func wiener(name string, value func(three, length, long, single float64) float64) formula {
	return formula{
		name:   name,
		source: "Wiener Sachtextformeln; constants read on two pages",
		value: func(c Counts) float64 {
			return value(c.percent(c.ThreeSyllables), c.SentenceLength(), c.percent(c.LongWords), c.percent(c.OneSyllable))
		},
		bands: schoolYearBands,
	}
}

var frenchFormulas = []formula{
	{
		// Trap: one French page prints "% of concrete words" where the words of a sentence
		// belong.
		name:   "Kandel-Moles",
		source: "Flesch's formula with constants for French; constants read in the source of a language library",
		value:  func(c Counts) float64 { return 207 - 1.015*c.SentenceLength() - 73.6*c.WordLength() },
		bands:  fleschBands,
	},
	lix,
}

var polishFormulas = []formula{
	{
		name: "Pisarek",
		source: "Pisarek's formula of 1969 in its linear form, tested in Cognitive Studies 2015, " +
			"Empirical Verification of the Polish Formula of Text Difficulty (abstract read); constants and scale read in the source of an open Polish readability checker",
		value: func(c Counts) float64 { return c.SentenceLength()/3 + c.percent(c.FourSyllables)/3 + 1 },
		bands: pisarekBands,
	},
	{
		name:   "FOG, Polish",
		source: "Gunning's index with words of four syllables or more for Polish; formula read in the manual of jasnopis.pl, scale read in two places",
		value:  func(c Counts) float64 { return 0.4 * (c.SentenceLength() + c.percent(c.FourSyllables)) },
		bands:  fogBands,
	},
	lix,
}
