package sheet_test

import (
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"graftclock/internal/sheet"
)

func TestTextColumnsAlignByWhatATerminalShows(t *testing.T) {
	for _, test := range []struct {
		name, cell string
		cells      int // of the terminal
	}{
		{"plain", "Nora", 4},
		{"accents of one character", "Zoë", 3},
		{"accents of two characters", "Zoe\u0308", 3},
		{"Han and kana", "山田はな", 8},
		{"half-width kana", "ﾊﾅ", 2},
		{"Hangul syllables", "한글", 4},
		{"Hangul in letters", "\u1112\u1161\u11ab", 2},
		{"full-width letters", "ＡＢ", 4},
		{"Devanagari with vowel signs above", "\u0939\u0947", 1},
		{"Hebrew with points", "נֹרָה", 3},
		{"an emoji", "ok 👍", 5},
		{"zero-width characters", "No\u200bra\u200d", 4},
	} {
		text := written(t, sheetOf("Calls", []string{test.cell, "|"}, []string{"0123456789", "|"}).WriteText)
		line := strings.Split(text, "\n")[4]
		want := test.cell + strings.Repeat(" ", 10-test.cells+2) + "|"
		if line != want {
			t.Errorf("%s: got %q, want %q", test.name, line, want)
		}
	}
}

func TestOneRowIsOneLineOfText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := nastySheet(t)
		var out strings.Builder
		if err := s.WriteText(&out); err != nil {
			t.Fatal(err)
		}
		const around = 4 // list, blank, section, heads
		if got := strings.Count(out.String(), "\n"); got != around+len(s.Sections[0].Rows) {
			t.Fatalf("%d lines for %d rows:\n%s", got, len(s.Sections[0].Rows), out.String())
		}
		if strings.ContainsAny(out.String(), "\r\t\x00\x1b\u202e\u2066\u200e\u2028\u2029\u0085") {
			t.Fatalf("a control character is left in %q", out.String())
		}
	})
}

func TestJSONKeepsEveryCellAndHasOneRowALine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := nastySheet(t)
		var out strings.Builder
		if err := s.WriteJSON(&out); err != nil {
			t.Fatal(err)
		}
		var got struct {
			List, On string
			Rows     []map[string]string
		}
		if err := json.Unmarshal([]byte(out.String()), &got); err != nil {
			t.Fatal(err)
		}
		if got.List != s.Title || got.On != "" || len(got.Rows) != len(s.Sections[0].Rows) {
			t.Fatalf("got %+v", got)
		}
		for i, row := range s.Sections[0].Rows {
			if r := got.Rows[i]; len(r) != 3 || r["section"] != s.Sections[0].Name || r["patient"] != row[0] || r["note"] != row[1] {
				t.Fatalf("row %d: got %q, want %q", i, r, row)
			}
		}
		if lines := strings.Split(out.String(), "\n"); len(lines) != len(got.Rows)+3 || !json.Valid([]byte(strings.TrimSuffix(lines[1], ","))) {
			t.Fatalf("not one row a line:\n%s", out.String())
		}
	})
}

func TestAnEmptyListIsStillWhole(t *testing.T) {
	s := sheet.Sheet{Title: "Late", Columns: []sheet.Column{{Key: "patient", Head: "Patient"}}, Sections: []sheet.Section{{Name: "Late", Empty: "Nothing is late."}}}
	if got, want := written(t, s.WriteText), "Late\n\nLate\nNothing is late.\n"; got != want {
		t.Errorf("text: %q, want %q", got, want)
	}
	if got, want := written(t, s.WriteJSON), `{"list":"Late","clinic":"","on":"","caution":"","rows":[]}`+"\n"; got != want {
		t.Errorf("JSON: %q, want %q", got, want)
	}
	if page := written(t, s.WriteHTML); !strings.Contains(page, "<p>Nothing is late.</p>") || strings.Contains(page, "<table") {
		t.Errorf("page: %s", page)
	}
}
