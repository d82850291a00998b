package password

import (
	"strings"
	"testing"
)

// TestFaults holds new passwords to OWASP ASVS 4.0.3, V2.1.
func TestFaults(t *testing.T) {
	for _, c := range []struct{ item, password, says string }{
		{"V2.1.1", "", "0 characters"},
		{"V2.1.1", "elevenchars", "11 characters"},
		{"V2.1.1", "twelve chars", ""},
		{"V2.1.1", "a      b    c   ", "6 characters"},
		{"V2.1.1", "            ", "1 characters"},
		{"V2.1.1", "🦷🦴🪥😀🌧x🌳🐟🏠🚲🧵🪁", ""},
		{"V2.1.2", strings.Repeat("long words ", 6), ""},                   // 66
		{"V2.1.2", strings.Repeat("long words ", 12)[:Most-1] + "中", ""},   // 128
		{"V2.1.2", strings.Repeat("long words ", 12)[:Most] + "中", "more"}, // 129
		{"V2.1.2", strings.Repeat(" ", Most) + "twelve chars", "more"},
		{"V2.1.4", "пароль из слов", ""},
		{"V2.1.4", "合言葉は長い方が安全であるよ", ""},
		{"V2.1.4", "tab\tand\x01control", ""},
		{"V2.1.7", "passwordpassword", "tried first"},
		{"V2.1.7", "Password2027!", "tried first"},
		{"V2.1.7", "P A S S W O R D 1 2 3", "tried first"},
		{"V2.1.7", "123456789012", "tried first"},
		{"V2.1.7", "210987654321", "tried first"},
		{"V2.1.7", "aaaaaaaaaaaa", "tried first"},
		{"V2.1.7", "abcdefghijkl", "tried first"},
		{"V2.1.7", "qwerty123456", "tried first"},
		{"V2.1.7", "letmein-letmein-99", "tried first"},
		{"V2.1.7", "1q2w3e4r5t6y", "tried first"},
		{"V2.1.7", "graftclock1234", "tried first"},
		{"V2.1.7", "welcome to surgery two", ""},
		{"V2.1.7", "password of the blue heron", ""},
		{"V2.1.7", "829104637715", ""},
		{"V2.1.7", "123907856412", ""},
		{"V2.1.9", "lower case letters", ""},
		{"V2.1.9", "7 4 1 9 0 3 8 2 6 4", ""},
		{"own name", "Ida Marlow 1!", "own name"},
		{"own name", "ida.marlow.2027", "own name"},
		{"own name", "Ida Marlow likes herons", ""},
	} {
		says := Faults(c.password, "Ida Marlow")
		if (says == "") != (c.says == "") || !strings.Contains(says, c.says) {
			t.Errorf("%s: %q: %q; want %q", c.item, c.password, says, c.says)
		}
		if len(c.password) >= Least && strings.Contains(says, c.password) {
			t.Errorf("%q is repeated: %s", c.password, says)
		}
	}
	if says := Faults("nobody's words here", ""); says != "" {
		t.Errorf("without a name: %s", says)
	}
	if says := Faults("829104637715", "007"); says != "" {
		t.Errorf("a name without letters: %s", says)
	}
}
