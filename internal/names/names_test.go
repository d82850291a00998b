package names_test

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"graftclock/internal/names"
)

// TestFold writes names of the languages that letters come in, and some of their
// neighbours, as they are typed without accents.
func TestFold(t *testing.T) {
	for text, want := range map[string]string{
		"Nora Fenwick":             "nora fenwick",
		"  Ida   MARLOW ":          "ida marlow",
		"Íñigo Núñez-Gómez":        "inigo nunez gomez", // Spanish
		"Begoña Ibáñez Ü":          "begona ibanez u",
		"Jürgen Groß":              "jurgen gross", // German
		"JÜRGEN GROẞ":              "jurgen gross",
		"Änne Öhlmühl":             "anne ohlmuhl",
		"Zoë d'Œuvrard-Lefèvre":    "zoe doeuvrard lefevre", // French
		"Françoise Çelanÿ":         "francoise celany",
		"Łucja Żółć":               "lucja zolc", // Polish
		"Śćibor Ąndrzejęwski Źdźb": "scibor andrzejewski zdzb",
		"Søren Kjærgård":           "soren kjaergard",
		"Ðórunn Þorláksdóttir":     "dorunn thorlaksdottir",
		"İbrahim Işık":             "ibrahim isik",
		"Đorđe Ħal Ŋorok":          "dorde hal norok",
		"O'Brien":                  "obrien",
		"O’Brien Jr.":              "obrien jr",
		"de la Cruz, Ana":          "de la cruz ana",
		"HR-2041/B":                "hr 2041 b",
		"Nina\u0301":               "nina",
		"ﬁnn Ⅳ":                    "finn iv",
		"Ｎｏｒａ":                     "nora",
		"Όλγα Ιωάννου":             "ολγα ιωαννου",
		"Мила Петрова":             "мила петрова",
		"So\u00adren Mc\u200bKay":  "soren mckay",
		"a\x00b\x1b\nc":            "a b c",
		"":                         "",
		" -- ":                     "",
		"\xff\xfe":                 "",
	} {
		if got := names.Fold(text); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
}

// TestFoldOfAnythingIsShortPlainAndItsOwn folds hostile texts.
func TestFoldOfAnythingIsShortPlainAndItsOwn(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringOfN(rapid.SampledFrom([]rune("aZé ß\u0301\u0489\u200d\u202e\x00ﷺŁİ1-'")), 0, 400, -1)).Draw(rt, "text")
		got := names.Fold(text)
		if !utf8.ValidString(got) || len([]rune(got)) > 400 || strings.Contains(got, "  ") || got != strings.TrimSpace(got) {
			rt.Fatalf("%q: got %q", text, got)
		}
		if again := names.Fold(got); again != got && len([]rune(got)) < 80 {
			rt.Fatalf("%q: %q, and of that %q", text, got, again)
		}
	})
	for name, text := range map[string]string{
		"long":            strings.Repeat("x", 1<<20),
		"marks alone":     strings.Repeat("\u0301", 1<<20),
		"a letter's tail": "a" + strings.Repeat("\u0489", 1<<20) + "b",
		"one that grows":  strings.Repeat("ﷺ", 1<<18),
		"cut in a letter": strings.Repeat("x", 1279) + "é",
	} {
		if got := names.Fold(text); len([]rune(got)) > 80+18 || !utf8.ValidString(got) {
			t.Errorf("%s: %d letters", name, len([]rune(got)))
		}
	}
}

// fits returns the names that a query finds, best first.
func fits(typed string, all ...string) []string {
	type found struct {
		name string
		cost int
	}
	var list []found
	q := names.NewQuery(typed)
	for _, name := range all {
		name, number, _ := strings.Cut(name, "|")
		if cost, ok := q.Fit(names.KeyOf(name, number)); ok {
			list = append(list, found{name, cost})
		}
	}
	slices.SortStableFunc(list, func(a, b found) int { return a.cost - b.cost })
	var sorted []string
	for _, f := range list {
		sorted = append(sorted, f.name)
	}
	return sorted
}

var house = []string{
	"Nora Fenwick|HR-2041", "Orla Whitcombe|HR-2051", "Íñigo Núñez|HR-2061", "Jürgen Groß|HR-2071", "Łucja Żółć|HR-2081", "Zoë d'Œuvrard|HR-2091", "Siobhan O'Brien|HR-2101",
	"Pieter van der Berg|HR-2111", "Anna Anders|HR-2121", "Anders Nora|HR-2204", "Li Wu|HR-4120", "Møller Æbeltoft|K2041",
}

func TestWhatFindsWhom(t *testing.T) {
	for typed, want := range map[string][]string{
		"fenwick":                    {"Nora Fenwick"},
		"FENWICK nora":               {"Nora Fenwick"},
		"fen":                        {"Nora Fenwick"},
		"nora":                       {"Nora Fenwick", "Anders Nora"},
		"fenwikc":                    {"Nora Fenwick"}, // neighbours changed places
		"fnwick":                     {"Nora Fenwick"}, // left out
		"fennwick":                   {"Nora Fenwick"}, // put in
		"femwick":                    {"Nora Fenwick"}, // changed
		"femwikc":                    {"Nora Fenwick"}, // two in a long word
		"femwika":                    nil,              // three
		"ronaa fenwick":              nil,              // two in a short one
		"noar fenwick":               {"Nora Fenwick"},
		"whitcmo":                    {"Orla Whitcombe"}, // a slip while typing
		"whit":                       {"Orla Whitcombe"},
		"nunez":                      {"Íñigo Núñez"},
		"NÚÑEZ, íñigo":               {"Íñigo Núñez"},
		"gross":                      {"Jürgen Groß"},
		"groß":                       {"Jürgen Groß"},
		"juergen":                    {"Jürgen Groß"}, // ue for ü is a slip
		"zolc":                       {"Łucja Żółć"},
		"lucja zolc":                 {"Łucja Żółć"},
		"oeuvrard":                   {"Zoë d'Œuvrard"},
		"obrien":                     {"Siobhan O'Brien"},
		"o brien":                    {"Siobhan O'Brien"},
		"o'brien siobhan":            {"Siobhan O'Brien"},
		"vanderberg":                 {"Pieter van der Berg"},
		"berg van der":               {"Pieter van der Berg"},
		"an anna":                    {"Anna Anders"}, // each word has its own
		"anna anna":                  nil,
		"wu":                         {"Li Wu"},
		"wo":                         nil, // no slip in two letters
		"moller":                     {"Møller Æbeltoft"},
		"aebel":                      {"Møller Æbeltoft"},
		"HR-2041":                    {"Nora Fenwick"},
		"hr2041":                     {"Nora Fenwick"},
		"2041":                       {"Nora Fenwick", "Møller Æbeltoft"},
		"204":                        {"Nora Fenwick", "Anders Nora", "Møller Æbeltoft"},
		"2042":                       nil, // a slip in a number is another number
		"41":                         {"Li Wu", "Nora Fenwick", "Møller Æbeltoft"},
		"fenwick 2041":               {"Nora Fenwick"},
		"2041 hr fenwick":            {"Nora Fenwick"},
		"fenwick 2051":               nil,
		"":                           nil,
		"-- ":                        nil,
		"\u0301\u0301":               nil,
		"fen\u200bwick":              {"Nora Fenwick"},
		"no\x00ra":                   {"Nora Fenwick", "Anders Nora"},
		"x":                          nil,
		strings.Repeat("n", 1<<16):   nil,
		strings.Repeat("a ", 1<<12):  nil,
		strings.Repeat("1 ", 1<<12):  nil,
		strings.Repeat("an ", 4):     nil,
		"hr 2041 nora fenwick of it": nil,
	} {
		if got := fits(typed, house...); !slices.Equal(got, want) {
			t.Errorf("%.40q: found %q, want %q", typed, got, want)
		}
	}
}

// TestTheNearerStandsFirst ranks: as typed, then beginnings, then by slips.
func TestTheNearerStandsFirst(t *testing.T) {
	got := fits("marlow", "Ida Mralowe", "Ida Marlowe", "Ida Marlov", "Ida Marlow", "Ida Marlowson", "Ida Marolv", "Ida Carter")
	want := []string{"Ida Marlow", "Ida Marlowe", "Ida Marlowson", "Ida Marlov", "Ida Mralowe", "Ida Marolv"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestAnyNameIsFoundByWhatIsTypedOfIt types drawn names: whole, in another order, in
// capitals, their beginnings, and with one slip.
func TestAnyNameIsFoundByWhatIsTypedOfIt(t *testing.T) {
	letters := rapid.SampledFrom([]rune("abcdefghijklmnopqrstuvwxyzáñüßłøæżœç"))
	word := rapid.StringOfN(letters, 3, 12, -1)
	rapid.Check(t, func(rt *rapid.T) {
		first, last := word.Draw(rt, "first"), word.Draw(rt, "last")
		key := names.KeyOf(first+" "+last, "HR-1")
		for what, typed := range map[string]string{
			"whole": first + " " + last, "turned round": last + ", " + first, "in capitals": strings.ToUpper(last), "as one": first + last,
			"its beginning": string([]rune(last)[:rapid.IntRange(1, len([]rune(last))).Draw(rt, "cut")]), "with a slip": slip(rt, names.Fold(last)),
		} {
			if _, ok := names.NewQuery(typed).Fit(key); !ok {
				rt.Errorf("%s %s is not found by %q, %s", first, last, typed, what)
			}
		}
	})
}

// slip makes one slip in a word of three letters or more, and leaves it as long.
func slip(rt *rapid.T, folded string) string {
	w := []rune(folded)
	n := rapid.IntRange(0, len(w)-2).Draw(rt, "at")
	switch rapid.IntRange(0, 2).Draw(rt, "slip") {
	case 0:
		w[n], w[n+1] = w[n+1], w[n]
	case 1:
		w[n] = 'q'
	default:
		w = slices.Insert(w, n, 'q')
	}
	return string(w)
}
