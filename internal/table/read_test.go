package table_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/table"
)

// shelf is a small shape with every kind of value.
var shelf = table.Map("",
	table.Must("name", table.Text("on the label")),
	table.May("mm", table.Number("how deep", "mm", 0, 20)),
	table.May("wide", table.Number("", "mm", 50, 90)),
	table.May("pieces", table.Whole("", "", 1, 9)),
	table.May("size", table.OneOf("", 14, 15, 24)),
	table.May("torn", table.Bool("")),
	table.May("kind", table.Word("", "one", "two words", "none")),
	table.May("code", table.Formal("", &table.Grammar{Name: "code such as AB-1", Pattern: "[A-Z]{2}-[0-9]"})),
	table.May("list", table.List("", 1, table.Whole("", "", 1, 9))),
	table.May("rows", table.List("", 0, table.Map("", table.Must("a", table.Text("")), table.May("b", table.Bool(""))))),
	table.May("days", table.Keyed("", &table.Grammar{Name: "weekday", Pattern: "mon|tue", Check: weekday}, table.Text(""))),
	table.May("either", table.Either("", table.Number("", "kg", 0, 5), table.Word("", "not yet"), table.Map("", table.Must("kg", table.Number("", "kg", 0, 5))))),
)

func weekday(text string) error {
	if text == "mon" || text == "tue" {
		return nil
	}
	return errors.New(text + " is no weekday")
}

const (
	keys = "name, mm, wide, pieces, size, torn, kind, code, list, rows, days, either"
	deep = "; allowed: a number from 0 to 20 mm"
)

// TestFaultsOfOneFile holds every kind of fault to its words and its place.
func TestFaultsOfOneFile(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		// the file as a whole
		{"empty", "", "1:1: an empty file"},
		{"only a comment", "# nothing yet\n", "1:1: an empty file"},
		{"document of nothing", "---\n", "2:1: no value; allowed: a map of " + keys},
		{"list", "- name", "1:1: a list; allowed: a map of " + keys},
		{"word", "name", `1:1: "name"; allowed: a map of ` + keys},
		{"too large", "name: Nora\n" + strings.Repeat("#", table.MaxBytes), "1:1: 1048587 bytes; allowed: at most 1048576"},
		{"not UTF-8", "name: N\xf6ra", "1:1: bytes that are no UTF-8 text; allowed: UTF-8; save the file as UTF-8"},
		{"UTF-16", "\xff\xfen\x00a\x00", "1:1: bytes that are no UTF-8 text; allowed: UTF-8; save the file as UTF-8"},
		{"second document", "name: Nora\n---\nname: Ada\n", "2:1: a second document after ---; allowed: one document"},
		{"broken second document", "name: Nora\n---\nname: [", "1:1: a second document after ---; allowed: one document"},
		{"after the end of the document", "name: Nora\n...\nmore", "1:1: a second document after ---; allowed: one document"},
		{"20,000 lists deep", "name: " + strings.Repeat("[", 20000), "1:1: no YAML: exceeded max depth of 10000"},
		{"20,000 maps deep", strings.Repeat("{a: ", 20000), "1:1: no YAML: exceeded max depth of 10000"},
		{"deep, yet read", "name: " + strings.Repeat("[", 9000) + strings.Repeat("]", 9000), "1:7: name: a list; allowed: one line of text"},
		{"bracket left open", "name: Nora\nmm: 4\nlist: [1, 2\n", "3:1: no YAML: did not find expected ',' or ']'"},
		{"comma too many", "name: Nora\nlist: [1, , 2]", "2:1: no YAML: did not find expected node content"},
		{"end where a value should be", "name: Nora\nlist: [\n", "2:1: no YAML: did not find expected node content"},
		{"tab as indent", "name: Nora\n\tmm: 4\n", "2:1: no YAML: found a tab character that violates indentation"},
		{"indent out of place", "name: Nora\n  mm: 4", "2:1: no YAML: mapping values are not allowed in this context"},
		{"colon in a bare name", "mm: 4\nname: Nora: Fenwick", "2:1: no YAML: mapping values are not allowed in this context"},
		{"control character as such", "name: a\x01b", "1:1: no YAML: control characters are not allowed"},

		// keys
		{"unknown key", "name: Nora\nnmae: x", "2:1: nmae: unknown key; allowed: " + keys + "; did you mean name?"},
		{"unknown key of another case", "Name: Nora\nname: Nora", "1:1: Name: unknown key; allowed: " + keys + "; did you mean name?"},
		{"number as key", "name: Nora\n1: 2", "2:1: 1: unknown key; allowed: " + keys},
		{"nothing as key", "name: Nora\n~: 2", "2:1: ~: unknown key; allowed: " + keys},
		{"missing key", "mm: 4", "1:1: name: missing; allowed: one line of text"},
		{"missing key of a list item", "name: Nora\nrows:\n  - a: x\n  - b: true", "4:5: rows[1].a: missing; allowed: one line of text"},
		{"key three times", "name: Nora\nname: Ada\nname: Eve", "2:1: name: this key stands on line 1 already; allowed: each key once\n3:1: name: this key stands on line 1 already; allowed: each key once"},
		{"key twice in a flow map", "name: Nora\nrows: [{a: x, a: y}]", "2:15: rows[0].a: this key stands on line 2 already; allowed: each key once"},
		{"key outside its grammar", "name: Nora\ndays: {mon: x, wed: y}", "2:16: days.wed: wed is no weekday"},
		{"merge key", "name: Nora\n<<: {mm: 4}", "2:1: <<: unknown key; allowed: " + keys},
		{"list as key", "name: Nora\n? [mm]\n: 4", "2:3: a key that is no plain word; allowed: " + keys},
		{"alias as key", "name: &mm Nora\n*mm : 4", "1:7: name: a YAML anchor or alias; allowed: the value itself\n2:1: a key that is no plain word; allowed: " + keys},
		{"anchor on a key", "&a name: Nora\nname: Ada", "1:1: a key that is no plain word; allowed: " + keys},
		{"tag on a key", "!!str name: Nora\nname: Ada", "1:1: a key that is no plain word; allowed: " + keys},

		// anchors and tags
		{"anchor", "name: Nora\nmm: &a 4", "2:5: mm: a YAML anchor or alias; allowed: the value itself"},
		{"alias", "name: Nora\nmm: &a 4\nwide: *a", "2:5: mm: a YAML anchor or alias; allowed: the value itself\n3:7: wide: a YAML anchor or alias; allowed: the value itself"},
		{"alias to itself", "name: &a [*a]", "1:7: name: a YAML anchor or alias; allowed: the value itself"},
		{"alias to nothing", "name: *a", "1:1: no YAML: unknown anchor 'a' referenced"},
		{"tagged text", "name: !!str 4", "1:7: name: the YAML tag !!str; allowed: one line of text"},
		{"tagged number", "name: Nora\nmm: !!float \"4\"", "2:5: mm: the YAML tag !!float" + deep},
		{"tagged truth", "name: Nora\ntorn: !!bool no", "2:7: torn: the YAML tag !!bool; allowed: true or false"},
		{"tagged set", "name: Nora\nlist: !!set {1}", "2:7: list: the YAML tag !!set; allowed: a list of a whole number from 1 to 9"},
		{"binary", "name: !!binary TmZyYQ==", "1:7: name: the YAML tag !!binary; allowed: one line of text"},
		{"tag of one's own", "name: !mine Nora", "1:7: name: the YAML tag !mine; allowed: one line of text"},

		// numbers
		{"octal of old", "name: x\nmm: 010", `2:5: mm: "010"` + deep + "; write it in plain decimal digits"},
		{"octal", "name: x\nmm: 0o10", `2:5: mm: "0o10"` + deep + "; write it in plain decimal digits"},
		{"hexadecimal", "name: x\nmm: 0x10", `2:5: mm: "0x10"` + deep + "; write it in plain decimal digits"},
		{"binary digits", "name: x\nmm: 0b11", `2:5: mm: "0b11"` + deep + "; write it in plain decimal digits"},
		{"power of ten", "name: x\nmm: 1e1", `2:5: mm: "1e1"` + deep + "; write it in plain decimal digits"},
		{"underscore", "name: x\nmm: 1_0", `2:5: mm: "1_0"` + deep + "; write it in plain decimal digits"},
		{"infinity", "name: x\nmm: .inf", `2:5: mm: ".inf"` + deep + "; write it in plain decimal digits"},
		{"no number", "name: x\nmm: .nan", `2:5: mm: ".nan"` + deep + "; write it in plain decimal digits"},
		{"point without nought", "name: x\nmm: .5", `2:5: mm: ".5"` + deep + "; write it in plain decimal digits"},
		{"point at the end", "name: x\nmm: 5.", `2:5: mm: "5."` + deep + "; write it in plain decimal digits"},
		{"sexagesimal", "name: x\nmm: 1:30", `2:5: mm: "1:30"` + deep},
		{"quoted", "name: x\nmm: '4'", `2:5: mm: "4"` + deep + "; write it without quotation marks: 4"},
		{"block text", "name: x\nmm: |-\n  4", `2:5: mm: "4"` + deep + "; write it without quotation marks: 4"},
		{"huge", "name: x\nmm: 99999999999999999999999", "2:5: mm: 99999999999999999999999 mm" + deep},
		{"just below", "name: x\nmm: -0.001", "2:5: mm: -0.001 mm" + deep},
		{"just above", "name: x\nmm: 20.001", "2:5: mm: 20.001 mm" + deep + "; did you mean 2.0001? lengths are in millimetres"},
		{"ten times too small", "name: x\nwide: 5.7", "2:7: wide: 5.7 mm; allowed: a number from 50 to 90 mm; did you mean 57? lengths are in millimetres"},
		{"far away", "name: x\nwide: 5000", "2:7: wide: 5000 mm; allowed: a number from 50 to 90 mm"},
		{"metres", "name: x\nwide: 0.057 m", `2:7: wide: "0.057 m"; allowed: a number from 50 to 90 mm; write the number alone, in mm: 57`},
		{"no unit known", "name: x\nwide: 57 ells", `2:7: wide: "57 ells"; allowed: a number from 50 to 90 mm; write the number alone, without a unit`},
		{"length where no length belongs", "name: x\npieces: 4 mm", `2:9: pieces: "4 mm"; allowed: a whole number from 1 to 9; write the number alone, without a unit`},
		{"fraction", "name: x\npieces: 4.5", "2:9: pieces: 4.5; allowed: a whole number from 1 to 9"},
		{"not one of them", "name: x\nsize: 16", "2:7: size: 16; allowed: 14, 15, 24"},
		{"fraction of one of them", "name: x\nsize: 14.5", "2:7: size: 14.5; allowed: 14, 15, 24"},

		// words, truth, text
		{"yes", "name: x\ntorn: yes", `2:7: torn: "yes"; allowed: true or false`},
		{"on", "name: x\ntorn: on", `2:7: torn: "on"; allowed: true or false`},
		{"one", "name: x\ntorn: 1", `2:7: torn: "1"; allowed: true or false`},
		{"quoted truth", "name: x\ntorn: \"true\"", `2:7: torn: "true"; allowed: true or false`},
		{"word with hyphen", "name: x\nkind: two-words", `2:7: kind: "two-words"; allowed: one, two words, none; did you mean two words?`},
		{"null for the word none", "name: x\nkind: null", "2:7: kind: no value; allowed: one, two words, none"},
		{"no value", "name: x\ntorn:", "2:6: torn: no value; allowed: true or false"},
		{"tilde", "name: ~", "1:7: name: no value; allowed: one line of text"},
		{"blank", "name: \"  \"", "1:7: name: blank text; allowed: one line of text"},
		{"two lines", "name: |-\n  Nora\n  Fenwick", `1:7: name: a line break or control character (U+000A) in "Nora\nFenwick"; allowed: one line of text`},
		{"escaped line break", `name: "Nora\r\nBEGIN:VALARM"`, `1:7: name: a line break or control character (U+000D) in "Nora\r\nBEGIN:VALARM"; allowed: one line of text`},
		{"escaped separator", `name: "Nora\L"`, `1:7: name: a line break or control character (U+2028) in "Nora\u2028"; allowed: one line of text`},
		{"escaped nothing", `name: "Nora\0"`, `1:7: name: a line break or control character (U+0000) in "Nora\x00"; allowed: one line of text`},
		{"very long", "name: " + strings.Repeat("ö", 401), "1:7: name: 401 characters; allowed: at most 400"},
		{"long word is cut short", "name: x\nkind: " + strings.Repeat("y", 70), `2:7: kind: "` + strings.Repeat("y", 60) + `..."; allowed: one, two words, none`},
		{"map for text", "name: {{ x }}", "1:7: name: a map; allowed: one line of text"},
		{"outside its grammar", "name: x\ncode: AB-12", `2:7: code: "AB-12" is no code such as AB-1`},
		{"grammar holds the whole text", "name: x\ncode: \"AB-1\\n\"", `2:7: code: a line break or control character (U+000A) in "AB-1\n"; allowed: one line of text`},

		// lists, maps, either
		{"scalar for a list", "name: x\nlist: 1", `2:7: list: "1"; allowed: a list of a whole number from 1 to 9`},
		{"list of none", "name: x\nlist: []", "2:7: list: 0 items; allowed: at least 1"},
		{"faults inside a list", "name: x\nlist: [1, null, ten, [3]]", "2:11: list[1]: no value; allowed: a whole number from 1 to 9\n2:17: list[2]: \"ten\"; allowed: a whole number from 1 to 9\n2:22: list[3]: a list; allowed: a whole number from 1 to 9"},
		{"list for a keyed map", "name: x\ndays: [mon]", "2:7: days: a list; allowed: a map under weekday"},
		{"either: list", "name: x\neither: [1]", "2:9: either: a list; allowed: a number from 0 to 5 kg, or not yet, or a map of kg"},
		{"either: unit", "name: x\neither: 4 kg", `2:9: either: "4 kg"; allowed: a number from 0 to 5 kg, or not yet, or a map of kg; write the number alone, in kg: 4`},
		{"either: near miss", "name: x\neither: notyet", `2:9: either: "notyet"; allowed: a number from 0 to 5 kg, or not yet, or a map of kg; did you mean not yet?`},
		{"either: out of range", "name: x\neither: 6", `2:9: either: "6"; allowed: a number from 0 to 5 kg, or not yet, or a map of kg`},
		{"either: inside the map", "name: x\neither: {kg: 6}", "2:14: either.kg: 6 kg; allowed: a number from 0 to 5 kg"},

		// columns count characters, lines count any ending
		{"umlauts before", "name: x\nlist: [\"ä\", ö]", "2:8: list[0]: \"ä\"; allowed: a whole number from 1 to 9\n2:13: list[1]: \"ö\"; allowed: a whole number from 1 to 9"},
		{"carriage returns", "name: x\r\n\r\nmm: y\r\n", `3:5: mm: "y"` + deep},
		{"byte order mark", "\ufeffname: x\nmm: y", `2:5: mm: "y"` + deep},
	} {
		t.Run(c.name, func(t *testing.T) {
			faults := table.Read("f", []byte(c.text), shelf).Faults()
			want := "f:" + strings.ReplaceAll(c.want, "\n", "\nf:")
			if diff := cmp.Diff(strings.Split(want, "\n"), strings.Split(faults.Error(), "\n")); diff != "" {
				t.Errorf("%.80q (-want +got):\n%s", c.text, diff)
			}
		})
	}
}

// TestTextsThatAreRead holds the reader to what it must let through.
func TestTextsThatAreRead(t *testing.T) {
	for _, c := range []struct{ text, key, want string }{
		{"name: Nora", "name", "Nora"},
		{"\ufeffname: Nora", "name", "Nora"},
		{"name:\tNora", "name", "Nora"},
		{"? name\n: Nora", "name", "Nora"},
		{`name: 'O''Brien: the "2nd" # 🦷'`, "name", `O'Brien: the "2nd" # 🦷`},
		{"name: >-\n  Nora\n  Fenwick", "name", "Nora Fenwick"},
		{"name: no", "name", "no"},
		{"name: 0012", "name", "0012"},
		{"name: 2027-01-14", "name", "2027-01-14"},
		{`name: "Null"`, "name", "Null"},
		{"name: " + strings.Repeat("ö", 400), "name", strings.Repeat("ö", 400)},
		{"name: x\nmm: +4", "mm", "+4"},
		{"name: x\nmm: 0", "mm", "0"},
		{"name: x\nmm: 20.0", "mm", "20.0"},
		{"name: x\nsize: 24.0", "size", "24.0"},
		{"name: x\nkind: \"two words\"", "kind", "two words"},
		{"name: x\ncode: AB-1", "code", "AB-1"},
		{"name: x\neither: not yet", "either", "not yet"},
		{"name: x\neither: 0", "either", "0"},
		{"%YAML 1.1\n---\nname: x\n...\n", "name", "x"},
	} {
		v := table.Read("f", []byte(c.text), shelf)
		if got := v.Get(c.key).Text(); got != c.want || len(v.Faults()) > 0 {
			t.Errorf("%q: %s = %q, want %q; faults %v", c.text, c.key, got, c.want, v.Faults())
		}
	}
}
