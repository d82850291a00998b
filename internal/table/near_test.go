package table

import "testing"

func TestEdits(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0},
		{"", "graft", 5},
		{"graft", "", 5},
		{"graft", "graft", 0},
		{"graf", "graft", 1},      // left out
		{"grafft", "graft", 1},    // one too many
		{"grift", "graft", 1},     // replaced
		{"gratf", "graft", 1},     // neighbours swapped
		{"rgatf", "graft", 2},     // twice
		{"abc", "cba", 2},         // swaps count for neighbours only
		{"lateral", "literal", 1}, // replaced
		{"none", "nonesuch", 4},
	} {
		if got := edits(c.a, c.b); got != c.want {
			t.Errorf("edits(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
		if got := edits(c.b, c.a); got != c.want {
			t.Errorf("edits(%q, %q) = %d, want %d: it must not depend on the order", c.b, c.a, got, c.want)
		}
	}
}

func TestDidYouMean(t *testing.T) {
	materials := []string{"autogenous", "allograft", "xenograft", "alloplast", "mixture with autogenous", "none"}
	for _, c := range []struct {
		text       string
		candidates []string
		want       string
	}{
		{"alograft", materials, "did you mean allograft?"},
		{"Allograft", materials, "did you mean allograft?"},
		{"zenograft", materials, "did you mean xenograft?"},
		{"mixture", materials, "did you mean mixture with autogenous?"}, // the beginning of a long word
		{"mixture-with_autogenous", materials, "did you mean mixture with autogenous?"},
		{"bovine", materials, ""},
		{"", materials, ""},
		{"x", materials, ""},
		{"no", materials, ""},
		{"lidd", []string{"lid"}, "did you mean lid?"},
		{"width", []string{"widths", "window"}, "did you mean widths?"},
		{"teeth", []string{"tooth"}, "did you mean tooth?"},
		{"ab", []string{"ba"}, "did you mean ba?"},
		{"abc", nil, ""},
		{"aab", []string{"aaa", "bab"}, "did you mean aaa?"}, // the first of equals
		{"aab", []string{"xyz", "aab."}, "did you mean aab.?"},
	} {
		if got := DidYouMean(c.text, c.candidates); got != c.want {
			t.Errorf("DidYouMean(%q, %q) = %q, want %q", c.text, c.candidates, got, c.want)
		}
	}
}
