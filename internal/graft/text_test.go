package graft_test

import (
	"testing"

	"graftclock/internal/graft"
)

func TestOneLine(t *testing.T) {
	for _, test := range []struct{ name, text, want string }{
		{"plain text stays", "Nora Fenwick", "Nora Fenwick"},
		{"accents and other scripts stay", "Zoë 山田 נורה e\u0301", "Zoë 山田 נורה e\u0301"},
		{"line breaks and tabs become one space", " Nora\r\n\t Fenwick\n", "Nora Fenwick"},
		{"line and paragraph separators are line breaks", "Nora\u2028Fenwick\u2029\u0085x", "Nora Fenwick x"},
		{"an escape sequence loses its escape", "\x1b[31mNora\x07", "[31mNora"},
		{"turned text is turned back", "Nora \u202ekciwneF\u202c \u2066a\u2069\u200f\u061c", "Nora kciwneF a"},
		{"broken bytes are shown as such", "Nora\xff\xfe", "Nora\uFFFD"},
		{"nothing but blanks is nothing", " \u00a0\n", ""},
	} {
		if got := graft.OneLine(test.text); got != test.want {
			t.Errorf("%s: got %q, want %q", test.name, got, test.want)
		}
		if once := graft.OneLine(test.text); graft.OneLine(once) != once {
			t.Errorf("%s: a second time changes %q", test.name, once)
		}
	}
}
