package sheet_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os/exec"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"graftclock/internal/reference"
	"graftclock/internal/sheet"
)

// sheetOf is a list of two columns under one section, with nothing to clean but
// the given rows.
func sheetOf(section string, rows ...[]string) sheet.Sheet {
	return sheet.Sheet{
		Title: "Calls", Columns: []sheet.Column{{Key: "patient", Head: "Patient"}, {Key: "note", Head: "Note"}},
		Sections: []sheet.Section{{Name: section, Rows: rows, Empty: "None."}},
	}
}

// readCSV returns the records of a list's CSV below its header.
func readCSV(t testing.TB, s sheet.Sheet) [][]string {
	t.Helper()
	reader := csv.NewReader(strings.NewReader(written(t, s.WriteCSV)))
	records, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return records[1:]
}

func csvCell(t testing.TB, cell string) string {
	t.Helper()
	return readCSV(t, sheetOf("Calls", []string{cell, "end"}))[0][1]
}

var (
	signs  = strings.Split("= + - @ ＝ ＋ － ＠ ﹦ ﹢ ﹣ ﹫ ⁼ ⁺ ⁻ ₌ ₊ ₋ − ⩵ ⩶ ﬩", " ")
	hiding = []string{"", " ", "  ", "\u00a0", "\u3000", "\t", "\r", "\n", "\r\n", "\x00", "\x01", "\x1b", "\u0085", "\u2028",
		"\ufeff", "\u200b", "\u200e", "\u202e", "\u2066", "\u00ad", "\ufe0f", "\u3164", "\u034f", `"`, ` "`}
)

func TestNoCellBeginsAFormula(t *testing.T) {
	for _, sign := range signs {
		for _, before := range hiding {
			cell := before + sign + `HYPERLINK("x","y")`
			if got := csvCell(t, cell); !strings.HasPrefix(got, "'") {
				t.Errorf("%q came back as %q", cell, got)
			}
		}
	}
	for _, start := range []string{"\t", "\r", "\n", "\x00", " \t", "\u200b\r"} {
		if got := csvCell(t, start+"Nora"); !strings.HasPrefix(got, "'") {
			t.Errorf("%q came back as %q", start+"Nora", got)
		}
	}
	if got := readCSV(t, sheetOf("=1+1", []string{"a", "b"}))[0][0]; got != "'=1+1" {
		t.Errorf("section came back as %q", got)
	}
}

func TestGuardedCells(t *testing.T) {
	for _, test := range []struct{ name, cell, want string }{
		{"a telephone number becomes text", "+353 1 555 0100", "'+353 1 555 0100"},
		{"a number below zero becomes text", "-7", "'-7"},
		{"a dash becomes text", "-", "'-"},
		{"a name stays", "Nora Fenwick", "Nora Fenwick"},
		{"nothing stays nothing", "", ""},
		{"a sign inside stays", "10:00-10:20, 1+1=2, a@b", "10:00-10:20, 1+1=2, a@b"},
		{"an apostrophe is not doubled", "'=1", "'=1"},
		{"quotes and commas stay", `Zoë "Zo" O'Dell, jr`, `Zoë "Zo" O'Dell, jr`},
		{"leading spaces stay", "  Nora", "  Nora"},
		{"a line break stays one", "Nora\r\nFenwick\rjr", "Nora\nFenwick\njr"},
		{"behind a semicolon, where another reader begins a cell", `x;=1+1`, `x;'=1+1`},
		{"behind a semicolon and a quote", `x; "=1+1"`, `x;' "=1+1"`},
		{"behind a tab", "x\t@SUM(1)", "x\t'@SUM(1)"},
		{"behind a line break", "x\n\n-1", "x\n\n'-1"},
		{"broken bytes are shown as such", "x\xff", "x\uFFFD"},
	} {
		got := csvCell(t, test.cell)
		if got != test.want {
			t.Errorf("%s: got %q, want %q", test.name, got, test.want)
		}
		if again := csvCell(t, got); again != got {
			t.Errorf("%s: a second time gives %q", test.name, again)
		}
	}
}

// nasty draws cells of what breaks tables.
func nasty() *rapid.Generator[string] {
	piece := rapid.SampledFrom(append([]string{",", ";", "'", "x", "Nora", "\r\n", "é", "山", "\\.", "\u2029"}, append(signs, hiding...)...))
	return rapid.Custom(func(t *rapid.T) string { return strings.Join(rapid.SliceOfN(piece, 0, 8).Draw(t, "pieces"), "") })
}

// bare is a cell without what the CSV form may add or change.
func bare(cell string) string {
	return strings.NewReplacer("'", "", "\r\n", "\n", "\r", "\n", "\x00", "\uFFFD").Replace(cell)
}

func nastySheet(t *rapid.T) sheet.Sheet {
	var rows [][]string
	for range rapid.IntRange(1, 4).Draw(t, "rows") {
		rows = append(rows, []string{nasty().Draw(t, "patient"), nasty().Draw(t, "note")})
	}
	return sheetOf(nasty().Draw(t, "section"), rows...)
}

func TestCSVComesBackAsTheSameRows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := nastySheet(t)
		var out bytes.Buffer
		if err := s.WriteCSV(&out); err != nil {
			t.Fatal(err)
		}
		got, err := csv.NewReader(&out).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		want := [][]string{{"section", "patient", "note"}}
		for _, row := range s.Sections[0].Rows {
			want = append(want, []string{s.Sections[0].Name, row[0], row[1]})
		}
		for _, table := range [][][]string{got, want} {
			for _, row := range table {
				for i := range row {
					row[i] = bare(row[i])
				}
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("(-want +got):\n%s", diff)
		}
	})
}

// TestNoReaderSeesAFormula reads the file as programs do that separate by
// something else, quotes or no quotes.
func TestNoReaderSeesAFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var out bytes.Buffer
		if err := nastySheet(t).WriteCSV(&out); err != nil {
			t.Fatal(err)
		}
		for _, separator := range ",;\t" {
			reader := csv.NewReader(bytes.NewReader(out.Bytes()))
			reader.Comma, reader.LazyQuotes, reader.FieldsPerRecord = separator, true, -1
			records, err := reader.ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			for _, record := range records {
				for _, cell := range record {
					if startsLikeFormula(cell) {
						t.Fatalf("separated by %q: %q", separator, cell)
					}
				}
			}
		}
		for _, cell := range strings.FieldsFunc(out.String(), func(r rune) bool { return strings.ContainsRune(";\t\r\n", r) }) {
			if startsLikeFormula(cell) {
				t.Fatalf("without quotes: %q", cell)
			}
		}
	})
}

func startsLikeFormula(cell string) bool {
	cell = strings.TrimLeftFunc(cell, func(r rune) bool { return unicode.IsSpace(r) || r == '"' || r == '\ufeff' })
	return cell != "" && strings.ContainsRune("=+-@＝＋－＠", []rune(cell)[0])
}

func TestCSVEndsItsLinesAsRFC4180Says(t *testing.T) {
	got := written(t, sheetOf("Visits", []string{"Nora\nFenwick", `6" nail, long`}).WriteCSV)
	want := "section,patient,note\r\nVisits,\"Nora\r\nFenwick\",\"6\"\" nail, long\"\r\n"
	if got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := written(t, sheetOf("Visits").WriteCSV); got != "section,patient,note\r\n" {
		t.Errorf("no rows: %q", got)
	}
}

func TestPythonReadsTheSameRows(t *testing.T) {
	python := reference.Python(t, "csv", "json")
	s := today()
	for _, sign := range signs {
		for _, before := range hiding {
			row := make([]string, len(s.Columns))
			row[1] = before + sign + `1+1,"x";` + before + sign
			s.Sections[0].Rows = append(s.Sections[0].Rows, row)
		}
	}
	command := exec.Command(python, "-c", `import csv, io, json, sys
rows = list(csv.reader(io.TextIOWrapper(sys.stdin.buffer, encoding="utf-8", newline=""), strict=True))
json.dump(rows, sys.stdout)`)
	command.Stdin = strings.NewReader(written(t, s.WriteCSV))
	out, err := command.Output()
	if err != nil {
		t.Fatal(err)
	}
	var got, want [][]string
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	for _, section := range s.Sections {
		for _, row := range section.Rows {
			want = append(want, append([]string{section.Name}, row...))
		}
	}
	for _, table := range [][][]string{got[1:], want} {
		for _, row := range table {
			for i := range row {
				row[i] = bare(row[i])
			}
		}
	}
	if diff := cmp.Diff(want, got[1:]); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// TestEveryFormOfASignIsKnown asks Unicode's own decompositions for characters
// that stand for a dangerous sign.
func TestEveryFormOfASignIsKnown(t *testing.T) {
	python := reference.Python(t, "unicodedata")
	out, err := exec.Command(python, "-X", "utf8", "-c", `import unicodedata
for c in list(range(0xD800)) + list(range(0xE000, 0x110000)):
    if unicodedata.normalize("NFKC", chr(c))[:1] in tuple("=+-@\u2212"):
        print(chr(c))`).Output()
	if err != nil {
		t.Fatal(err)
	}
	forms := strings.Fields(string(out))
	if len(forms) < len(signs) {
		t.Fatalf("%d forms only: %q", len(forms), forms)
	}
	for _, form := range forms {
		if got := csvCell(t, form+"1"); got != "'"+form+"1" {
			t.Errorf("%q (U+%04X) came back as %q", form, []rune(form)[0], got)
		}
	}
}
