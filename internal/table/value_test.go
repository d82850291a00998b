package table_test

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"graftclock/internal/table"
)

const whole = `name: Nora
mm: 4.5
pieces: 3
torn: True
list: [1, 2]
rows:
  - a: x
    b: false
  - {a: y}
days: {tue: late, mon: early}
either: {kg: 2}
`

func TestValueAnswersWhatTheFileHolds(t *testing.T) {
	v := table.Read("f", []byte(whole), shelf)
	if faults := v.Faults(); len(faults) > 0 {
		t.Fatal(faults)
	}
	rows := v.Get("rows").Items()
	entries := v.Get("days").Entries()
	optional := v.Get("mm").Optional()
	for _, c := range []struct {
		what      string
		got, want any
	}{
		{"text", v.Get("name").Text(), "Nora"},
		{"number", v.Get("mm").Float(), 4.5},
		{"number without its fraction", v.Get("mm").Int(), 4},
		{"optional number", *optional, 4.5},
		{"text is no number", v.Get("name").Optional() == nil, true},
		{"truth in capitals", v.Get("torn").Bool(false), true},
		{"false is not the fallback", rows[0].Get("b").Bool(true), false},
		{"fallback", rows[1].Get("b").Bool(true), true},
		{"items", len(rows), 2},
		{"path of an item", rows[1].Get("a").Path(), "rows[1].a"},
		{"line of an item", rows[1].Get("a").Line(), 9},
		{"map", v.Get("either").IsMap(), true},
		{"no map", v.Get("list").IsMap(), false},
		{"key that is there", v.Has("torn"), true},
		{"key that is not", v.Has("kind"), false},
		{"key of a scalar", v.Get("name").Has("torn"), false},
		{"entries keep the order of the file", entries[0].Key + " " + entries[1].Key, "tue mon"},
		{"entry", entries[1].Value.Text(), "early"},
		{"a map has no text", v.Get("days").Text(), ""},
		{"items of a map", len(v.Get("days").Items()), 0},
		{"entries of a list", len(v.Get("list").Entries()), 0},
	} {
		if diff := cmp.Diff(c.want, c.got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.what, diff)
		}
	}
	want := map[string]int{"": 1, "name": 1, "mm": 2, "pieces": 3, "torn": 4, "list": 5, "list[0]": 5, "list[1]": 5, "rows": 7, "rows[0]": 7, "rows[0].a": 7, "rows[0].b": 8, "rows[1]": 9, "rows[1].a": 9, "days": 10, "days.tue": 10, "days.mon": 10, "either": 11, "either.kg": 11}
	if diff := cmp.Diff(want, v.Lines()); diff != "" {
		t.Errorf("lines (-want +got):\n%s", diff)
	}
}

// TestAbsentValueAnswersWithNothing asks a place that is not there, and one
// that was found faulty, every question there is.
func TestAbsentValueAnswersWithNothing(t *testing.T) {
	v := table.Read("f", []byte("name: x\nmm: four\nlist: [1, ten, 3]\nrows: [{a: x, c: y}]"), shelf)
	for _, key := range []string{"mm", "nowhere"} {
		absent := v.Get(key)
		_, ok := absent.Number()
		if absent != nil || absent.Get("a") != nil || absent.Has("a") || absent.Items() != nil || absent.Entries() != nil || absent.IsMap() || absent.Text() != "" || ok || absent.Float() != 0 || absent.Int() != 0 || absent.Optional() != nil || absent.Bool(false) || !absent.Bool(true) || absent.Path() != "" || absent.Line() != 0 || len(absent.Lines()) != 0 {
			t.Errorf("%s answers with something", key)
		}
	}
	if !v.Has("mm") {
		t.Error("a faulty key must count as there: it is not missing")
	}
	if alias := table.Read("f", []byte("&mm name: x\n*mm : 4"), shelf); alias.Get("mm") != nil {
		t.Error("a value under an alias answers as if its key stood there")
	}
	if twice := table.Read("f", []byte("days: {mon: x, mon: y}"), shelf).Get("days").Entries(); len(twice) != 1 || twice[0].Value.Text() != "x" {
		t.Errorf("a key given twice has %d entries, want the first", len(twice))
	}
	items := v.Get("list").Items()
	if len(items) != 2 || items[1].Path() != "list[2]" {
		t.Errorf("the items beside a faulty one: %d, want 2 with their own places", len(items))
	}
	if row := v.Get("rows").Items(); len(row) != 1 || row[0].Get("a").Text() != "x" || row[0].Get("c") != nil {
		t.Error("a map with an unknown key must keep its other values")
	}
}

func TestCallersFaultsStandAmongTheReadersOwn(t *testing.T) {
	v := table.Read("f", []byte("name: x\nmm: four\npieces: 3\n"), shelf)
	v.Get("pieces").Fault("too few", "a dozen", "")
	v.FaultAt("label", "missing", "", "write one")
	const want = "f:1:1: label: missing; write one\n" +
		"f:2:5: mm: \"four\"; allowed: a number from 0 to 20 mm\n" +
		"f:3:9: pieces: too few; allowed: a dozen"
	if got := v.Faults().Error(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestSortFaultsByFileThenPlace(t *testing.T) {
	faults := []table.Fault{{File: "b", Line: 1, Column: 1, Found: "4"}, {File: "a", Line: 2, Column: 1, Found: "3"}, {File: "a", Line: 1, Column: 9, Found: "1"}, {File: "a", Line: 1, Column: 9, Found: "2"}, {File: "a", Found: "0"}}
	table.SortFaults(faults)
	var got string
	for _, f := range faults {
		got += f.Found
	}
	if got != "01234" {
		t.Errorf("order %s, want 01234: by file, line and column, equals as they came", got)
	}
}

// TestReadValueReadsWhatAFormSends holds Go values to the same words as YAML.
func TestReadValueReadsWhatAFormSends(t *testing.T) {
	for _, c := range []struct {
		name  string
		value any
		want  string // faults; empty: none
	}{
		{"numbers as text", map[string]any{"name": "x", "mm": "4.5", "size": "24", "list": []any{"1", "2"}}, ""},
		{"numbers as numbers", map[string]any{"name": "x", "mm": 4.5, "size": 24, "list": []any{1.0, int64(2), json.Number("3")}}, ""},
		{"a very small number", map[string]any{"name": "x", "mm": 1e-7}, ""},
		{"truth", map[string]any{"name": "x", "torn": true}, ""},
		{"truth as text", map[string]any{"name": "x", "torn": "false"}, ""},
		{"somebody called Null", map[string]any{"name": "Null"}, ""},
		{"field left empty", map[string]any{"name": ""}, "form: name: no value; allowed: one line of text"},
		{"no value", map[string]any{"name": "x", "mm": nil}, "form: mm: no value; allowed: a number from 0 to 20 mm"},
		{"unit in a field", map[string]any{"name": "x", "mm": "0.57 cm"}, `form: mm: "0.57 cm"; allowed: a number from 0 to 20 mm; write the number alone, in mm: 5.7`},
		{"octal in a field", map[string]any{"name": "x", "mm": "010"}, `form: mm: "010"; allowed: a number from 0 to 20 mm; write it in plain decimal digits`},
		{"line break in a field", map[string]any{"name": "x\ny"}, `form: name: a line break or control character (U+000A) in "x\ny"; allowed: one line of text`},
		{"bytes that are no text", map[string]any{"name": "x\xff"}, `form: name: bytes that are no UTF-8 text in "x\xff"; allowed: UTF-8`},
		{"an anchor is only text here", map[string]any{"name": "&a *b !!c"}, ""},
		{"unknown field", map[string]any{"name": "x", "nmae": "y"}, "form: nmae: unknown key; allowed: " + keys + "; did you mean name?"},
		{"list item", map[string]any{"name": "x", "rows": []any{map[string]any{"a": "x"}, map[string]any{"b": "maybe"}}}, "form: rows[1].b: \"maybe\"; allowed: true or false\nform: rows[1].a: missing; allowed: one line of text"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := table.ReadValue("form", c.value, shelf)
			if got := v.Faults().Error(); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
			for path, line := range v.Lines() {
				if line != 0 {
					t.Errorf("%s has line %d, though no text was read", path, line)
				}
			}
		})
	}
}

func TestBlank(t *testing.T) {
	shape := table.Map("",
		table.Must("name", table.Text("on the label")),
		table.Must("kind", table.Word("", "one", "two")),
		table.Usually("mm", table.Number("how deep", "mm", 0, 20)),
		table.May("notes", table.List("anything", 0, table.Text(""))),
		table.Must("rows", table.List("one each", 1, table.Map("", table.Must("a", table.Bool("")), table.May("b", table.Map("", table.Must("c", table.OneOf("", 1, 2))))))),
	)
	const want = `name:                              # on the label; one line of text
kind:                              # one, two
mm:                                # how deep; a number from 0 to 20 mm
# notes:                             # anything
#   -
rows:                              # one each
  - a:                             # true or false
#     b:
#       c:                           # 1, 2
`
	if diff := cmp.Diff(want, shape.Blank()); diff != "" {
		t.Errorf("blank form (-want +got):\n%s", diff)
	}
}

func TestSchemaSaysWhatTheShapeSays(t *testing.T) {
	got, err := json.Marshal(shelf.Schema("a shelf"))
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"$schema":"https://json-schema.org/draft/2020-12/schema","title":"a shelf","type":"object","additionalProperties":false,"required":["name"],"properties":{
		"name":{"description":"on the label","type":["string","number","boolean"],"pattern":"\\S","maxLength":400},
		"mm":{"description":"how deep","type":"number","minimum":0,"maximum":20},
		"wide":{"type":"number","minimum":50,"maximum":90},
		"pieces":{"type":"integer","minimum":1,"maximum":9},
		"size":{"type":"integer","minimum":14,"maximum":24,"enum":[14,15,24]},
		"torn":{"type":"boolean"},
		"kind":{"enum":["one","two words","none"]},
		"code":{"type":"string","pattern":"^(?:[A-Z]{2}-[0-9])$","maxLength":400},
		"list":{"type":"array","minItems":1,"items":{"type":"integer","minimum":1,"maximum":9}},
		"rows":{"type":"array","items":{"type":"object","additionalProperties":false,"required":["a"],"properties":{"a":{"type":["string","number","boolean"],"pattern":"\\S","maxLength":400},"b":{"type":"boolean"}}}},
		"days":{"type":"object","additionalProperties":false,"patternProperties":{"^(?:mon|tue)$":{"type":["string","number","boolean"],"pattern":"\\S","maxLength":400}}},
		"either":{"anyOf":[{"type":"number","minimum":0,"maximum":5},{"enum":["not yet"]},{"type":"object","additionalProperties":false,"required":["kg"],"properties":{"kg":{"type":"number","minimum":0,"maximum":5}}}]}}}`
	var wantValue, gotValue any
	if err := json.Unmarshal([]byte(want), &wantValue); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(got, &gotValue); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(wantValue, gotValue); diff != "" {
		t.Errorf("schema (-want +got):\n%s", diff)
	}
}

// TestGrammarMayBoundItsLength holds reader and schema to the grammar's own bound.
func TestGrammarMayBoundItsLength(t *testing.T) {
	shape := table.Map("", table.Must("code", table.Formal("", &table.Grammar{Name: "code", Pattern: "[ö-]+", Most: 3})))
	for text, want := range map[string]string{"ööö": "", "öööö": "form: code: 4 characters; allowed: at most 3"} {
		if got := table.ReadValue("form", map[string]any{"code": text}, shape).Faults().Error(); got != want {
			t.Errorf("%s: got %q, want %q", text, got, want)
		}
	}
	properties, _ := shape.Schema("")["properties"].(map[string]any)
	if code, _ := properties["code"].(map[string]any); code["maxLength"] != 3 {
		t.Errorf("schema %v, want at most 3 characters", properties)
	}
}

func TestRefusedKeySaysWhatToDoInstead(t *testing.T) {
	plain := table.Map("", table.May("password_file", table.Text("")))
	shape := plain.Refuse("password", "name a file").Refuse("pin", "leave it out")
	const allowed = "; allowed: password_file"
	for _, c := range []struct {
		key   string
		shape table.Shape
		want  string
	}{
		{"password", shape, allowed + "; name a file"},
		{"Pass-Word", shape, allowed + "; name a file"},
		{"pin", shape, allowed + "; leave it out"},
		{"password_fle", shape, allowed + "; did you mean password_file?"},
		{"password", plain, allowed + "; did you mean password_file?"},
		{"password", plain.Refuse("pin", "leave it out"), allowed + "; did you mean password_file?"},
	} {
		got := table.Read("f", []byte(c.key+": hunter2"), c.shape).Faults().Error()
		if want := "f:1:1: " + c.key + ": unknown key" + c.want; got != want {
			t.Errorf("got\n%s\nwant\n%s", got, want)
		}
	}
}
