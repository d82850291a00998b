package table_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"go.yaml.in/yaml/v3"
	"pgregory.net/rapid"

	"graftclock/internal/table"
)

// crate is a shape with maps in lists and lists in maps.
var crate = table.Map("",
	table.Must("name", table.Text("")),
	table.May("day", table.Formal("", &table.Grammar{Name: "a day", Pattern: `[0-9-]{10}`})),
	table.May("open", table.Bool("")),
	table.May("kg", table.Either("", table.Number("", "kg", -5, 5), table.Word("", "none"), table.Map("", table.Must("net", table.Number("", "", 0, 9))))),
	table.May("lb", table.Either("", table.Word("", "none"), table.Number("", "lb", 0, 9))),
	table.May("marks", table.List("", 0, table.Text(""))),
	table.Must("needed", table.List("", 0, table.Text(""))),
	table.May("parts", table.List("", 1, table.Map("",
		table.Must("a", table.Number("", "", 0, 99)), table.May("b", table.Text("")), table.May("c", table.Text("")), table.May("d", table.Text("")),
		table.May("e", table.Text("")), table.May("f", table.Text("")), table.May("rows", table.List("", 0, table.Number("", "", 0, 9)))))),
)

func TestWriteHasOneFormForEachValue(t *testing.T) {
	for _, c := range []struct {
		name  string
		value any
		want  string
	}{
		{"keys in the shape's order, the unknown last and sorted", map[string]any{"zz": "1", "aa": "x", "day": "2027-01-14", "name": "Nora"}, "name: Nora\nday: 2027-01-14\naa: x\nzz: \"1\"\n"},
		{"optional list of none left out, the needed one kept", map[string]any{"name": "x", "marks": []any{}, "needed": []any{}}, "name: x\nneeded: []\n"},
		{"a list that must not be empty stays, to be refused", map[string]any{"parts": []any{}}, "parts: []\n"},
		{"list of scalars on one line", map[string]any{"marks": []any{"a b", "12", "x,y"}}, "marks: [a b, \"12\", \"x,y\"]\n"},
		{"numbers in their shortest digits", map[string]any{"parts": []any{map[string]any{"a": "+17.50"}, map[string]any{"a": "-0.0"}, map[string]any{"a": 4.0}}}, "parts:\n  - {a: 17.5}\n  - {a: 0}\n  - {a: 4}\n"},
		{"no number stays as it is, to be refused", map[string]any{"parts": []any{map[string]any{"a": "0x10"}, map[string]any{"a": "4 mm"}, map[string]any{"a": "4,5"}}}, "parts:\n  - {a: 0x10}\n  - {a: 4 mm}\n  - {a: \"4,5\"}\n"},
		{"five scalars on one line, six below each other", map[string]any{"parts": []any{
			map[string]any{"e": "5", "d": "4", "c": "3", "b": "2", "a": "1"},
			map[string]any{"f": "6", "e": "5", "d": "4", "c": "3", "b": "2", "a": "1"}}},
			"parts:\n  - {a: 1, b: \"2\", c: \"3\", d: \"4\", e: \"5\"}\n  - a: 1\n    b: \"2\"\n    c: \"3\"\n    d: \"4\"\n    e: \"5\"\n    f: \"6\"\n"},
		{"a list below a list's entry", map[string]any{"parts": []any{map[string]any{"rows": []any{"1", "2.0"}, "a": 1}}}, "parts:\n  - a: 1\n    rows: [1, 2]\n"},
		{"either: number", map[string]any{"kg": "-1.0"}, "kg: -1\n"},
		{"either: number after a word", map[string]any{"lb": "1.0"}, "lb: 1\n"},
		{"either: word", map[string]any{"kg": "none"}, "kg: none\n"},
		{"either: map", map[string]any{"kg": map[string]any{"net": "2.0"}}, "kg:\n  net: 2\n"},
		{"truth", map[string]any{"open": "TRUE", "name": "true"}, "name: \"true\"\nopen: true\n"},
		{"nothing", map[string]any{"name": nil, "day": ""}, "name: null\nday: null\n"},
		{"no map", nil, "null\n"},
		{"empty map", map[string]any{}, "{}\n"},
		{"map of nothing but an empty list", map[string]any{"marks": []any{}}, "{}\n"},
		{"list", []any{"a", map[string]any{"b": "c"}}, "- a\n- {b: c}\n"},
		{"bytes that are no text stay, to be refused", map[string]any{"name": "x\xff"}, "name: x\xff\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := string(crate.Write(c.value))
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			sameFaults(t, c.value, got)
		})
	}
	const line = "{name: Nora, marks: [a], parts: [{a: 4, rows: [1]}]}"
	if got := crate.Line(map[string]any{"parts": []any{map[string]any{"rows": []any{1}, "a": "4.0"}}, "marks": []any{"a"}, "name": "Nora"}); got != line {
		t.Errorf("on one line: %s, want %s", got, line)
	}
}

// sameFaults holds the written text to the faults of the value itself.
func sameFaults(t *testing.T, value any, text string) {
	t.Helper()
	places := func(faults table.Faults) []string {
		var list []string
		for _, f := range faults {
			list = append(list, f.Path+": "+f.Found)
		}
		slices.Sort(list)
		return list
	}
	if !strings.Contains(text, "\xff") {
		want, got := table.ReadValue("f", value, crate).Faults(), table.Read("f", []byte(text), crate).Faults()
		if diff := cmp.Diff(places(want), places(got)); diff != "" {
			t.Errorf("faults (-of the value +of the text):\n%s", diff)
		}
	}
}

// hardTexts are texts that a careless writer turns into something else.
var hardTexts = []string{
	"007", "0012", "2027-01-14", "yes", "No", "on", "y", "true", "False", "null", "Null", "~", "12", "1e3", "0x1F", "1_000", ".5", ".inf", "1:30", "12:30:45",
	"- x", "-", "--- x", "...", "? a", ": b", "a: b", "a #b", "#b", "a:", "{a: b}", "[a]", "a, b", "*a", "&a", "!!int 4", "%YAML", "@x", "`x`", "|", ">", "'", `"`, `\`, `\n`,
	"O'Brien", `Jo "Jo" Ash`, "a\nb", "a\r\nb", "a\tb", " a", "a ", "a  b", "a\u00a0b", "a\u2028b", "a\u0085b", "a\ufeffb", "\ufeff", "a\u202eb", "a\x00b", "a\x7f", "\x1b[1m",
	"梅 🦷", "👩‍⚕️", "Šimůnková", "e\u0301", "\u0301", "=", "<<", "a\\", "𝔄", "\U000e0001", "\ufffd", "!", "é: è", "", "  ", "A?", "A?b", "a ?b",
}

// TestWrittenTextReadsBackAsItself writes hard texts as value, list item and key.
func TestWrittenTextReadsBackAsItself(t *testing.T) {
	check := func(t rapid.TB, text string) {
		value := map[string]any{"name": text, "needed": []any{text, "x"}, "parts": []any{map[string]any{"a": "1", "b": text}}}
		written := crate.Write(value)
		var got struct {
			Name   any
			Needed []any
			Parts  []map[string]any
		}
		if err := yaml.Unmarshal(written, &got); err != nil {
			t.Fatalf("%q: %v in\n%s", text, err, written)
		}
		var want any = text
		if text == "" {
			want = nil // a form's empty field
		}
		if diff := cmp.Diff([]any{want, want, "x", want}, []any{got.Name, got.Needed[0], got.Needed[1], got.Parts[0]["b"]}); diff != "" {
			t.Errorf("%q (-want +read):\n%s\n%s", text, diff, written)
		}
		if again := table.Read("f", written, crate).Get("name").Text(); strings.TrimSpace(text) != "" && again != "" && again != text {
			t.Errorf("%q reads back as %q", text, again)
		}
	}
	for _, text := range hardTexts {
		check(t, text)
	}
	rapid.Check(t, func(rt *rapid.T) {
		check(rt, rapid.OneOf(rapid.String(), rapid.StringMatching(`[-0-9a-fxoyn.:, #'"\\_+T?~!&*{}\[\]|>%@]{1,12}`)).Draw(rt, "text"))
	})
}

// TestWriteQuotesOnlyWhatNeedsIt keeps the text readable for a person.
func TestWriteQuotesOnlyWhatNeedsIt(t *testing.T) {
	for _, text := range []string{"Nora Fenwick", "Dr Alba Quill", "Ada O'Brien-Šimůnková", "HR-2041", "right bridge", "3 months", "head and neck radiotherapy", "not yet", "2027-07-05..2027-07-16", "en-IE", "梅 🦷", "A & B (2nd)"} {
		if got := crate.Line(text); got != text {
			t.Errorf("%s is written %s", text, got)
		}
	}
	for text, want := range map[string]string{"007": `"007"`, "2027-01-14": `"2027-01-14"`, "no": `"no"`, "a\nb": `"a\nb"`} {
		if got := table.Text("").Line(text); got != want {
			t.Errorf("%q is written %s, want %s", text, got, want)
		}
	}
}
