package names_test

import (
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/names"
)

// TestDistanceOfPublishedExamples takes examples that others publish for the same
// distance: the tests of the Python library jellyfish (testdata/damerau_levenshtein.csv)
// and of the Rust library strsim, whose documentation says that parts may be edited any
// number of times.
func TestDistanceOfPublishedExamples(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"abc", "", 3}, {"bc", "abc", 1}, {"fuor", "four", 1}, {"abcd", "acb", 2}, {"cape sand recycling ", "edith ann graham", 17}, {"jellyifhs", "jellyfish", 2}, {"ifhs", "fish", 2},
		{"ab", "bca", 2}, {"foobar", "ofobar", 1}, {"specter", "spectre", 1}, {"a cat", "an abct", 3},
	} {
		for _, pair := range [][2]string{{c.a, c.b}, {c.b, c.a}} {
			if got := names.Distance(pair[0], pair[1]); got != c.want {
				t.Errorf("%q to %q: %d slips, want %d", pair[0], pair[1], got, c.want)
			}
		}
	}
}

// reached counts slips by what they are: it makes every slip in every text reached so
// far until the other one comes up. Nothing is gained by a text that is longer than
// either by more than a letter.
func reached(a, b, alphabet string) int {
	longest := max(len(a), len(b)) + 1
	seen, rim := map[string]bool{a: true}, []string{a}
	for slips := 0; ; slips++ {
		var next []string
		for _, text := range rim {
			if text == b {
				return slips
			}
			for _, n := range neighbours(text, alphabet) {
				if !seen[n] && len(n) <= longest {
					seen[n], next = true, append(next, n)
				}
			}
		}
		rim = next
	}
}

// neighbours are the texts that one slip makes of a text.
func neighbours(text, alphabet string) []string {
	var list []string
	for i := range len(text) + 1 {
		for _, c := range alphabet {
			list = append(list, text[:i]+string(c)+text[i:])
			if i < len(text) {
				list = append(list, text[:i]+string(c)+text[i+1:])
			}
		}
		if i < len(text) {
			list = append(list, text[:i]+text[i+1:])
		}
		if i+1 < len(text) {
			list = append(list, text[:i]+text[i+1:i+2]+text[i:i+1]+text[i+2:])
		}
	}
	return list
}

// TestDistanceIsTheFewestSlips compares with brute force over all short texts of three
// letters.
func TestDistanceIsTheFewestSlips(t *testing.T) {
	const alphabet, longest = "abc", 4
	texts := []string{""}
	for n := 0; n < len(texts); n++ {
		for _, c := range alphabet {
			if len(texts[n]) < longest {
				texts = append(texts, texts[n]+string(c))
			}
		}
	}
	tried := 0
	for i, a := range texts {
		for j := i % 7; j < len(texts); j += 7 {
			tried++
			if got, want := names.Distance(a, texts[j]), reached(a, texts[j], alphabet); got != want {
				t.Fatalf("%q to %q: %d slips, want %d", a, texts[j], got, want)
			}
		}
	}
	if tried < 2000 {
		t.Errorf("%d pairs tried", tried)
	}
}

// TestDistanceIsADistance holds it to what makes one: nothing for the same word, the
// same both ways, and no way round is shorter.
func TestDistanceIsADistance(t *testing.T) {
	word := rapid.StringOfN(rapid.SampledFrom([]rune("abcdé")), 0, 9, -1)
	rapid.Check(t, func(rt *rapid.T) {
		a, b, c := word.Draw(rt, "a"), word.Draw(rt, "b"), word.Draw(rt, "c")
		ab, bc, ac := names.Distance(a, b), names.Distance(b, c), names.Distance(a, c)
		if (ab == 0) != (a == b) || ab != names.Distance(b, a) || ac > ab+bc {
			rt.Errorf("%q %q %q: %d, %d and %d", a, b, c, ab, bc, ac)
		}
	})
}
